"""Pictures of every page at desktop and phone size, for a person to look through.

    python benchmarks/pictures.py --into pictures [--planting FILE] [--on 2026-04-12] [--only /map]

Without --planting, the invented planting is made first. Needs the system's Chromium.
"""

import argparse
import re
import shutil
import socket
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path

PAGES = (
    "/", "/?subject=canes", "/map", "/map?show=canes&find=3-05", "/map?show=bloom",
    "/map?show=ripe", "/map?show=crop", "/map?show=visited", "/shrubs", "/shrubs/3-05",
    "/shrubs/3-05/cuts", "/bloom", "/pollen", "/canes", "/canes/what-if",
    "/canes/what-if?target=8&max_age=9", "/picking", "/siblings", "/siblings?by=half+roll+out",
    "/weather", "/values", "/values/canes.target", "/values?find=frost", "/notes", "/devices",
    "/tags", "/tags?size=large&only=3-05,3-06", "/trust", "/api", "/shrubs/9-99", "/row",
    "/row#3-05", "/row#3-05/picking", "/row#3-05/canes_counted", "/row#3-05/stage_seen",
    "/row#!plan", "/row#!kept",
)  # fmt: skip
SIZES = {"desktop": (1280, 900, 1.0), "phone": (390, 844, 2.0)}
CHROMIUM = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
)  # fmt: skip


@contextmanager
def served(planting: Path, on: date) -> Iterator[str]:
    """Address of a server of that planting, for as long as it is needed."""
    import uvicorn

    from nuttery.web.app import build

    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    app = build(planting, on=on, owner="Ida")
    server = uvicorn.Server(uvicorn.Config(app, port=port, log_level="warning"))
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.05)
    try:
        yield f"http://localhost:{port}"
    finally:
        server.should_exit = True
        thread.join(10)


@contextmanager
def browser() -> Iterator:
    """The system's Chromium."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        found = play.chromium.launch(executable_path=shutil.which("chromium"), args=CHROMIUM)
        try:
            yield found
        finally:
            found.close()


def settle(page, address: str, patience_s: float = 600) -> None:
    """Open a page once what it asks is worked out; until then it would open itself anew."""
    import httpx

    deadline = time.monotonic() + patience_s
    while time.monotonic() < deadline:
        answer = httpx.get(address, timeout=60)
        if answer.status_code != 202 and "is being worked out" not in answer.text:
            page.goto(address)
            if "/row" in address:
                page.wait_for_selector("#row h1")
            return
        time.sleep(1)
    raise TimeoutError(f"{address}: not worked out within {patience_s:.0f} s")


def name_of(path: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", path.lower()).strip("-") or "now"


def take(
    address: str, into: Path, paths: tuple[str, ...], sizes: tuple[str, ...], *, dark: bool
) -> None:
    """Take every page at every size; say where one is wider than the screen."""
    with browser() as chromium:
        for size in sizes:
            width, height, scale = SIZES[size]
            context = chromium.new_context(
                viewport={"width": width, "height": height},
                device_scale_factor=scale,
                reduced_motion="reduce",
                color_scheme="dark" if dark else "light",
            )
            page = context.new_page()
            page.on("console", lambda m: print("console:", m.text) if m.type == "error" else None)
            page.on("pageerror", lambda e: print("error:", e))
            for path in paths:
                settle(page, address + path)
                page.wait_for_timeout(150)
                wide = page.evaluate("document.documentElement.scrollWidth")
                if wide > width + 1:
                    print(f"{path} at {size} size: found {wide} px wide, expected {width}")
                page.screenshot(path=into / f"{name_of(path)}-{size}.png", full_page=True)
            context.close()


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--into", type=Path, default=Path("pictures"))
    ask.add_argument("--planting", type=Path)
    ask.add_argument("--on", type=date.fromisoformat, default=date(2026, 4, 12))
    ask.add_argument("--only", nargs="*", default=PAGES)
    ask.add_argument("--size", nargs="*", choices=SIZES, default=tuple(SIZES))
    ask.add_argument("--dark", action="store_true")
    told = ask.parse_args()
    told.into.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        planting = told.planting or Path(folder) / "sorrel-bank.db"
        if told.planting is None:
            from nuttery.demo.make import make_planting

            make_planting(planting)
        with served(planting, told.on) as address:
            take(address, told.into, tuple(told.only), tuple(told.size), dark=told.dark)
    print(f"{len(list(told.into.glob('*.png')))} pictures in {told.into}")


if __name__ == "__main__":
    main()
