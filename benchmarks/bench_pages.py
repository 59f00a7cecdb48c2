"""Server time of every page once the season is worked out.

    python benchmarks/bench_pages.py [--planting FILE] [--on 2026-04-12] [--only /notes /map]

Without --planting, the invented planting of 120 shrubs is made first. Prints the 50th and the
95th percentile beside the plainest page (one value) in the same run; then what is sent, and what a
first load takes with the files that the page asks for, its charts aside.
"""

import argparse
import gzip
import re
import tempfile
import time
import warnings
from collections.abc import Sequence
from datetime import date
from pathlib import Path

import numpy as np

PAGES = (
    "/values/canes.target", "/", "/?subject=canes", "/map", "/map?show=canes", "/map?show=bloom",
    "/map?show=ripe", "/map?show=crop", "/map?show=visited", "/shrubs", "SHRUB", "/bloom",
    "/pollen", "/canes", "/canes/what-if", "/picking", "/siblings", "/weather", "/values", "/notes",
    "/notes?kind=stage_seen", "/tags", "/row", "/api/round", "/api/shrubs",
)  # fmt: skip
WANTED_MS, WANTED_KB = 150, 300


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--planting", type=Path)
    ask.add_argument("--on", type=date.fromisoformat, default=date(2026, 4, 12))
    ask.add_argument("--times", type=int, default=30)
    ask.add_argument("--only", nargs="*", default=PAGES, help="only these pages")
    told = ask.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        planting = told.planting or Path(folder) / "sorrel-bank.db"
        if told.planting is None:
            from nuttery.demo.make import make_planting

            make_planting(planting)
        measure(planting, told.on, told.times, told.only)


def measure(planting: Path, on: date, times: int, pages: Sequence[str]) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from starlette.testclient import TestClient

    from nuttery.web.app import build

    app = build(planting, on=on, owner="Ida")
    with TestClient(app, base_url="http://localhost") as client:
        worked_out(client, "/api/shrubs")
        tags = [shrub["tag"] for shrub in client.get("/api/shrubs").json()]
        print(f"{len(tags)} shrubs, {times} times each; wanted: 95 in 100 within {WANTED_MS} ms")
        print(f"and a first load within {WANTED_KB} kB (compressed, charts aside)")
        print(
            "page                      first s  50 % ms  95 % ms times plain  kB gz  first load kB"
        )
        plain = 0.0
        for path in pages:
            page = f"/shrubs/{tags[len(tags) // 2]}" if path == "SHRUB" else path
            first = worked_out(client, page)
            spans = []
            for k in range(times):
                page = f"/shrubs/{tags[(37 * k) % len(tags)]}" if path == "SHRUB" else path
                start = time.perf_counter()
                answer = client.get(page)
                spans.append(1000 * (time.perf_counter() - start))
                assert answer.status_code == 200, (page, answer.status_code)
            middle, high = np.percentile(spans, [50, 95])
            plain = plain or middle
            sent, load = packed(answer.content), first_load(client, answer)
            mark = "" if high <= WANTED_MS and load <= WANTED_KB else "  over"
            numbers = f"{first:8.1f} {middle:8.0f} {high:8.0f} {middle / plain:11.1f} {sent:6.0f}"
            numbers += f" {load:14.0f}"
            print(f"{path:24} {numbers}{mark}", flush=True)


def packed(content: bytes) -> float:
    """Size as it is sent, kB."""
    return len(gzip.compress(content, 5)) / 1024


def first_load(client, answer) -> float:
    """A page without its charts, with every file that it asks for, kB compressed."""
    text = re.sub(r"<svg.*?</svg>", "", answer.text, flags=re.DOTALL)
    open_ = re.findall(r'(?:src|href)="(/static/[^"]+)"', text)
    files: dict[str, bytes] = {}
    while open_:
        file = open_.pop()
        if file not in files:
            files[file] = client.get(file).content
            names = re.findall(r'from "\./([a-z_]+\.js)"', files[file].decode())
            open_ += [f"/static/js/{name}" for name in names]
    return packed(text.encode()) + sum(map(packed, files.values()))


def worked_out(client, page: str) -> float:
    """Seconds until a page is there."""
    start = time.perf_counter()
    while True:
        answer = client.get(page)
        if answer.status_code == 409:
            raise SystemExit(f"{page}: {answer.text}")
        if answer.status_code not in {202, 503} and "is being worked out" not in answer.text:
            return time.perf_counter() - start
        time.sleep(0.5)


if __name__ == "__main__":
    main()
