"""One shrub and its donors over the days, and who accepts whom, as figures show them."""

from dataclasses import dataclass

import numpy as np

from nuttery.science.arguments import Floats, Ints
from nuttery.season.bloom import bloom
from nuttery.season.errors import NotEnoughKnown
from nuttery.season.planting import Planting
from nuttery.season.pollen import pollen, pollen_by_day
from nuttery.season.pollen_field import pollen_field

MOST_SHOWN = 200
"""Shrubs in the table of acceptance; of more, every so many are taken."""


@dataclass(frozen=True)
class Overlap:
    """One shrub's stigmas and its donors' pollen, day by day.

    Attributes
    ----------
    year : season
    tag : the shrub
    days : (days,) day of year
    receptive : (days,) chance that its stigmas are out
    donors : tags of its chief donors by useful share, the greatest first
    shed : (donors, days) share of each one's pollen in the air
    share : (donors,) of the shrub's useful pollen
    accepted, accepted_at_most : (donors,) chance that it is accepted; two numbers where it hangs on
        an order of dominance that is not known
    taken : (days,) chance-weighted share of open stigmas that are met
    """

    year: int
    tag: str
    days: Ints
    receptive: Floats
    donors: tuple[str, ...]
    shed: Floats
    share: Floats
    accepted: Floats
    accepted_at_most: Floats
    taken: Floats


def overlap(planting: Planting, tag: str) -> Overlap:
    """Return one shrub's stigmas and the pollen of its chief donors, day by day.

    Raises
    ------
    WrongQuestion
        If no such shrub stands.
    NotEnoughKnown
        If it has no place, or no pollen can be reckoned.
    """
    planting.shrub(tag)
    outlook, by_day, seen = pollen(planting), pollen_by_day(planting), bloom(planting)
    if tag not in outlook.tags:
        raise NotEnoughKnown(f"{tag} has no place on record, so no pollen can be reckoned to it")
    k = outlook.tags.index(tag)
    some = outlook.donors[k] >= 0
    donors = tuple(outlook.tags[d] for d in outlook.donors[k][some])
    columns = by_day.days - seen.first_day
    rows = np.array([seen.index(donor) for donor in donors], dtype=np.int64)
    return Overlap(
        year=outlook.year,
        tag=tag,
        days=by_day.days,
        receptive=seen.receptive[seen.index(tag), columns],
        donors=donors,
        shed=seen.shed[rows][:, columns],
        share=outlook.donor_share[k][some],
        accepted=outlook.accepts[k][some],
        accepted_at_most=outlook.accepts_at_most[k][some],
        taken=by_day.taken[k].astype(np.float64),
    )


@dataclass(frozen=True)
class Acceptance:
    """Chance that each shrub accepts each other's pollen, rows and columns in one order.

    Attributes
    ----------
    tags : (n,) shrubs, ordered by lot and within it by likeness
    lots : (n,) seed lot of each, "" where not told
    chance : (n, n) seed × pollen; 0 for itself and its layers
    left_out : shrubs that are not shown
    """

    tags: tuple[str, ...]
    lots: tuple[str, ...]
    chance: Floats
    left_out: int


def acceptance(planting: Planting) -> Acceptance:
    """Return who accepts whom, ordered so that blocks show.

    Raises
    ------
    NotEnoughKnown
        If no pollen can be reckoned.
    """
    return planting.remembered("acceptance", lambda: _acceptance(planting))


def _acceptance(planting: Planting) -> Acceptance:
    field = pollen_field(planting)
    n = len(field.tags)
    rows = np.unique(np.linspace(0, n - 1, min(n, MOST_SHOWN)).round().astype(int))
    everyone = slice(0, n)
    whole = np.stack(
        [field.posterior.compatibility_block(slice(k, k + 1), everyone)[0, rows] for k in rows]
    )
    lots = [planting.shrubs[field.rows[k]].seed_lot or "" for k in rows]
    order = _by_likeness(whole, lots)
    return Acceptance(
        tags=tuple(field.tags[rows[k]] for k in order),
        lots=tuple(lots[k] for k in order),
        chance=whole[np.ix_(order, order)],
        left_out=n - len(rows),
    )


def _by_likeness(chance: Floats, lots: list[str]) -> list[int]:
    """Order by lot, and within a lot so that shrubs with like rows and columns stand together."""
    from scipy.cluster.hierarchy import leaves_list, linkage

    looks = np.hstack([chance, chance.T])
    order: list[int] = []
    for lot in sorted(set(lots)):
        mine = [k for k, name in enumerate(lots) if name == lot]
        if len(mine) > 2:
            leaves = leaves_list(linkage(looks[mine], "average", optimal_ordering=True))
            mine = [mine[k] for k in leaves]
        order += mine
    return order
