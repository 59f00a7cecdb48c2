"""Local search for visits of unequal length: four shrubs at a time give up their days.

Where visits take unequal minutes, filling a day is a knapsack and the day prices leave room.
Neighbours in ripening compete for the same days, so they are planned anew together.
"""

from collections.abc import Callable

import numpy as np

from nuttery.science.arguments import Bools, Floats, Ints
from nuttery.science.crop.picking_model import PickingModel
from nuttery.science.crop.picking_shrub import anneal, best_schedules, schedule_worth

# 120 shrubs × 45 days, caps of 18 to 32 minutes: mean gap 0.7 % with 1,000 steps a shrub, 0.5 with
# 6,000, no less with 10,000; of three shrubs at a time, 12,000 steps do no better
STEPS_A_SHRUB, MOST_STEPS = 7_000, 1_400_000
CHUNK = 20_000
NEIGHBOURS = 20
# share of a shrub's mean worth that a step may lose at first; 0.005 to 0.05 were tried
WARMTH = 0.03


def _neighbours(model: PickingModel, steps: int, rng: np.random.Generator) -> Ints:
    """For each step a shrub, two that ripen somewhat later and one somewhat earlier.

    Of fewer than five shrubs one later and one earlier.
    """
    n, days = model.waiting.shape
    total = np.maximum(model.ripening.sum(axis=1), 1e-300)
    order = np.argsort(model.ripening @ np.arange(days) / total, kind="stable")
    reach = min(NEIGHBOURS, (n - 1) // 2)
    first = rng.integers(n, size=steps)
    later, earlier = rng.integers(1, reach + 1, size=(2, steps))
    together = [first, first + later, first - earlier]
    if reach > 1:
        other = rng.integers(1, reach, size=steps)
        together.append(first + other + (other >= later))
    return rng.permuted(order[np.column_stack(together) % n], axis=1)


def searched(
    model: PickingModel,
    cap: Floats,
    visits: Bools,
    prices: Floats,
    *,
    enough: float = np.inf,
    progress: Callable[[float], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> Bools:
    """Plan found by planning a few neighbours in ripening anew, over and over.

    Parameters
    ----------
    model : PickingModel
    cap : (days,) float, minutes that visits can fill on each day
    visits : (n, days) bool, a plan that keeps the cap
    prices : (days,) float, of a minute, which steer every other step
    enough : money, the worth at which the search may end
    progress : called now and then with the worth of the best plan so far
    stop : asked now and then; the best plan so far is returned when it says so

    Returns
    -------
    (n, days) bool, a plan that keeps the cap and is worth at least as much

    Notes
    -----
    Source: simulated annealing (Kirkpatrick, Gelatt and Vecchi 1983, Science 220:671) with moves
            that take out and put back (Shaw 1998, LNCS 1520:417); every schedule put back is exact.
    Valid:  plans that keep the cap; from a fixed seed, so that a plan repeats.
    Limits: no proof; the bound comes from the day prices.

    Examples
    --------
    >>> ripening = np.array([[2.0], [1.0], [1.5]])
    >>> model = PickingModel(ripening, ripening, np.ones(3), np.array([3.0, 1.0, 2.0]),
    ...                      np.array([3.0]), 1.0, 0.0)
    >>> none = np.zeros((3, 1), dtype=bool)
    >>> searched(model, model.cap, none, np.zeros(1)).ravel().tolist()
    [False, True, True]
    """
    n = len(visits)
    if n < 3:
        return visits
    stock = model.value * model.waiting
    plain = np.broadcast_to(model.cost * model.minutes[:, None], stock.shape)
    rng = np.random.default_rng(0)
    steps = min(STEPS_A_SHRUB * n, MOST_STEPS)
    warmth = WARMTH * float(best_schedules(stock, model.kept, plain)[0].mean())
    there, best = visits.copy(), visits.copy()
    room = cap - model.minutes @ visits
    worth = schedule_worth(stock, model.kept, plain, visits)
    gains, begun = np.zeros(2), float(worth.sum())
    for begin in range(0, steps, CHUNK):
        size = min(CHUNK, steps - begin)
        cooling = 1 - np.arange(begin, begin + size) / steps
        heat = warmth * cooling * rng.exponential(size=size)
        steer = rng.random(size) * rng.integers(0, 2, size)
        picks = _neighbours(model, size, rng)
        anneal(
            stock,
            model.kept,
            model.cost,
            model.minutes,
            prices,
            picks,
            steer,
            heat,
            there,
            room,
            worth,
            best,
            gains,
        )
        if progress is not None:
            progress(begun + float(gains[1]))
        if begun + gains[1] >= enough or (stop is not None and stop()):
            break
    return best
