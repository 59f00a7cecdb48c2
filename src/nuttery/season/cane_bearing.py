"""What a stool of this planting bears by its canes: common practice until the records speak.

Of old canes there are few records, and their ages were judged by eye; taken by themselves they
leave the curve as high at fifteen as at its best. So the curve starts from the shape of common
practice (a rise to the fourth or fifth year, a decline towards ten), at the level of the planting's
own crops, and each record moves it at the ages that stood. What canes too many cost starts from
the assumed charge, and stools that stood with more and with fewer canes move it.
"""

import numpy as np
from scipy import special

from nuttery.science.arguments import Floats
from nuttery.science.canes import (
    Bearing,
    CropOfStool,
    CropPrior,
    assumed_bearing,
    fit_crop_of_stool,
    known_crowding,
)
from nuttery.season.crops import crops
from nuttery.season.planting import Planting
from nuttery.season.stools import AGES, Stools

FEWEST_RECORDS = 30
"""Yearly crops of counted stools from which the planting's own bearing is believed."""
MOST_RECORDS = 1000
"""More do not narrow the curve any further than the years do; whole stools are taken evenly."""
SEEN = 0.9
"""Share of the stools on record that stood with no more canes than are ever wanted; assumed."""
START_SPREAD = 0.5
"""Standard deviation of the logarithm of the canes above which crowding starts, before any record:
four in five between half and twice as many as are wanted by common practice; assumed."""
MOST_WANTED = 30
"""Canes up to which a start of crowding is looked for."""


def own_crop(planting: Planting, known: Stools) -> CropOfStool:
    """What a stool bears by its canes: learned from pickings and counts where enough, else assumed.

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
        curve = assumed_bearing(AGES)
        cost = planting.value("canes.crowding").value * float(curve.mean.max())
        return known_crowding(curve, planting.value("canes.target").value, cost)
    step = int(np.ceil(len(use) / MOST_RECORDS))
    use = use[known.past_shrub[use] % step == 0]
    kept = known.past_kept[use] * (np.arange(AGES) > 0)
    kg = np.array([borne[keys[int(k)]] for k in use])
    return fit_crop_of_stool(
        kept,
        kg,
        prior=prior_of(planting, float(kg.sum()), kept.sum(axis=0)),
        shrub=known.past_shrub[use],
        year=known.past_year[use],
    )


def most_canes(known: Stools) -> float:
    """Canes that nine in ten of the stools on record did not exceed: more were hardly tried."""
    return float(np.quantile(known.past_kept.sum(axis=1), SEEN).round())


def prior_of(planting: Planting, crop: float, canes: Floats) -> CropPrior:
    """Common practice's shape at the level of the planting's crops, and the assumed crowding.

    Parameters
    ----------
    planting : the planting as of a day
    crop, canes : kg that the canes of each age, (AGES,), bore: they set the level
    """
    start = assumed_bearing(AGES).mean
    start = start * crop / float(start @ canes)
    wanted, charge = planting.value("canes.target"), planting.value("canes.crowding")
    many = np.arange(2.0, MOST_WANTED + 1)
    share = np.exp(-((np.log(many / wanted.value) / START_SPREAD) ** 2) / 2) / many
    low, high = charge.low or 0.0, charge.high or 2 * charge.value
    best = float(start.max())
    return CropPrior(
        curve=start,
        covariance=_doubt(start),
        starts=many,
        share=np.asarray(share / share.sum()),
        cost=charge.value * best,
        cost_sd=max(0.1, (high - low) / (2 * special.ndtri(0.9))) * best,
    )


def _doubt(start: Floats) -> Floats:
    """Covariance of the shape: as wide as the curve is high, alike at ages a few years apart."""
    ages = np.arange(AGES)
    near = np.exp(-0.5 * ((ages[:, None] - ages) / 2.0) ** 2)
    least = np.select([ages < 1, ages < 2, ages < 5], [0.0, 0.02, 0.2], 0.1)
    own = 0.7 * start + least * start.max()
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
