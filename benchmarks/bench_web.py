"""The web's share of the cost: notes sent by a phone, and pages, against the bare question.

Prints, in one run: 200 notes kept through the server against the same number kept straight in the
register; the first page and the round, once worked out, against writing the plan as JSON.
"""

import json
import shutil
import statistics
import tempfile
import time
import warnings
from collections.abc import Callable
from datetime import date
from pathlib import Path

from nuttery.demo.make import make_planting
from nuttery.records import new_id, read_note, utc_now
from nuttery.season import as_json
from nuttery.season.plan import season_plan
from nuttery.season.planting import open_planting
from nuttery.web.app import build

warnings.simplefilter("ignore")  # the test client would rather have a successor of httpx
ON = date(2026, 4, 12)
REPEATS = 9


def notes(n: int) -> list[dict[str, str]]:
    """Remarks as a phone sends them."""
    told = {"kind": "remark", "shrub": "1-01", "seen": "2026-04-12", "remark": "a nest"}
    return [{"id": str(new_id()), **told} for _ in range(n)]


def median_ms(act: Callable[[], object], repeats: int = REPEATS) -> float:
    """Median time of an act, ms."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        act()
        times.append(time.perf_counter() - start)
    return statistics.median(times) * 1e3


def main() -> None:
    from starlette.testclient import TestClient

    with tempfile.TemporaryDirectory() as folder:
        bank = Path(folder) / "bank.db"
        make_planting(bank, shrubs=12, years=3)
        plain = open_planting(shutil.copy(bank, Path(folder) / "plain.db"), on=ON)
        head = {"by": "Ida", "recorded": utc_now().isoformat()}
        head["planting"] = str(plain.about.planting)
        straight = median_ms(
            lambda: plain.register.keep([read_note({**n, **head}) for n in notes(200)])
        )
        with TestClient(build(bank, on=ON), base_url="http://localhost") as client:
            client.headers["x-nuttery-token"] = client.get("/api/me").json()["token"]
            sent = median_ms(lambda: client.post("/api/notes", json={"notes": notes(200)}))
            for path in ("/", "/api/round"):
                while client.get(path).status_code != 200:
                    time.sleep(0.5)
            plan = season_plan(open_planting(bank, on=ON))
            bare = median_ms(lambda: json.dumps(as_json(plan)))
            first, carried = (median_ms(lambda p=p: client.get(p)) for p in ("/", "/api/round"))
    print(f"200 notes: straight {straight:.0f} ms, sent {sent:.0f} ms: {sent / straight:.1f} x")
    print(f"first page {first:.1f} ms, plan as JSON {bare:.1f} ms: {first / bare:.1f} x")
    print(f"the round {carried:.1f} ms: {carried / bare:.1f} x")


if __name__ == "__main__":
    main()
