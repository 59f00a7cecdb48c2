"""How the invented stools grew, were cut and bore, year by year. All invented."""

from dataclasses import dataclass

import numpy as np

from nuttery.demo.habits import Habits
from nuttery.demo.layout import Layout
from nuttery.science.arguments import Floats, Ints

AGES = 25
BEARING = np.array(
    [0, 0, 0.012, 0.042, 0.08, 0.1, 0.11, 0.1, 0.085, 0.066, 0.048, 0.03, 0.02]
    + [0.012] * (AGES - 13)
)
"""True crop of a cane by age, kg dry in shell; invented."""
_DEATH = np.array(
    [0.0, 0.06, 0.03, 0.02, 0.02, 0.02, 0.02, 0.03, 0.04, 0.06, 0.1, 0.16] + [0.25] * 13
)


@dataclass(frozen=True)
class Stools:
    """Canes and crops, one row a shrub, one column a season.

    Attributes
    ----------
    winter : (n, years, AGES) living canes of each age in the winter before the season's summer
    cut : (n, years, AGES) canes of each age cut in that winter
    crop : (n, years) kg dry in shell borne in the season's summer before set is taken into account
    """

    winter: Ints
    cut: Ints
    crop: Floats


def grow(
    layout: Layout, habits: Habits, seasons: range, cutting_from: int, rng: np.random.Generator
) -> Stools:
    """Grow every stool from its planting through the last season.

    Parameters
    ----------
    layout, habits : the truth about places and shrubs
    seasons : seasons to tell
    cutting_from : first winter in which the grower sawed canes out
    rng : generator of the fixed seed
    """
    n = len(layout.tags)
    canes = np.zeros((n, AGES), dtype=np.int64)
    winter = np.zeros((n, len(seasons), AGES), dtype=np.int64)
    cut, crop = np.zeros_like(winter), np.zeros((n, len(seasons)))
    diligence = np.clip(rng.normal(0.75, 0.15, size=n), 0.3, 1.0)
    last_big = rng.normal(size=n)
    for year in range(int(layout.planted.min()) + 1, seasons.stop):
        canes = _summer(canes, year - 1, layout, habits, rng)
        gone = _cuts(canes, diligence, rng) if year >= cutting_from else np.zeros_like(canes)
        if year == seasons.stop - 1:
            gone[layout.row > 0.6 * layout.row.max()] = 0  # the last winter ran out before the rows
        kept = canes - gone
        year_effect = rng.normal(0, 0.18)
        swing = -0.25 * last_big + 0.25 * rng.normal(size=n)
        big = np.exp(year_effect + swing)
        last_big = np.log(big)
        if year in seasons:
            k = year - seasons.start
            winter[:, k], cut[:, k] = canes, gone
            crowding = np.maximum(0, kept.sum(axis=1) - 12) * 0.012
            crop[:, k] = np.maximum(0, habits.merit * big * (kept @ BEARING - crowding))
        canes = kept
    return Stools(winter, cut, crop.round(4))


def _summer(
    canes: Ints, year: int, layout: Layout, habits: Habits, rng: np.random.Generator
) -> Ints:
    """Canes of the next winter: each a year older, some dead, new ones come up."""
    stands = (layout.planted <= year) & (layout.lost > year)
    alive = canes - rng.binomial(canes, _DEATH)
    older = np.zeros_like(canes)
    older[:, 1:] = alive[:, :-1]
    older[:, -1] += alive[:, -1]
    grown = np.clip((year - layout.planted) / 5, 0, 1)
    suckers = rng.poisson(habits.vigour * grown)
    older[:, 1] = np.where(layout.planted == year, 1, suckers)
    return np.where(stands[:, None], older, 0)


def _cuts(canes: Ints, diligence: Floats, rng: np.random.Generator) -> Ints:
    """What this grower saws: some of the old canes, within a third, and most of the suckers."""
    gone = np.zeros_like(canes)
    left = np.maximum(1, np.floor(canes[:, 2:].sum(axis=1) / 3)).astype(np.int64)
    for age in range(AGES - 1, 8, -1):
        share = diligence if age >= 10 else 0.4 * diligence
        take = np.minimum(rng.binomial(canes[:, age], share), left)
        gone[:, age], left = take, left - take
    keep = rng.integers(0, 2, size=len(canes)) + (canes[:, 2:].sum(axis=1) < 7)
    gone[:, 1] = np.maximum(0, canes[:, 1] - keep)
    return gone
