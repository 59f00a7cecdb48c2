"""From dose to set: the dose that meets half of the stigmas, from the planting's own counts."""

from collections import defaultdict
from dataclasses import dataclass, replace

import numpy as np

from nuttery.records import ClustersCounted, FrostHarm
from nuttery.science.arguments import Floats, Ints
from nuttery.science.pollen import (
    GenotypePosterior,
    HalfDose,
    Kernel,
    PowerKernel,
    assumed_half_dose,
    fit_half_dose,
    pollen_cover,
)
from nuttery.season.past_bloom import past_bloom
from nuttery.season.planting import Planting
from nuttery.season.supply import catkin_supply

DAYS = np.arange(60, 191)
"""Days of year between which pollen may fly or stigmas be out."""
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
DISTANCE = "pollen.half_dose.distance"


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


def assumption(planting: Planting, kernel: Kernel) -> HalfDose:
    """Half-dose before there are counts of set: one accepted donor at a distance, as set."""
    shipped = assumed_half_dose(kernel)
    distance = planting.value(DISTANCE).value
    half = float(kernel(np.array([[distance]]))[0, 0])
    scale = half / shipped.half_dose
    return replace(shipped, half_dose=half, low=shipped.low * scale, high=shipped.high * scale)


def half_dose(planting: Planting, xy: Floats, rows: Ints, posterior: GenotypePosterior) -> HalfDose:
    """Return the half-dose: from counts of set where there are enough, else the assumption.

    A distance that the grower has set stands, whatever was counted.

    Parameters
    ----------
    planting : the planting as of a day
    xy, rows : (n, 2) m, and (n,) rows of the shrubs that have a place
    posterior : genotypes, these shrubs first
    """
    kernel = PowerKernel()
    before = assumption(planting, kernel)
    if planting.value(DISTANCE).certainty == "grower's own":
        return before
    counts = set_counts(planting)
    if not counts.year.size:
        return before
    place = np.full(len(planting.shrubs), -1)
    place[rows] = np.arange(len(rows))
    years = np.unique(counts.year)
    supply = dict(zip(years.tolist(), catkin_supply(planting, years).T, strict=True))
    told = []
    for past in past_bloom(planting, years.tolist(), DAYS):
        mine = np.flatnonzero((counts.year == past.year) & (place[counts.shrub] >= 0))
        some = past.shed.any(axis=0)
        cover = pollen_cover(
            xy,
            past.shed[np.ix_(rows, some)],
            past.receptive[np.ix_(rows, some)],
            posterior.compatibility_block,
            supply[past.year][rows],
            kernel=kernel,
            half_dose=before.half_dose,
        )
        at = place[counts.shrub[mine]]
        dose = np.zeros((len(at), len(DAYS)))
        dose[:, some] = cover.dose[at]
        told.append((mine, dose, past.receptive[counts.shrub[mine]]))
    if not told:
        return before
    used = np.concatenate([mine for mine, _, _ in told])
    dose, receptive = (np.concatenate([part[k] for part in told]) for k in (1, 2))
    return fit_half_dose(
        dose, receptive, counts.flowers[used], counts.clusters[used], before=before
    )
