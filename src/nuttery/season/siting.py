"""Where to put new shrubs, and of which lot, so that the worst-fed shrubs fare better."""

from dataclasses import dataclass

import numpy as np

from nuttery.science.arguments import Floats, Ints
from nuttery.science.pollen import choose_sites
from nuttery.season.errors import NotEnoughKnown, WrongQuestion
from nuttery.season.places import EmptyPlace, empty_places
from nuttery.season.planting import Planting
from nuttery.season.pollen_field import PollenField, pollen_field
from nuttery.season.watch import QUIET, Watch

MOST_PLACES = 120
"""Empty places that are weighed up; of more, those that reach the worst-fed shrubs best."""
GAP = 1e-5
"""How near, in cover, the proven bound must come to the choice."""
NODES = 400
LOWEST = 0.1
"""Share of the shrubs, the worst fed, whose mean cover is raised."""
HELPED = 8
"""Shrubs told that gain most."""


@dataclass(frozen=True)
class Siting:
    """New shrubs, and what they do for those that stand, once they bear as an ordinary shrub.

    Attributes
    ----------
    year : season whose bloom it is reckoned with
    places : where to plant, in walking order of the rows
    lots : the seed lot for each place
    before, after : mean cover of the worst-fed tenth, as it is and afterwards
    bound : no choice among these places and lots can lift it higher
    gap : bound − after
    status : "optimal" within 0.00001 of cover, or "stopped" at the limit of the search
    free : empty places there are
    weighed : of these, how many were weighed up
    considered : lots that could be chosen
    accepted : mean chance that a standing shrub accepts a seedling of each of these lots
    helped : (tag, cover before, cover after) of the shrubs that gain most
    """

    year: int
    places: tuple[EmptyPlace, ...]
    lots: tuple[str, ...]
    before: float
    after: float
    bound: float
    gap: float
    status: str
    free: int
    weighed: int
    considered: tuple[str, ...]
    accepted: tuple[float, ...]
    helped: tuple[tuple[str, float, float], ...]


def siting(
    planting: Planting,
    wanted: int = 3,
    lot: str | None = None,
    beyond: int = 0,
    watch: Watch = QUIET,
) -> Siting:
    """Return where to put some new shrubs and from which lot.

    Parameters
    ----------
    planting : the planting as of a day
    wanted : number of new shrubs
    lot : only of this seed lot; of any of the planting's lots otherwise
    beyond : places of new ground beyond each end of every row
    watch : whom to tell how far it has come

    Raises
    ------
    WrongQuestion
        If the lot is not one of the planting's, or more are wanted than there are empty places.
    NotEnoughKnown
        If there is no empty place, no seed lot, or no pollen can be reckoned.
    """
    return planting.remembered(
        "siting",
        lambda: _siting(planting, wanted, lot, beyond, watch),
        wanted=wanted,
        lot=lot,
        beyond=beyond,
    )


def _siting(planting: Planting, wanted: int, lot: str | None, beyond: int, watch: Watch) -> Siting:
    free = empty_places(planting, beyond)
    if not free:
        raise NotEnoughKnown(
            "there is no empty place: no gap in the rows' numbers and no lost shrub's place; "
            "for new ground beyond the rows' ends, ask with --beyond 1"
        )
    if not 1 <= wanted <= len(free):
        raise WrongQuestion(f"places: found {wanted}, expected 1 to {len(free)} (empty places)")
    field = pollen_field(planting, watch)
    watch.progress("weighing up places")
    numbers = _lots(field, lot)
    accepted = _accepted(field, numbers)
    weighed = _weighed(field, free, wanted)
    shed, catkins = _expected(planting, field, [field.told.lots[k] for k in numbers])
    plan = choose_sites(
        field.mean,
        [(place.x, place.y) for place in weighed],
        accepted=accepted,
        shed=shed,
        catkins=catkins,
        k=wanted,
        lowest=max(1, int(LOWEST * np.isfinite(field.mean.cover).sum())),
        gap=GAP,
        most_nodes=NODES,
    )
    names = tuple(field.told.lots[k] for k in numbers)
    return Siting(
        year=field.year,
        places=tuple(weighed[k] for k in plan.place),
        lots=tuple(names[k] for k in plan.lot),
        before=plan.before,
        after=plan.objective,
        bound=plan.bound,
        gap=plan.gap,
        status=plan.status,
        free=len(free),
        weighed=len(weighed),
        considered=names,
        accepted=tuple(accepted.mean(axis=0).tolist()),
        helped=_helped(field, plan.cover),
    )


def _lots(field: PollenField, lot: str | None) -> list[int]:
    """Numbers of the lots that may be planted."""
    known = field.told.lots
    if not known:
        raise NotEnoughKnown("no shrub has a seed lot on record, so none can be chosen")
    if lot is None:
        return list(range(len(known)))
    if lot not in known:
        raise WrongQuestion(f"lot: found {lot!r}, expected one of {', '.join(known)}")
    return [known.index(lot)]


def _accepted(field: PollenField, lots: list[int]) -> Floats:
    """Chance that each standing shrub accepts pollen of a further seedling of each lot."""
    everyone = slice(0, len(field.tags))
    columns = []
    for k in lots:
        seedling = field.told.seedlings[k][0]
        block = field.posterior.compatibility_block(everyone, slice(seedling, seedling + 1))
        columns.append(block[:, 0])
    return np.stack(columns, axis=1)


def _weighed(
    field: PollenField, free: tuple[EmptyPlace, ...], wanted: int
) -> tuple[EmptyPlace, ...]:
    """Empty places that reach the worst-fed shrubs best, in their own order."""
    if len(free) <= MOST_PLACES:
        return free
    there = field.mean
    worst = np.argsort(there.cover, kind="stable")[: max(1, int(LOWEST * len(there.cover)))]
    at = np.array([(place.x, place.y) for place in free])
    apart = np.hypot(*(there.drift.xy[worst, None] - at[None]).transpose(2, 0, 1))
    reach = np.asarray(there.drift.kernel(np.maximum(apart, 1.0))).sum(axis=0)
    kept = np.sort(np.argsort(-reach, kind="stable")[: max(MOST_PLACES, wanted)])
    return tuple(free[k] for k in kept)


def _expected(planting: Planting, field: PollenField, lots: list[str]) -> tuple[Floats, Floats]:
    """Shed of a shrub of each lot day by day, and its catkins: the means of those that bear."""
    mine = np.array([planting.shrubs[k].seed_lot or "" for k in field.rows])
    bears = field.mean.shed.max(axis=1) > 0
    shed, catkins = [], []
    for lot in lots:
        rows: Ints = np.flatnonzero((mine == lot) & bears)
        rows = rows if rows.size else np.flatnonzero(bears)
        shed.append(field.mean.shed[rows].mean(axis=0))
        catkins.append(field.mean.catkins[rows].mean())
    return np.stack(shed), np.array(catkins)


def _helped(field: PollenField, after: Floats) -> tuple[tuple[str, float, float], ...]:
    before = field.mean.cover
    gain = np.nan_to_num(after - before)
    best = np.argsort(-gain, kind="stable")[:HELPED]
    return tuple(
        (field.tags[k], float(before[k]), float(after[k])) for k in best if gain[k] > 0.001
    )
