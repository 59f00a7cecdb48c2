"""How often 80 % intervals of cover hold the truth, over invented plantings of other seeds.

Shrubs of one planting share one spring, one dose and few parents, so that they err together: the
standard error is taken over plantings, and the last lines take the planting's common error apart.

Run: python benchmarks/bench_cover_coverage.py [plantings]
"""

import sys
import tempfile
from datetime import date
from pathlib import Path

import numpy as np

from nuttery.demo.make import make_planting
from nuttery.season.planting import open_planting
from nuttery.season.pollen import pollen
from nuttery.season.pollen_field import drawn_covers, pollen_field

YEAR = 2026
DAYS = {"before bloom, 12 April": date(YEAR, 4, 12), "after it, 20 May": date(YEAR, 5, 20)}


def told_of(seed, folder):
    """Each day: share held, told less true, rank of the mean, and share held apart from it."""
    where = folder / f"{seed}.db"
    truth = make_planting(where, seed=seed)
    real = truth.seasons[truth.column(YEAR)].cover
    for on in DAYS.values():
        planting = open_planting(where, on=on)
        told = pollen(planting)
        true = real[[truth.layout.tags.index(tag) for tag in told.tags]]
        both = np.isfinite(true) & np.isfinite(told.cover)
        held = ((true >= told.low) & (true <= told.high))[both]
        draws = np.stack(list(drawn_covers(planting, pollen_field(planting))))[:, both]
        mean, true = np.nanmean(draws, axis=1), true[both]
        low, high = np.nanquantile(draws - mean[:, None], (0.1, 0.9), axis=0)
        apart = (true - true.mean() >= low) & (true - true.mean() <= high)
        error = told.cover[both].mean() - true.mean()
        yield held.mean(), error, (mean < true.mean()).mean(), apart.mean()


def say(words, shares):
    error = np.std(shares, ddof=1) / np.sqrt(len(shares))
    print(f"{words:56} {np.mean(shares):6.1%} ± {error:.1%} ({min(shares):.0%}–{max(shares):.0%})")


def main():
    n = max(2, int(sys.argv[1]) if len(sys.argv) > 1 else 5)
    with tempfile.TemporaryDirectory() as folder:
        found = np.array([list(told_of(seed, Path(folder))) for seed in range(1, n + 1)])
    print(f"{n} plantings: mean, standard error, lowest and highest planting")
    for k, words in enumerate(DAYS):
        say(f"intervals of cover that held, {words}", found[:, k, 0])
        say("  told less true, mean of a planting", found[:, k, 1])
        middle = (found[:, k, 2] > 0.1) & (found[:, k, 2] < 0.9)
        say("  true mean within the middle 80 % of drawn means", middle.astype(float))
        say("  held, the common error of the planting taken out", found[:, k, 3])


if __name__ == "__main__":
    main()
