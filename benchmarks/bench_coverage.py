"""How often the calendar's 80 % spans hold, over invented plantings whose truth is known.

Shrubs of one planting share one spring, so that the standard error is taken over plantings.

Run: python benchmarks/bench_coverage.py [plantings]
"""

import sys
import tempfile
from datetime import date
from pathlib import Path

import numpy as np

from nuttery.season.bloom import bloom
from nuttery.season.planting import open_planting

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "season"))
from test_bloom_coverage import SEASONS_LOOKED, YEAR, held, made

FIRST = 11
DAYS = tuple(date(YEAR, *day) for day in ((4, 12), (5, 5), (6, 10), (8, 20)))


def told_of(seed, folder):
    """(day, seasons looked at, looked at now, held) of every stage and shrub of a planting."""
    where = folder / f"{seed}.db"
    truth = made(where, seed)
    for day, on in enumerate(DAYS):
        for seasons, now, inside in held(truth, bloom(open_planting(where, on=on))):
            yield day, seasons, now, inside
    where.unlink()


def say(words, plantings, mask):
    shares = [told[mask(told), 3].mean() for told in plantings]
    error = np.std(shares, ddof=1) / np.sqrt(len(shares))
    print(
        f"{words:42} {np.mean(shares):6.1%}  ± {error:.1%}  ({min(shares):.0%}–{max(shares):.0%})"
    )


def main():
    n = max(2, int(sys.argv[1]) if len(sys.argv) > 1 else 6)
    with tempfile.TemporaryDirectory() as folder:
        plantings = [np.array(list(told_of(FIRST + k, Path(folder)))) for k in range(n)]
    print(f"{n} plantings, {sum(map(len, plantings))} spans: held, standard error, lowest, highest")
    say("all", plantings, lambda told: told[:, 0] >= 0)
    for seasons in SEASONS_LOOKED:
        say(f"{seasons} seasons of looks", plantings, lambda told, s=seasons: told[:, 1] == s)
    for day, on in enumerate(DAYS):
        say(f"told on {on:%-d %B}", plantings, lambda told, d=day: told[:, 0] == d)
    for now, words in ((1, "looked at this spring"), (0, "not looked at this spring")):
        say(
            f"{words}, told after April", plantings, lambda t, n=now: (t[:, 0] > 0) & (t[:, 2] == n)
        )


if __name__ == "__main__":
    main()
