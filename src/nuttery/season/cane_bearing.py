"""What a cane of this planting bears by its age: common practice's shape until the records speak.

Of old canes there are few records, and their ages were judged by eye; taken by themselves they
leave the curve as high at fifteen as at its best. So the curve starts from the shape of common
practice (a rise to the fourth or fifth year, a decline towards ten), at the level of the planting's
own crops, and each record moves it at the ages that stood.
"""

from dataclasses import replace

import numpy as np
from scipy import linalg, stats

from nuttery.science.arguments import Floats
from nuttery.science.canes import Bearing, assumed_bearing, fit_bearing
from nuttery.season.crops import crops
from nuttery.season.planting import Planting
from nuttery.season.stools import AGES, Stools

FEWEST_RECORDS = 30
"""Yearly crops of counted stools from which the planting's own bearing is believed."""
MOST_RECORDS = 1000
"""More do not narrow the curve any further than the years do; whole stools are taken evenly."""
CROWDED = 0.9
"""Share of the stools behind the curve that stood with no more canes than it holds for; assumed."""
PARTS = 100
"""Expected canes are counted in hundredths."""


def own_bearing(planting: Planting, known: Stools) -> Bearing:
    """What a cane bears by age: learned from pickings and counts where enough, else assumed.

    Parameters
    ----------
    planting : the planting as of a day
    known : its stools
    """
    crop = crops(planting)
    rows = {shrub.tag: k for k, shrub in enumerate(planting.shrubs)}
    borne = {
        (int(s), int(y)): float(kg)
        for s, y, kg in zip(crop.shrub, crop.year, crop.borne, strict=True)
    }
    keys = [
        (rows[known.tags[int(k)]], int(y))
        for k, y in zip(known.past_shrub, known.past_year, strict=True)
    ]
    use = np.flatnonzero([key in borne for key in keys])
    if len(use) < FEWEST_RECORDS:
        return assumed_bearing(AGES)
    step = int(np.ceil(len(use) / MOST_RECORDS))
    use = use[known.past_shrub[use] % step == 0]
    kept = np.rint(PARTS * known.past_kept[use]).astype(np.int64)
    kept[:, 0] = 0
    learned = fit_bearing(
        kept,
        [borne[keys[int(k)]] for k in use],
        shrub=known.past_shrub[use],
        year=known.past_year[use],
    )
    level = float(known.past_kept[use].sum(axis=0) @ learned.mean) * PARTS
    return leaning_on_practice(_of_whole_canes(learned), level, known.past_kept[use].sum(axis=0))


def crowded_from(known: Stools, curve: Bearing, target: float) -> float:
    """Canes on a stool above which a crop is told less than the curve gives.

    A curve learned from crowded stools holds what crowding took of them already: to charge it once
    more would tell a crop far below the pickings. An assumed curve is of a stool of the target.

    Parameters
    ----------
    known : the stools, with the canes that stood in past winters
    curve : what a cane bears by age
    target : canes wanted on a stool
    """
    if curve.assumed or not len(known.past_kept):
        return target
    return max(target, float(np.quantile(known.past_kept.sum(axis=1), CROWDED).round()))


def _of_whole_canes(learned: Bearing) -> Bearing:
    return replace(
        learned,
        mean=learned.mean * PARTS,
        low=learned.low * PARTS,
        high=learned.high * PARTS,
        prior=learned.prior / PARTS**2,
        information=learned.information / PARTS**2,
    )


def leaning_on_practice(learned: Bearing, crop: float, canes: Floats) -> Bearing:
    """The learned curve with common practice's shape as its start instead of a flat one.

    Parameters
    ----------
    learned : what the records told
    crop, canes : kg that the canes of each age, (AGES,), bore by it: they set the level
    """
    start = assumed_bearing(AGES).mean
    start = start * crop / float(start @ canes)
    trust = linalg.inv(_doubt(start))
    told = (learned.prior + learned.information) @ learned.mean
    mean = linalg.solve(learned.information + trust, told + trust @ start, assume_a="pos")
    curve = replace(learned, mean=np.maximum(0.0, mean), prior=trust)
    wide = stats.norm.ppf(0.9) * np.sqrt(np.diag(curve.covariance()))
    return replace(curve, low=np.maximum(0.0, curve.mean - wide), high=curve.mean + wide)


def _doubt(start: Floats) -> Floats:
    """Covariance of the shape: as wide as the curve is high, alike at ages a few years apart."""
    ages = np.arange(AGES)
    near = np.exp(-0.5 * ((ages[:, None] - ages) / 2.0) ** 2)
    own = 0.7 * start + 0.02 * start.max() * (ages > 0)
    matrix: Floats = np.outer(own, own) * near + np.outer(start, start)
    matrix += 1e-6 * start.max() ** 2 * np.eye(AGES)
    return matrix


def winters_to_halve(bearing: Bearing, last: int) -> int | None:
    """More winters of counts and pickings that would halve the width at the ages in use.

    Parameters
    ----------
    bearing : learned; of an assumption nothing can be said
    last : oldest age that is in use

    Returns
    -------
    int; None before the first record, or where more of the same would not do it in a lifetime
    """
    if not bearing.winters:
        return None

    def width(seasons: float) -> float:
        return float(np.sqrt(np.diag(bearing.covariance(seasons))[2 : last + 1]).mean())

    goal = width(1.0) / 2
    more = (n for n in range(1, 100) if width(1 + n / bearing.winters) <= goal)
    return next(more, None)
