"""Each shrub alone: the best days to visit it at given prices of a visit, exactly.

After a visit on day e, a visit on day d finds w[d] − w[e] · kept^(d − e), so the best schedule is
a longest path over the days of last visit.
"""

import numpy as np
from numba import njit

from nuttery.science.arguments import Bools, Floats, Ints


@njit(cache=True)
def _best_to(  # noqa: PLR0917 - compiled functions take no keyword-only arguments
    stock: Floats, kept: float, price: Floats, least: float, to: Floats, before: Ints
) -> None:
    """Best worth of schedules that end with a visit on each day, and the visit before it.

    Days on which all that waits is not worth more than the price by `least` are closed (−inf):
    with 0 no best schedule is lost, for a visit finds at most what waits if nobody came before.
    """
    size = stock.size
    first = size
    for d in range(size):
        to[d], before[d] = -np.inf, -1
        if not stock[d] - price[d] > least:
            continue
        best, best_before, decay = 0.0, -1, kept
        for e in range(d - 1, first - 1, -1):
            if to[e] > -np.inf:
                worth = to[e] - stock[e] * decay
                if worth > best:
                    best, best_before = worth, e
            decay *= kept
        first = min(first, d)
        to[d] = stock[d] + best - price[d]
        before[d] = best_before


@njit(cache=True)
def _trace(to: Floats, before: Ints, row: Bools) -> float:
    """Write the best schedule into `row` and return its worth."""
    row[:] = False
    last = int(np.argmax(to))
    if to[last] <= 0.0:
        return 0.0
    worth: float = to[last]
    while last >= 0:
        row[last] = True
        last = before[last]
    return worth


@njit(cache=True)
def _best_schedules(
    stock: Floats, kept: Floats, price: Floats, worth: Floats, visits: Bools
) -> None:
    n, days = stock.shape
    to = np.empty(days)
    before = np.empty(days, np.int64)
    for i in range(n):
        _best_to(stock[i], kept[i], price[i], 0.0, to, before)
        worth[i] = _trace(to, before, visits[i])


@njit(cache=True)
def _give(i: int, row: Bools, minutes: Floats, visits: Bools, room: Floats) -> None:
    """Put shrub `i` on the schedule `row` and settle the minutes."""
    for d in range(row.size):
        room[d] += minutes[i] * (int(visits[i, d]) - int(row[d]))
        visits[i, d] = row[d]


@njit(cache=True)
def _improve(  # noqa: PLR0917 - compiled functions take no keyword-only arguments
    stock: Floats,
    kept: Floats,
    price: Floats,
    minutes: Floats,
    room: Floats,
    visits: Bools,
    worth: Floats,
) -> float:
    """Give each shrub in turn its best schedule in the room that the others leave; return gain."""
    n, days = stock.shape
    to = np.empty(days)
    before = np.empty(days, np.int64)
    row = np.empty(days, np.bool_)
    open_price = np.empty(days)
    gain = 0.0
    for i in range(n):
        for d in range(days):
            has_room = room[d] + minutes[i] * visits[i, d] >= minutes[i] * (1 - 1e-9)
            open_price[d] = price[i, d] if has_room else np.inf
        _best_to(stock[i], kept[i], open_price, 0.0, to, before)
        new = _trace(to, before, row)
        if new > worth[i] + 1e-9:
            gain += new - worth[i]
            worth[i] = new
            _give(i, row, minutes, visits, room)
    return gain


@njit(cache=True)
def _best_from(stock: Floats, kept: float, price: Floats, onward: Floats) -> None:
    """Best worth of the visits that may follow a visit on each day."""
    for e in range(stock.size - 1, -1, -1):
        best, decay = 0.0, 1.0
        for d in range(e + 1, stock.size):
            decay *= kept
            worth = stock[d] - stock[e] * decay - price[d] + onward[d]
            best = max(best, worth)
        onward[e] = best


@njit(cache=True)
def _good_arcs(stock: Floats, kept: Floats, price: Floats, slack: float, found: Ints) -> int:
    """Steps (shrub, last visit, visit) on some schedule within `slack` of the shrub's best.

    Fills `found` as far as it reaches; returns how many there are.
    """
    n, days = stock.shape
    to = np.empty(days)
    before = np.empty(days, np.int64)
    onward = np.empty(days)
    count = 0
    for i in range(n):
        _best_to(stock[i], kept[i], price[i], -np.inf, to, before)
        _best_from(stock[i], kept[i], price[i], onward)
        least = max(0.0, to.max()) - slack
        for d in range(days):
            decay, after = 1.0, stock[i, d] - price[i, d] + onward[d]
            for e in range(d - 1, -2, -1):
                decay *= kept[i]
                start = to[e] - stock[i, e] * decay if e >= 0 else 0.0
                if start + after >= least:
                    if count < len(found):
                        found[count, 0], found[count, 1], found[count, 2] = i, e, d
                    count += 1
    return count


@njit(cache=True)
def anneal(  # noqa: PLR0913, PLR0917 - compiled functions take no keyword-only arguments
    stock: Floats,
    kept: Floats,
    cost: float,
    minutes: Floats,
    prices: Floats,
    picks: Ints,
    steer: Floats,
    heat: Floats,
    visits: Bools,
    room: Floats,
    worth: Floats,
    best: Bools,
    gains: Floats,
) -> None:
    """Take the schedules of a few shrubs out and put better ones back, step by step, in place.

    Parameters
    ----------
    stock, kept : as in `best_schedules`
    cost : float, money a minute
    minutes : (n,) float, of a visit
    prices : (days,) float, of a minute, which steer a step by its `steer`
    picks : (steps, k) int, the shrubs of each step, no one twice
    steer, heat : (steps,) float, weight of the prices; money that a step may lose
    visits, room, worth : the plan at hand, changed in place
    best, gains : the best plan so far; gain of the plan at hand and of the best one

    Notes
    -----
    Source: as in `searched`.
    Valid:  plans that keep the cap.
    Limits: none.

    Examples
    --------
    See `searched`.
    """
    days, k = stock.shape[1], picks.shape[1]
    to, before, price = np.empty(days), np.empty(days, np.int64), np.empty(days)
    old, new = np.empty((k, days), np.bool_), np.empty(k)
    row, none = np.empty(days, np.bool_), np.zeros(days, np.bool_)
    for t in range(len(picks)):
        was, now = 0.0, 0.0
        for j in range(k):
            i = picks[t, j]
            was += worth[i]
            old[j] = visits[i]
            _give(i, none, minutes, visits, room)
        for j in range(k):
            i = picks[t, j]
            for d in range(days):
                fits = room[d] >= minutes[i] * (1 - 1e-9)
                price[d] = minutes[i] * (cost + steer[t] * prices[d]) if fits else np.inf
            _best_to(stock[i], kept[i], price, 0.0, to, before)
            new[j] = _trace(to, before, row)
            _give(i, row, minutes, visits, room)
            for d in range(days):
                new[j] += steer[t] * minutes[i] * prices[d] * row[d]
            now += new[j]
        if now >= was - heat[t]:
            gains[0] += now - was
            for j in range(k):
                worth[picks[t, j]] = new[j]
            if gains[0] > gains[1] + 1e-9:
                gains[1] = gains[0]
                best[:] = visits
            continue
        for j in range(k):
            _give(picks[t, j], old[j], minutes, visits, room)


def best_schedules(stock: Floats, kept: Floats, price: Floats) -> tuple[Floats, Bools]:
    """Best schedule of each shrub on its own at given prices.

    Parameters
    ----------
    stock : (n, days) float, money that waits on each day if nobody picks
    kept : (n,) float, chance that a ripe nut outlasts a day
    price : (n, days) float, money that a visit costs

    Returns
    -------
    worth : (n,) float, money, 0 where no visit pays
    visits : (n, days) bool

    Notes
    -----
    Source: longest path by dynamic programming; exact.
    Valid:  any prices of 0 and more; an infinite one closes the day.
    Limits: none.

    Examples
    --------
    >>> worth, visits = best_schedules(np.array([[1.0, 0.5, 1.25]]), np.array([0.5]),
    ...                                np.full((1, 3), 0.25))
    >>> worth.tolist(), visits.tolist()
    ([1.5], [[True, False, True]])
    """
    worth = np.empty(len(stock))
    visits = np.zeros(stock.shape, dtype=np.bool_)
    _best_schedules(stock, kept, price, worth, visits)
    return worth, visits


def improved(
    stock: Floats, kept: Floats, price: Floats, visits: Bools, *, minutes: Floats, room: Floats
) -> Bools:
    """Plan in which no single shrub can be scheduled better in the room the others leave.

    Parameters
    ----------
    stock, kept, price : as in `best_schedules`, prices without any price of the cap
    visits : (n, days) bool, a plan that keeps the cap
    minutes : (n,) float, of a visit
    room : (days,) float, minutes left over by `visits`

    Returns
    -------
    (n, days) bool, a plan that keeps the cap and is worth at least as much

    Notes
    -----
    Source: coordinate ascent, each step exact.
    Valid:  plans that keep the cap.
    Limits: a local optimum, not the best plan.

    Examples
    --------
    >>> one = np.ones((2, 1))
    >>> improved(one * [[1.0], [2.0]], np.ones(2), one * 0.1, np.zeros((2, 1), dtype=bool),
    ...          minutes=np.ones(2), room=np.ones(1)).tolist()
    [[True], [False]]
    """
    better, left = visits.copy(), room.copy()
    worth = schedule_worth(stock, kept, price, better)
    for _ in range(50):
        if _improve(stock, kept, price, minutes, left, better, worth) <= 0:
            break
    return better


def schedule_worth(stock: Floats, kept: Floats, price: Floats, visits: Bools) -> Floats:
    """Worth of given schedules at given prices.

    Parameters
    ----------
    stock, kept, price : as in `best_schedules`
    visits : (n, days) bool

    Returns
    -------
    (n,) float, money

    Notes
    -----
    Source: sum over visits of what waits less what earlier visits had taken of it.
    Valid:  any schedules.
    Limits: none.

    Examples
    --------
    >>> schedule_worth(np.array([[1.0, 0.5, 1.25]]), np.array([0.5]), np.zeros((1, 3)),
    ...                np.array([[False, True, True]])).tolist()
    [1.5]
    """
    worth, taken = np.zeros(len(stock)), np.zeros(len(stock))
    for day in range(stock.shape[1]):
        taken = taken * kept
        seen = visits[:, day]
        worth += np.where(seen, stock[:, day] - taken - price[:, day], 0.0)
        taken = np.where(seen, stock[:, day], taken)
    return worth


def good_arcs(stock: Floats, kept: Floats, price: Floats, slack: float, most: int) -> Ints | None:
    """Steps from one visit to the next that a plan within `slack` of the bound may use.

    Parameters
    ----------
    stock, kept, price : as in `best_schedules`, prices with the price of the cap
    slack : float, money between the bound and the best plan known
    most : int, number of steps beyond which there is no answer

    Returns
    -------
    (k, 3) int, shrub, day of the last visit (−1: none), day of the visit; None if more than `most`

    Notes
    -----
    Source: a schedule whose regret at the day prices exceeds the gap cannot be in a better plan
            (Lagrangian reduced-cost fixing).
    Valid:  prices of the cap of 0 and more.
    Limits: none.

    Examples
    --------
    >>> good_arcs(np.array([[1.0, 0.5, 1.25]]), np.array([0.5]), np.full((1, 3), 0.25), 0.0, 9
    ...           ).tolist()
    [[0, -1, 0], [0, 0, 2]]
    """
    found = np.empty((most, 3), dtype=np.int64)
    count = int(_good_arcs(stock, kept, price, slack, found))
    return found[:count] if count <= most else None
