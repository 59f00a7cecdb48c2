"""What ripens, waits, is picked and is lost on each shrub: the model behind the picking plan."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtr

from nuttery.science.arguments import Bools, Floats, float_array, refuse_where
from nuttery.science.errors import BadArgumentError


@dataclass(frozen=True)
class PickingModel:
    """One season's picking, checked and in arrays.

    `ripening (n, days)` kg that ripen on each day; `waiting (n, days)` kg ripe and still there at
    the end of each day if nobody picks; `kept (n,)` chance that a ripe nut outlasts a day;
    `minutes (n,)` of a visit; `cap (days,)` minutes of work; `value` a kg; `cost` a minute.
    """

    ripening: Floats
    waiting: Floats
    kept: Floats
    minutes: Floats
    cap: Floats
    value: float
    cost: float


@dataclass(frozen=True)
class Harvest:
    """What a plan brings in: kg picked, lost and left at the end of the last day, each `(n,)`."""

    picked: Floats
    lost: Floats
    left: Floats


def ripe_share(ripe_day: ArrayLike, spread: ArrayLike, days: int) -> Floats:
    """Share of each shrub's nuts that is ripe by the end of each day.

    Parameters
    ----------
    ripe_day : (n,) float, mean day of ripening
    spread : (n,) float, standard deviation of ripening, days; 0 = all at once
    days : number of days, counted from 0

    Returns
    -------
    (n, days) float, Φ((d + ½ − ripe_day) / spread)

    Raises
    ------
    BadArgumentError
        If a day is missing, a spread is negative, or there are fewer than 1 days.

    Notes
    -----
    Source: the definition of the picking plan; Φ is the normal distribution function.
    Valid:  any mean day; what ripened before day 0 counts on day 0.
    Limits: the nuts of a shrub ripen symmetrically about their mean day.

    Examples
    --------
    >>> ripe_share([1.5], [1.0], 3).round(3).tolist()
    [[0.159, 0.5, 0.841]]
    """
    mean = float_array("ripe_day", ripe_day, ndim=1)
    sd = float_array("spread", spread, ndim=1, low=0)
    if days < 1:
        raise BadArgumentError(f"days: found {days}, expected at least 1")
    gap = np.arange(days) + 0.5 - mean[:, None]
    at_once = (gap >= 0).astype(np.float64)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(sd[:, None] > 0, ndtr(gap / sd[:, None]), at_once)


def waiting_crop(ripening: Floats, kept: Floats) -> Floats:
    """Crop ripe and still there at the end of each day if nobody picks.

    Parameters
    ----------
    ripening : (n, days) float, kg that ripen on each day
    kept : (n,) float, chance that a ripe nut outlasts a day

    Returns
    -------
    (n, days) float, kg

    Notes
    -----
    Source: the definition of the picking plan: loss begins the day after ripening.
    Valid:  after a visit on day e, what waits on day d is w[d] − w[e] · kept^(d − e).
    Limits: none.

    Examples
    --------
    >>> waiting_crop(np.array([[1.0, 0.0, 1.0]]), np.array([0.5])).tolist()
    [[1.0, 0.5, 1.25]]
    """
    waiting = np.empty_like(ripening)
    there = np.zeros(len(ripening))
    for day in range(ripening.shape[1]):
        there = there * kept + ripening[:, day]
        waiting[:, day] = there
    return waiting


def harvest(model: PickingModel, visits: Bools) -> Harvest:
    """Replay of a plan day by day, from the model's definition and nothing else.

    Parameters
    ----------
    model : PickingModel
    visits : (n, days) bool

    Returns
    -------
    Harvest
        Picked + lost + left + what has not ripened make up the crop.

    Notes
    -----
    Source: the definition of the picking plan.
    Valid:  any plan, whether it keeps the cap or not.
    Limits: expected kg; the nuts of one shrub share one chance of being taken.

    Examples
    --------
    >>> shape = {"kept": np.array([0.5]), "minutes": np.array([1.0]), "cap": np.array([9.0] * 3)}
    >>> ripening = np.array([[1.0, 0.0, 1.0]])
    >>> model = PickingModel(ripening, waiting_crop(ripening, np.array([0.5])), **shape,
    ...                      value=1.0, cost=0.0)
    >>> done = harvest(model, np.array([[False, True, False]]))
    >>> done.picked.tolist(), done.lost.tolist(), done.left.tolist()
    ([0.5], [0.5], [1.0])
    """
    n, days = model.ripening.shape
    there, picked, lost = np.zeros(n), np.zeros(n), np.zeros(n)
    for day in range(days):
        lost += there * (1 - model.kept)
        there = there * model.kept + model.ripening[:, day]
        picked += np.where(visits[:, day], there, 0.0)
        there = np.where(visits[:, day], 0.0, there)
    return Harvest(picked, lost, there)


def visit_price(model: PickingModel, cap: Floats, prices: Floats) -> Floats:
    """Money that a visit of each shrub costs on each day, infinite where it cannot fit.

    Parameters
    ----------
    model : PickingModel
    cap : (days,) float, minutes that visits can fill on each day
    prices : (days,) float, of a minute, on top of its cost

    Returns
    -------
    (n, days) float, money

    Notes
    -----
    Source: the definition of the picking plan; a visit longer than the day's cap is impossible.
    Valid:  prices of 0 and more.
    Limits: none.

    Examples
    --------
    >>> zero = np.zeros((2, 1))
    >>> model = PickingModel(zero, zero, np.ones(2), np.array([3.0, 4.0]), np.ones(1), 1.0, 0.5)
    >>> visit_price(model, np.array([3.0]), np.array([0.1])).round(2).ravel().tolist()
    [1.8, inf]
    """
    minutes = model.minutes[:, None]
    return np.where(minutes > cap * (1 + 1e-9), np.inf, minutes * (model.cost + prices))


def work(model: PickingModel, visits: Bools) -> Floats:
    """Minutes of visits on each day.

    Parameters
    ----------
    model : PickingModel
    visits : (n, days) bool

    Returns
    -------
    (days,) float, minutes

    Notes
    -----
    Source: the definition of the picking plan.
    Valid:  any plan.
    Limits: walking between shrubs is part of a visit's minutes.

    Examples
    --------
    >>> zero = np.zeros((2, 1))
    >>> model = PickingModel(zero, zero, np.ones(2), np.array([3.0, 4.0]), np.ones(1), 1.0, 0.0)
    >>> work(model, np.array([[True], [True]])).tolist()
    [7.0]
    """
    return np.asarray(model.minutes @ visits, dtype=np.float64)


def worth(model: PickingModel, visits: Bools) -> float:
    """Value of what a plan picks less the cost of its minutes.

    Parameters
    ----------
    model : PickingModel
    visits : (n, days) bool

    Returns
    -------
    float, money

    Notes
    -----
    Source: the objective of the picking plan.
    Valid:  any plan.
    Limits: none.

    Examples
    --------
    >>> ripening = np.array([[2.0]])
    >>> model = PickingModel(ripening, ripening, np.ones(1), np.ones(1), np.ones(1), 5.0, 0.5)
    >>> worth(model, np.array([[True]]))
    9.5
    """
    picked = harvest(model, visits).picked.sum()
    return float(model.value * picked - model.cost * work(model, visits).sum())


def _spread_over(name: str, values: ArrayLike, size: int, low: float, high: float) -> Floats:
    """`values` as one number for each of `size`, whether one was given or all."""
    array = float_array(name, values, low=low, high=high)
    if array.shape not in ((), (size,)):
        raise BadArgumentError(f"{name}: found shape {array.shape}, expected one or ({size},)")
    return np.broadcast_to(array, (size,)).astype(np.float64)


def picking_model(
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
) -> PickingModel:
    """Checked model of a season's picking.

    Parameters
    ----------
    ripe_day : (n,) float, mean day of ripening, day 0 the first that can be picked
    ripe_sd : float or (n,), how unsure that day is, days
    spread_sd : float or (n,), spread of ripening within the shrub, days
    crop : (n,) float, kg
    loss_per_day : float or (n,), chance that a ripe nut still out is lost in a day
    visit_minutes : float or (n,), minutes of one visit, walking included
    minutes_per_day : float or (days,), minutes of picking on a day
    days : number of days
    value_per_kg, cost_per_minute : float, money

    Returns
    -------
    PickingModel

    Raises
    ------
    BadArgumentError
        With the argument, the index, the value found and what was expected.

    Notes
    -----
    Source: the definition of the picking plan; spread s = √(ripe_sd² + spread_sd²).
    Valid:  0 ≤ loss_per_day ≤ 1, visits that take more than no time.
    Limits: as in `plan_picking`.

    Examples
    --------
    >>> m = picking_model([1.0], 0.5, 0.0, [2.0], loss_per_day=0.1, visit_minutes=4.0,
    ...     minutes_per_day=60.0, days=3, value_per_kg=8.0, cost_per_minute=0.2)
    >>> m.ripening.round(2).tolist()
    [[0.32, 1.37, 0.31]]
    """
    if isinstance(days, bool) or int(days) != days or days < 1:
        raise BadArgumentError(f"days: found {days}, expected a whole number, at least 1")
    mean = float_array("ripe_day", ripe_day, ndim=1)
    n = mean.size
    kg = _spread_over("crop", crop, n, 0, np.inf)
    unsure = _spread_over("ripe_sd", ripe_sd, n, 0, np.inf)
    within = _spread_over("spread_sd", spread_sd, n, 0, np.inf)
    minutes = _spread_over("visit_minutes", visit_minutes, n, 0, np.inf)
    refuse_where("visit_minutes", minutes, minutes <= 0, "more than 0 minutes")
    kept = 1 - _spread_over("loss_per_day", loss_per_day, n, 0, 1)
    share = ripe_share(mean, np.hypot(unsure, within), int(days))
    ripening = kg[:, None] * np.diff(share, axis=1, prepend=0.0)
    return PickingModel(
        ripening=ripening,
        waiting=waiting_crop(ripening, kept),
        kept=kept,
        minutes=minutes,
        cap=_spread_over("minutes_per_day", minutes_per_day, int(days), 0, np.inf),
        value=float(float_array("value_per_kg", value_per_kg, ndim=0, low=0)),
        cost=float(float_array("cost_per_minute", cost_per_minute, ndim=0, low=0)),
    )
