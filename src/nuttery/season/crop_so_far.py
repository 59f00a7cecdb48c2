"""What this season's pickings say of the shrubs not picked yet: the year's luck is one for all."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri, stdtrit

from nuttery.science.arguments import Floats
from nuttery.science.crop import NextCrop
from nuttery.season.crops import Crops

ONE_PICKING = 0.8
"""Where so many of the crops on record came in by one picking, a picked shrub is done."""

FEWEST_NOTED = 8
"""Shares noted as gone to animals from which it is known how they scatter."""


def picks_again(known: Crops, year: int) -> bool:
    """Whether this grower comes back to a shrub within a season, by the crops of years before.

    Parameters
    ----------
    known : crops on record
    year : season at hand
    """
    earlier = known.pickings[(known.year < year) & (known.pickings > 0)]
    return bool(earlier.size) and float((earlier == 1).mean()) < ONE_PICKING


@dataclass(frozen=True)
class Spread:
    """Crop expected of each shrub on the scale of square roots.

    Attributes
    ----------
    root : (n,) root of the kg expected
    own : (n,) standard deviation of what is the shrub's alone
    shared : (n,) that of the year's luck, one for all shrubs
    least : what a shrub's crop scatters by at the least, whatever is known of it
    """

    root: Floats
    own: Floats
    shared: Floats
    least: float


@dataclass(frozen=True)
class Picked:
    """Shrubs picked clean this season.

    Attributes
    ----------
    root : (n,) root of the kg that hung there; 0 where not picked
    sd : (n,) standard deviation of the root, of the conversions from what was weighed
    own : (n,) that of what animals took, where it was not noted
    done : (n,) whether it is picked clean
    """

    root: Floats
    sd: Floats
    own: Floats
    done: NDArray[np.bool_]


def spread_of(kg: Floats, high: Floats, fit: NextCrop) -> Spread:
    """Return what of each interval is the shrub's alone and what is the year's."""
    root = np.sqrt(kg)
    sd = (np.sqrt(high) - root) / stdtrit(fit.degrees, 0.9)
    shared = np.minimum(fit.residual_sd / np.sqrt(fit.year_ratio), sd)
    return Spread(root, np.sqrt(sd**2 - shared**2), shared, fit.residual_sd)


def with_this_season(before: Spread, picked: Picked) -> Spread:
    """Return the crop expected once some shrubs are picked clean.

    Parameters
    ----------
    before : as expected before the first picking
    picked : shrubs picked clean

    Notes
    -----
    Source: normal updating of one shared effect by the residuals of the shrubs done.
    Valid:  shrubs that share the year's luck, whenever they are picked.
    Limits: a shrub picked again later bears more than is told. What is unsure of the conversions
            is one for all trays, and is told as shared.
    """
    done = picked.done
    seen = done & (before.shared > 0)
    if not seen.any():
        return before
    off = (picked.root - before.root)[seen] / before.shared[seen]
    told = (before.shared[seen] / np.maximum(before.own[seen], before.least)) ** 2
    weight = told.sum() / (1 + told.sum())
    luck = weight * np.average(off, weights=told)
    root = np.maximum(0.0, before.root + luck * before.shared)
    return Spread(
        np.where(done, picked.root, root),
        np.where(done, picked.own, before.own),
        np.where(done, picked.sd, before.shared * np.sqrt(1 - weight)),
        before.least,
    )


def done_so_far(known: Crops, year: int, shrubs: int) -> Picked:
    """Return what hung on each shrub that is picked clean in a season.

    Parameters
    ----------
    known : crops on record
    year : season at hand
    shrubs : how many there are
    """
    now = (known.year == year) & (known.pickings > 0)
    root, sd, own = np.zeros((3, shrubs))
    found = Picked(root, sd, own, np.zeros(shrubs, dtype=np.bool_))
    if picks_again(known, year):
        return found
    rows = known.shrub[now]
    kg, low, high = (np.sqrt(part[now]) for part in (known.kg, known.low, known.high))
    hung = np.sqrt(known.borne[now])
    more = np.divide(hung, kg, out=np.ones_like(hung), where=kg > 0)
    found.root[rows], found.done[rows] = hung, True
    found.own[rows] = np.where(np.isnan(known.taken[now]), hung / 2 * _doubt_of_taken(known), 0.0)
    found.sd[rows] = more * (high - low) / (2 * ndtri(0.9))
    return found


def _doubt_of_taken(known: Crops) -> float:
    """Standard deviation of what hung, as a share, where it was not noted what animals took."""
    noted = known.taken[~np.isnan(known.taken)]
    if noted.size < FEWEST_NOTED:
        return 0.0
    return float(noted.std() / max(1 - noted.mean(), 0.1))
