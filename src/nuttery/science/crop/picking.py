"""When to pick which shrub: the best plan under a cap on minutes a day, with a proven bound."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nuttery.science.arguments import Bools, Floats
from nuttery.science.crop.picking_exact import settle
from nuttery.science.crop.picking_model import (
    PickingModel,
    harvest,
    picking_model,
    visit_price,
    work,
    worth,
)
from nuttery.science.crop.picking_prices import relax
from nuttery.science.crop.picking_search import searched
from nuttery.science.crop.picking_shrub import best_schedules, good_arcs, improved

MOST_ARCS = 10_000
# with more shrubs the linear model settles nearly all of them and a search finds less
SEARCH_UP_TO = 500


@dataclass(frozen=True)
class PickingPlan:
    """Days on which to visit each shrub, and what that brings.

    `visits (n, days)` bool; `kg_picked`, `kg_lost`, `kg_left (n,)` expected kg, where `kg_left`
    is ripe and still out after the last day or not ripe by then; `minutes (days,)` of visits;
    `day_price (days,)` what one more minute on a day would bring; `objective` money, `bound` what
    no plan can exceed, `gap` their relative distance.
    """

    visits: Bools
    kg_picked: Floats
    kg_lost: Floats
    kg_left: Floats
    minutes: Floats
    day_price: Floats
    objective: float
    bound: float
    gap: float


def _usable(cap: Floats, minutes: Floats) -> Floats:
    """Minutes of each day that whole visits can fill: a multiple of their common measure."""
    if minutes.size == 0:
        return cap
    ticks = np.round(minutes * 1000)
    if np.abs(ticks - minutes * 1000).max() > 1e-6 or np.ptp(minutes) == 0:
        unit = minutes[0] if np.ptp(minutes) == 0 else 0.0
    else:
        unit = np.gcd.reduce(ticks.astype(np.int64)) / 1000
    return cap if unit == 0 else np.floor(cap / unit + 1e-9) * unit


def _relative_gap(bound: float, objective: float) -> float:
    return max(0.0, bound - objective) / max(abs(bound), 1e-12)


def _proven(
    model: PickingModel,
    cap: Floats,
    gap_wanted: float,
    progress: Callable[[float, float], None] | None,
    stop: Callable[[], bool] | None,
) -> tuple[Bools, float, Floats]:
    """Best plan found, its bound and the day prices."""
    stock = model.value * model.waiting
    plain = visit_price(model, cap, np.zeros(cap.size))
    alone, free = best_schedules(stock, model.kept, plain)
    if (model.minutes @ free <= cap * (1 + 1e-9)).all():
        return free, float(alone.sum()), np.zeros(cap.size)
    search = bool(np.ptp(model.minutes) > 0) and len(stock) <= SEARCH_UP_TO
    told = (lambda bound: progress(bound, -np.inf)) if progress is not None else None
    relaxed = relax(model, cap, whole=not search, progress=told, stop=stop)
    room = cap - model.minutes @ relaxed.visits
    visits = improved(stock, model.kept, plain, relaxed.visits, minutes=model.minutes, room=room)
    bound = relaxed.bound
    if search:
        found = (lambda worth: progress(bound, worth)) if progress is not None else None
        enough = bound - gap_wanted * abs(bound)
        visits = searched(
            model, cap, visits, relaxed.prices, enough=enough, progress=found, stop=stop
        )
    if progress is not None:
        progress(bound, worth(model, visits))
    slack = bound - worth(model, visits)
    if slack <= gap_wanted * abs(bound) or (stop is not None and stop()):
        return visits, bound, relaxed.prices
    price = visit_price(model, cap, relaxed.prices)
    arcs = good_arcs(stock, model.kept, price, slack * (1 + 1e-6) + 1e-9, MOST_ARCS)
    if arcs is None:
        return visits, bound, relaxed.prices
    settled = settle(model, cap, arcs, visits, gap=gap_wanted, stop=stop)
    if worth(model, settled.visits) > worth(model, visits):
        visits = settled.visits
    # better plans use no other steps, so the bound over these steps holds for all
    return visits, min(bound, max(settled.bound, worth(model, visits))), relaxed.prices


def _checked(model: PickingModel, visits: Bools) -> None:
    over = work(model, visits) - model.cap
    day = int(np.argmax(over))
    if over[day] > 1e-6 * max(1.0, float(model.cap[day])):
        raise RuntimeError(
            f"picking plan: day {day} takes {work(model, visits)[day]:g} minutes, "
            f"at most {model.cap[day]:g} were allowed; please report this"
        )


def plan_picking(  # noqa: PLR0913 - ten are agreed; tolerance, progress and stop are optional
    ripe_day: ArrayLike,
    ripe_sd: ArrayLike,
    spread_sd: ArrayLike,
    crop: ArrayLike,
    *,
    loss_per_day: ArrayLike,
    visit_minutes: ArrayLike,
    minutes_per_day: ArrayLike,
    days: int,
    value_per_kg: float,
    cost_per_minute: float,
    gap_wanted: float = 1e-6,
    progress: Callable[[float, float], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> PickingPlan:
    """Days on which to pick each shrub, the best plan or one with a proven bound.

    Parameters
    ----------
    ripe_day : (n,) float, mean day of ripening; day 0 is the first that can be picked
    ripe_sd : float or (n,), how unsure that day is, days
    spread_sd : float or (n,), spread of ripening within the shrub, days
    crop : (n,) float, kg
    loss_per_day : float or (n,), chance that a ripe nut still out is lost in a day
    visit_minutes : float or (n,), minutes of one visit, walking included
    minutes_per_day : float or (days,), minutes of visits on a day, at most
    days : number of days
    value_per_kg, cost_per_minute : float, money
    gap_wanted : relative gap at which the search may end
    progress : called with the bound and the worth of the best plan so far (−inf before the first)
    stop : asked now and then; when it says so, the best plan so far is returned with its bound

    Returns
    -------
    PickingPlan

    Raises
    ------
    BadArgumentError
        With the argument, the index, the value found and what was expected.

    Notes
    -----
    Source: own model. Share ripe by the end of day d: Φ((d + ½ − ripe_day) / s) with
            s = √(ripe_sd² + spread_sd²); a ripe nut is lost with `loss_per_day` on each day after
            the one on which it ripened; a visit takes all that is ripe and there. Maximised:
            value_per_kg · kg picked − cost_per_minute · minutes of visits.
    Valid:  the cap holds on every day; every constraint is checked again on the returned plan.
    Limits: expected kg; weather that forbids picking enters as a day with 0 minutes.

    Examples
    --------
    >>> plan = plan_picking([2.0, 3.0], 0.5, 1.0, [1.0, 2.0], loss_per_day=0.1, visit_minutes=5.0,
    ...     minutes_per_day=5.0, days=8, value_per_kg=8.0, cost_per_minute=0.2)
    >>> plan.visits.astype(int).tolist()
    [[0, 0, 0, 0, 1, 0, 0, 0], [0, 0, 0, 1, 0, 1, 0, 0]]
    >>> round(plan.objective, 3), plan.gap < 1e-6
    (18.169, True)
    """
    model = picking_model(
        ripe_day,
        ripe_sd,
        spread_sd,
        crop,
        loss_per_day=loss_per_day,
        visit_minutes=visit_minutes,
        minutes_per_day=minutes_per_day,
        days=days,
        value_per_kg=value_per_kg,
        cost_per_minute=cost_per_minute,
    )
    cap = _usable(model.cap, model.minutes)
    visits, bound, prices = _proven(model, cap, gap_wanted, progress, stop)
    _checked(model, visits)
    done, objective = harvest(model, visits), worth(model, visits)
    bound = max(bound, objective)
    crops = np.broadcast_to(np.asarray(crop, dtype=np.float64), (len(visits),))
    return PickingPlan(
        visits=visits,
        kg_picked=done.picked,
        kg_lost=done.lost,
        kg_left=crops - done.picked - done.lost,
        minutes=work(model, visits),
        day_price=prices,
        objective=objective,
        bound=bound,
        gap=_relative_gap(bound, objective),
    )
