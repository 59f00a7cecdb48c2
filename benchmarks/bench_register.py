"""The register against the bare database: adding notes, opening, and asking for shrubs.

Usage: bench_register.py [notes] (default 200,000; the figures in docs/methods/register.md are of
1,000,000). Prints ratios against a plain baseline in the same run.
"""

import random
import resource
import shutil
import sqlite3
import sys
import tempfile
import time
from datetime import UTC, date, datetime, timedelta
from functools import partial
from pathlib import Path
from uuid import UUID

from nuttery.records import (
    CaneLabelled,
    CanesCounted,
    CanesCut,
    Cut,
    Picking,
    PlantingDescribed,
    ShrubPlanted,
    StageSeen,
    new_id,
)
from nuttery.store import Register

SHRUBS = 5000
FIRST = date(2012, 1, 1)
PLANTING = UUID(int=1)


def head(rng, k, n, shrub):
    seen = FIRST + timedelta(days=5000 * k // n)
    return {
        "id": new_id(),
        "planting": PLANTING,
        "shrub": shrub,
        "seen": seen,
        "by": rng.choice(["Ida", "Otto"]),
        "recorded": datetime(seen.year, seen.month, seen.day, 18, tzinfo=UTC),
    }


def some_note(rng, k, n):
    about = head(rng, k, n, f"A-{rng.randrange(SHRUBS)}")
    label = f"c{rng.randrange(8)}"
    match k % 10:
        case 0:
            return CanesCounted(**about, by_age={1: 3, 2: 4, 5: 2})
        case 1:
            return CaneLabelled(**about, cane=label, came_up=2010, diameter_mm=21.5)
        case 2:
            return CanesCut(**about, cuts=(Cut(why="age", cane=label),))
        case 3 | 4:
            return Picking(**about, mass_kg=0.8, form="in husk", state="fresh")
        case _:
            return StageSeen(**about, organ="catkin", stage=60, reached=bool(k % 2))


def all_notes(n):
    rng = random.Random(11)
    start = head(rng, 0, n, None) | {"name": "Bench", "latitude": 46.1, "longitude": -91.2}
    yield PlantingDescribed(**start)
    for k in range(SHRUBS):
        yield ShrubPlanted(**head(rng, 0, n, f"A-{k}"), x=1.8 * k, y=0.0, seed_lot=f"L{k % 4}")
    for k in range(n):
        yield some_note(rng, k, n)


def timed(action):
    start = time.perf_counter()
    result = action()
    return time.perf_counter() - start, result


def bare(path, rows):
    """Write the same rows into the same tables with nothing but the driver."""
    connection = sqlite3.connect(path, isolation_level=None)
    for pragma in ("journal_mode = WAL", "synchronous = FULL", "foreign_keys = ON"):
        connection.execute(f"PRAGMA {pragma}")
    connection.execute("BEGIN IMMEDIATE")
    connection.executemany("INSERT INTO note VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)", rows)
    connection.execute("COMMIT")
    connection.close()


def rows_of(path):
    connection = sqlite3.connect(path)
    rows = connection.execute("SELECT * FROM note ORDER BY n").fetchall()
    connection.close()
    return rows


def emptied_copy(path, folder):
    """Copy a register and empty its table of notes: the place for the bare rows."""
    plain = folder / "bare.db"
    shutil.copy(path, plain)
    connection = sqlite3.connect(plain, isolation_level=None)
    connection.execute("DELETE FROM note")
    connection.execute("VACUUM")
    connection.close()
    return plain


def adding(folder, notes):
    """Add the notes each way, in turn: three times, or once where there are very many."""
    ours, base = [], []
    for turn in range(3 if len(notes) < 500_000 else 1):
        path = folder / f"{turn}.db"
        with Register.create(path) as register:
            ours.append(timed(lambda: register.keep(notes))[0])
        rows = rows_of(path)
        plain = emptied_copy(path, folder)
        base.append(timed(partial(bare, plain, rows))[0])

    n = len(notes)
    print(f"adding {n} notes: {n / min(ours):,.0f} a second")
    print(f"  bare executemany: {n / min(base):,.0f} a second")
    ratios = sorted(b / o for b, o in zip(base, ours, strict=True))
    told = ", ".join(f"{ratio:.2f}" for ratio in ratios)
    print(f"  rate against bare (aim: at least 0.33): {ratios[len(ratios) // 2]:.2f} (of {told})")
    return path


def asking(path):
    def one():
        with Register.open(path) as register:
            return register.shrub(PLANTING, "A-77")

    seconds = sorted(timed(one)[0] for _ in range(9))
    print(f"opening and asking for one shrub (aim: under 50 ms): {seconds[4] * 1000:.1f} ms")
    with Register.open(path) as register:
        scan, _ = timed(lambda: bare_scan(path))
        print(f"  bare scan of all notes, for comparison: {scan:.2f} s")
        now, states = timed(lambda: register.shrubs(PLANTING))
        print(f"state of {len(states)} shrubs as kept: {now:.2f} s, {now / scan:.1f} bare scans")
        then, _ = timed(lambda: register.shrubs(PLANTING, on=date(2020, 3, 1)))
        print(f"  worked out as of a day: {then:.2f} s, {then / scan:.1f} bare scans")


def bare_scan(path):
    connection = sqlite3.connect(path)
    total = sum(len(body) for (body,) in connection.execute("SELECT body FROM note"))
    connection.close()
    return total


def main():
    n = int(sys.argv[1]) if len(sys.argv) > 1 else 200_000
    with tempfile.TemporaryDirectory() as folder:
        notes = list(all_notes(n))
        path = adding(Path(folder), notes)
        del notes
        asking(path)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"peak memory, the notes handed over included: {peak:.0f} MB")


if __name__ == "__main__":
    main()
