"""Pollen brought by hand: from whom, and on which days."""

from dataclasses import dataclass

import numpy as np

from nuttery.science.arguments import Floats, Ints
from nuttery.season.pollen_field import PollenField

STIGMAS_OUT = 0.3
"""Chance of open stigmas from which a day is worth the walk."""
SHED_ENOUGH = 0.15
"""Share of a donor's pollen in the air from which its catkins are worth gathering."""
FEWEST_CATKINS = 0.2
"""Of a shrub with some; a donor with fewer is not asked."""
STORED_DAYS = 14
"""Days for which pollen keeps in a refrigerator, dry; common practice, well within the year at
-18 °C that has been measured."""


@dataclass(frozen=True)
class HandPollen:
    """The donor to take pollen from for each shrub asked about, one row each.

    Attributes
    ----------
    donor : (k,) row of the donor, -1 where none is likely to be accepted in time
    chance : (k,) that its pollen is accepted
    first, last : (k,) days of year between which stigmas are likely out and pollen is at hand
    gather_first, gather_last : (k,) days of year on which the donor sheds
    """

    donor: Ints
    chance: Floats
    first: Ints
    last: Ints
    gather_first: Ints
    gather_last: Ints


def hand_pollen(field: PollenField, shrubs: Ints) -> HandPollen:
    """Return for each shrub the donor whose pollen is likeliest accepted while its stigmas are out.

    A donor that sheds on those days comes first; one that sheds shortly before, whose pollen is
    kept cool and dry till then, counts half. Of equal donors the nearest is named.

    Parameters
    ----------
    field : pollen of the season
    shrubs : rows of the shrubs asked about
    """
    sheds = field.mean.shed > SHED_ENOUGH
    able = sheds.any(axis=1) & (field.mean.catkins >= FEWEST_CATKINS)
    ends = np.stack([sheds.argmax(axis=1), sheds.shape[1] - 1 - sheds[:, ::-1].argmax(axis=1)])
    found = [_for(field, int(k), sheds, able, ends) for k in shrubs]
    columns = np.array(found, dtype=np.float64).reshape(-1, 6).T
    whole = [column.astype(np.int64) for column in columns]
    return HandPollen(whole[0], columns[1], whole[2], whole[3], whole[4], whole[5])


_NOBODY = (-1.0, 0.0, 0.0, 0.0, 0.0, 0.0)


def _for(
    field: PollenField, k: int, sheds: np.ndarray, able: np.ndarray, ends: Ints
) -> tuple[float, ...]:
    out = np.flatnonzero(field.mean.receptive[k] > STIGMAS_OUT)
    if not out.size:
        return _NOBODY
    fresh = sheds[:, out].any(axis=1)
    kept = ~fresh & (ends[1] < out[0]) & (ends[1] >= out[0] - STORED_DAYS)
    worth = field.accepted(k) * able * np.where(fresh, 1.0, np.where(kept, 0.5, 0.0))
    if worth.max() <= 0:
        return _NOBODY
    away = np.hypot(*(field.mean.drift.xy - field.mean.drift.xy[k]).T)
    best = int(np.lexsort((away, -np.round(worth, 2)))[0])
    first, last = max(out[0], ends[0, best]), out[-1]
    day = int(field.days[0])
    told = (day + first, day + last, day + ends[0, best], day + ends[1, best])
    return (float(best), float(field.accepted(k)[best]), *map(float, told))
