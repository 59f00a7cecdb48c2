"""Counts of set: pistillate flowers looked at, and clusters that came of them."""

from collections import defaultdict
from dataclasses import dataclass

import numpy as np

from nuttery.records import ClustersCounted, FrostHarm
from nuttery.science.arguments import Ints
from nuttery.season.planting import Planting

FEWEST_FLOWERS = 5
"""A count of fewer flowers than so is left out."""
MOST = 600
"""Counts that the half-dose is fitted to; of more, a draw that is always the same."""
MOST_YEARS, FEWEST_YEARS = 6, 2
"""Latest years whose counts are used, fewer where they hold enough: each one's bloom is told again
for every shrub."""
SPOILED = 0.03
"""Mean noted harm of flowers and shoots, shrubs without a note unharmed, from which a year's counts
tell more of frost than of pollen."""


@dataclass(frozen=True)
class SetCounts:
    """Counts of set, one row a shrub and year.

    Attributes
    ----------
    shrub : (m,) row in walking order
    year : (m,)
    flowers, clusters : (m,) flowers looked at, and clusters that came of them
    """

    shrub: Ints
    year: Ints
    flowers: Ints
    clusters: Ints


def set_counts(planting: Planting) -> SetCounts:
    """Return the counts of set of standing shrubs that frost left alone, by shrub and year.

    Left out are shrubs whose flowers or shoots were harmed by frost that year, and whole years in
    which many were.
    """
    place = {shrub.tag: k for k, shrub in enumerate(planting.shrubs)}
    found: dict[tuple[int, int], list[int]] = defaultdict(lambda: [0, 0])
    for note in planting.notes(ClustersCounted):
        if note.flowers and note.shrub in place:
            both = found[note.seen.year, place[note.shrub]]
            both[0] += note.flowers
            both[1] += note.clusters
    harmed = _harmed(planting, place)
    spoiled = {y for y, shrubs in harmed.items() if sum(shrubs.values()) > SPOILED * len(place)}
    rows = [
        (s, y, f, c)
        for (y, s), (f, c) in sorted(found.items())
        if f >= FEWEST_FLOWERS and y not in spoiled and s not in harmed[y]
    ]
    latest = _latest([y for _, y, _, _ in rows])
    kept = np.array([row for row in rows if row[1] in latest], dtype=np.int64).reshape(-1, 4)
    some = np.sort(np.random.default_rng(29).permutation(len(kept))[:MOST])
    return SetCounts(*kept[some].T)


def _latest(years: list[int]) -> list[int]:
    """Latest years that together hold counts enough."""
    some: list[int] = []
    for year in sorted(set(years), reverse=True)[:MOST_YEARS]:
        if len(some) >= FEWEST_YEARS and sum(y in some for y in years) >= MOST:
            break
        some.append(year)
    return some


def _harmed(planting: Planting, place: dict[str, int]) -> dict[int, dict[int, float]]:
    """Worst noted frost harm to flowers and shoots, by year and shrub."""
    found: dict[int, dict[int, float]] = defaultdict(dict)
    for note in planting.notes(FrostHarm):
        if note.organ not in {"catkin", "wood"} and note.shrub in place and note.harmed > 0:
            shrubs, row = found[note.seen.year], place[note.shrub]
            shrubs[row] = max(note.harmed, shrubs.get(row, 0.0))
    return found
