"""How often 80 % intervals of bearing and crowding hold, over invented plantings of other seeds.

Counts are those the season reckons from the notes; crops are drawn anew from the true canes with a
luck of mean one for shrubs, years and records, under mild and under harsh crowding; a shrub that
bore next to nothing is not picked, as in the invented notes, or written down as bare.
One planting shares one luck of years at all ages: the standard error is taken over plantings.

Run: python benchmarks/bench_bearing_coverage.py [plantings] [draws of luck for each]
"""

import sys
import tempfile
from datetime import date
from pathlib import Path

import numpy as np

from nuttery.demo.growth import BEARING
from nuttery.demo.make import make_planting
from nuttery.science.canes import fit_crop_of_stool
from nuttery.season.cane_bearing import prior_of
from nuttery.season.crops import crops
from nuttery.season.planting import open_planting
from nuttery.season.stools import AGES, stools

PICKED = 0.03  # kg; a shrub with less is not picked
CROWDING = {
    "0.012 kg a cane above 12": (12, 0.012, PICKED),
    "0.11 kg a cane above 6": (6, 0.11, PICKED),
    "0.11 kg a cane above 6, a crop of nothing written down": (6, 0.11, 0.0),
}
SHRUBS, YEARS, RECORDS = 0.45, 0.25, 0.35  # standard deviations of the logarithm of luck
STOOLS = np.array([8.0, 10.0, 13.0, 16.0, 20.0])
USED = slice(2, 13)  # ages, years


def records_of(seed, folder):
    """The planting, canes as reckoned and as they were, shrub and year of each recorded crop."""
    where = folder / f"{seed}.db"
    truth = make_planting(where, seed=seed)
    planting = open_planting(where, on=date(2026, 4, 12))
    known, told = stools(planting), crops(planting)
    place = {tag: k for k, tag in enumerate(truth.layout.tags)}
    picked = {
        (place[planting.shrubs[s].tag], y) for s, y in zip(told.shrub, told.year, strict=True)
    }
    shrub = np.array([place[known.tags[k]] for k in known.past_shrub])
    use = [key in picked for key in zip(shrub, known.past_year, strict=True)]
    shrub, year = shrub[use], known.past_year[use]
    column = [truth.column(y) for y in year]
    true = (truth.stools.winter - truth.stools.cut)[shrub, column]
    where.unlink()
    return planting, known.past_kept[use] * (np.arange(AGES) > 0), true, shrub, year


def luck_of(labels, spread, weights, rng):
    """A factor for each label, of mean one over what the shrubs bear; years keep their luck."""
    of = np.unique(labels, return_inverse=True)[1]
    factor = np.exp(spread * rng.standard_normal(of.max() + 1) - spread**2 / 2)[of]
    return factor if weights is None else factor * weights.sum() / (factor @ weights)


def held(made, start, cost, picked, rng):
    """Whether the interval holds at each age, and for the crop that crowding takes."""
    planting, kept, true, shrub, year = made
    bare = true @ BEARING - cost * np.maximum(0, true.sum(axis=1) - start)
    bare = np.maximum(0, bare)
    noise = luck_of(np.arange(len(bare)), RECORDS, None, rng)
    crop = bare * luck_of(shrub, SHRUBS, bare, rng) * luck_of(year, YEARS, None, rng) * noise
    some = crop >= picked
    kept, crop = kept[some], crop[some]
    prior = prior_of(planting, crop.sum(), kept.sum(axis=0))
    found = fit_crop_of_stool(kept, crop, prior=prior, shrub=shrub[some], year=year[some])
    low, high = found.bearing.low, found.bearing.high
    ages = (low <= BEARING[:AGES]) & (BEARING[:AGES] <= high)
    _, starts, costs = found.draw(np.random.default_rng(0), 500)
    taken = costs[:, None] * np.maximum(0, STOOLS - starts[:, None])
    true_taken = cost * np.maximum(0, STOOLS - start)
    low, high = np.quantile(taken, (0.1, 0.9), axis=0)
    return [*ages[USED], *((low <= true_taken + 1e-9) & (true_taken <= high))]


def say(words, shares):
    error = np.std(shares, ddof=1) / np.sqrt(len(shares))
    print(f"{words:44} {np.mean(shares):6.1%}  ± {error:.1%}")


def main():
    n, draws = (int(sys.argv[k]) if len(sys.argv) > k else (20, 3)[k - 1] for k in (1, 2))
    n, ages = max(2, n), range(AGES)[USED]
    with tempfile.TemporaryDirectory() as folder:
        made = [records_of(seed, Path(folder)) for seed in range(1, n + 1)]
    for words, truth in CROWDING.items():
        rngs = [[np.random.default_rng([seed, luck]) for luck in range(draws)] for seed in range(n)]
        found = [
            np.mean([held(one, *truth, rng) for rng in rng_of], axis=0)
            for one, rng_of in zip(made, rngs, strict=True)
        ]
        share = np.array(found)
        print(f"{words}: {len(made)} plantings, {draws} draws of luck each; held, standard error")
        for k, age in enumerate(ages):
            say(f"a cane of {age}", share[:, k])
        say("all these ages", share[:, : len(ages)].mean(axis=1))
        for k, canes in enumerate(STOOLS, start=len(ages)):
            say(f"what crowding takes of {canes:.0f} canes", share[:, k])


if __name__ == "__main__":
    main()
