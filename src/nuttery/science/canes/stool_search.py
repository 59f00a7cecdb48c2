"""Plans of one stool, winter by winter, those that cannot be among the best left out at once.

A state is what is left standing, with the worth gathered so far and the poorest crop so far. Prices
of the relaxed model (`stool_prices`) tell what any state can still reach at most, so a state that
cannot beat the best plan known is dropped without harm. Where there are more states than there is
room for, the least promising go, and the reach of the best of those bounds what was missed: the
answer is a plan and a proven bound, whatever the room.

All jitted functions stand in this one file, since Numba's cache does not see a changed callee.
They use plain loops: sorting and slicing would take half a minute to compile.
"""

from typing import NamedTuple

import numba as nb
import numpy as np

from nuttery.science.arguments import Bools, Floats, Ints
from nuttery.science.canes.rules import SHARE_TOLERANCE

NEVER = -1e300
ENDLESS = 1e300
SAME = 1e-12  # kg; a state no better than this is no better
TOTAL, CROP, WORTH, LATER, CUTS = range(5)  # sums over the ages decided so far


class Game(NamedTuple):
    """What a stool is judged by, as plain arrays and numbers."""

    bearing: Floats
    worth: Floats
    weights: Floats
    prices: Floats
    target: float
    crowding: float
    max_share: float
    suckers: int


class View(NamedTuple):
    """What can still be reached, from the relaxed prices.

    `reach[t, a]` a standing cane adds at most, `gain[t, a]` keeping it adds over cutting it,
    `rest[t]` winter t and all later ones add beside the canes standing in t, `before[t]` is the
    weight of the poorest crop up to winter t. Each cane short of the target leaves `short[t]` of
    that unreached, each above it `over[t]`.
    """

    reach: Floats
    gain: Floats
    rest: Floats
    before: Floats
    short: Floats
    over: Floats


class States(NamedTuple):
    """Room for states: canes kept, worth, poorest crop, what can be reached, state before."""

    kept: Ints
    worth: Floats
    poorest: Floats
    reach: Floats
    parent: Ints


@nb.njit(cache=True, nogil=True)
def relaxed_view(
    game: Game, crop_prices: Floats, place_prices: Floats, share_prices: Floats, first_spare: float
) -> View:
    """What a stool can still reach by the prices of the relaxed model.

    Parameters
    ----------
    game : Game
    crop_prices : (years,) float, price of a winter's crop, summing to the evenness term
    place_prices : (years,) float, price of a place under the target
    share_prices : (years,) float, price of a cut within the share that may go
    first_spare : float, cuts allowed in the first winter less the share of what stands

    Returns
    -------
    View
    """
    years, ages = len(game.weights), len(game.bearing)
    reach = np.zeros((years + 1, ages))
    gain = np.zeros((years, ages))
    rest = np.zeros(years + 1)
    before = np.zeros(years + 1)
    short, over = np.zeros(years), np.zeros(years)
    for t in range(years - 1, -1, -1):
        dearest = game.crowding * (game.weights[t] + crop_prices[t])
        place = min(place_prices[t], dearest)
        short[t], over[t] = place, dearest - place
        for a in range(1, ages):
            old = 1.0 if a >= 2 else 0.0
            cut = -old * (game.prices[t] + share_prices[t])
            keep = game.weights[t] * game.worth[a] + crop_prices[t] * game.bearing[a] - place
            keep += reach[t + 1, min(a + 1, ages - 1)]
            gain[t, a] = keep - cut
            reach[t, a] = max(keep, cut) + old * share_prices[t] * game.max_share
        coming = game.suckers * reach[t + 1, 1] if t + 1 < years else 0.0
        spare = first_spare if t == 0 else 1 - game.max_share
        rest[t] = rest[t + 1] + place * game.target + share_prices[t] * spare + coming
    for t in range(years):
        before[t + 1] = before[t] + crop_prices[t]
    return View(reach, gain, rest, before, short, over)


@nb.njit(cache=True, nogil=True)
def reach_of(view: View, standing: Ints) -> float:
    """What no plan of a stool can exceed, from what stands in the first winter."""
    total = view.rest[0]
    for a in range(1, len(standing)):
        total += standing[a] * view.reach[0, a]
    return float(total)


@nb.njit(cache=True, nogil=True)
def _raise_canes(kept: Ints, suckers: int, standing: Ints) -> None:
    """What stands next winter, written into `standing`."""
    last = len(kept) - 1
    for a in range(2, last + 1):
        standing[a] = kept[a - 1]
    standing[last] += kept[last]
    standing[1] = suckers


@nb.njit(cache=True, nogil=True)
def _decide(  # noqa: PLR0917 - jitted code has no keyword arguments to speak of
    t: int, a: int, kept: int, stand: int, level: Floats, game: Game, view: View
) -> None:
    """Sums over the ages from a up, once `kept` of `stand` canes of age a are, in `level[a]`."""
    risen = min(a + 1, len(game.bearing) - 1)
    level[a, TOTAL] = level[a + 1, TOTAL] + kept
    level[a, CROP] = level[a + 1, CROP] + game.bearing[a] * kept
    level[a, WORTH] = level[a + 1, WORTH] + game.worth[a] * kept
    level[a, LATER] = level[a + 1, LATER] + view.reach[t + 1, risen] * kept
    level[a, CUTS] = level[a + 1, CUTS] + (stand - kept if a >= 2 else 0)


@nb.njit(cache=True, nogil=True)
def _unreached(t: int, total: float, open_canes: int, game: Game, view: View) -> float:
    """What stays out of reach when `total` canes are kept, and `open_canes` more may be."""
    short = game.target - total - open_canes
    return float(max(0.0, view.short[t] * short, view.over[t] * (total - game.target)))


@nb.njit(cache=True, nogil=True)
def _add_state(  # noqa: PLR0917 - jitted code has no keyword arguments to speak of
    t: int,
    kept: Ints,
    sums: Floats,
    label: int,
    old: States,
    new: States,
    size: int,
    game: Game,
    view: View,
    least: float,
) -> bool:
    """Write one winter's outcome into `new[size]`; whether it can still beat `least`."""
    crowded = game.crowding * max(0.0, sums[TOTAL] - game.target)
    worth = old.worth[label] - game.prices[t] * sums[CUTS]
    worth += game.weights[t] * (sums[WORTH] - crowded)
    poorest = min(old.poorest[label], sums[CROP] - crowded)
    reach = worth + view.before[t + 1] * poorest + view.rest[t + 1] + sums[LATER]
    if t + 1 < len(game.weights):
        reach += game.suckers * view.reach[t + 1, 1]
    if reach <= least:
        return False
    for a in range(len(kept)):
        new.kept[size, a] = kept[a]
    new.worth[size] = worth
    new.poorest[size] = poorest
    new.reach[size] = reach
    new.parent[size] = label
    return True


@nb.njit(cache=True, nogil=True)
def _mark_beaten(states: States, size: int, beaten: Bools) -> None:
    """Mark each state that stands as another does and is no better in worth and poorest crop."""
    slots = 1
    while slots < 2 * size:
        slots *= 2
    head = np.full(slots, -1, np.int64)
    after = np.full(size, -1, np.int64)
    ages = states.kept.shape[1]
    for i in range(size):
        code = np.uint64(14695981039346656037)
        for a in range(1, ages):
            code = (code ^ np.uint64(states.kept[i, a])) * np.uint64(1099511628211)
        slot = np.int64((code ^ (code >> np.uint64(29))) & np.uint64(slots - 1))
        j = head[slot]
        while j >= 0 and not beaten[i]:
            same = not beaten[j]
            for a in range(1, ages):
                same = same and states.kept[i, a] == states.kept[j, a]
            if same:
                worth = states.worth[i] - states.worth[j]
                poorest = states.poorest[i] - states.poorest[j]
                beaten[i] = worth <= SAME and poorest <= SAME
                beaten[j] = not beaten[i] and worth >= -SAME and poorest >= -SAME
            j = after[j]
        after[i] = head[slot]
        head[slot] = i


@nb.njit(cache=True, nogil=True)
def _kth_largest(values: Floats, k: int) -> float:
    """The k-th largest value (1 is the largest); `values` is put in disorder."""
    low, high, goal = 0, len(values) - 1, k - 1
    while low < high:
        pivot = values[(low + high) // 2]
        i, j = low, high
        while i <= j:
            while values[i] > pivot:
                i += 1
            while values[j] < pivot:
                j -= 1
            if i <= j:
                values[i], values[j] = values[j], values[i]
                i += 1
                j -= 1
        if goal <= j:
            high = j
        elif goal >= i:
            low = i
        else:
            break
    return float(values[goal])


@nb.njit(cache=True, nogil=True)
def _move_state(states: States, i: int, j: int) -> None:
    for a in range(states.kept.shape[1]):
        states.kept[j, a] = states.kept[i, a]
    states.worth[j] = states.worth[i]
    states.poorest[j] = states.poorest[i]
    states.reach[j] = states.reach[i]
    states.parent[j] = states.parent[i]


@nb.njit(cache=True, nogil=True)
def _thin(states: States, size: int, room: int) -> tuple[int, float]:
    """Merge like states and keep the `room` most promising; how many, and the best one dropped."""
    beaten = np.zeros(size, np.bool_)
    _mark_beaten(states, size, beaten)
    good = 0
    for i in range(size):
        if not beaten[i]:
            _move_state(states, i, good)
            good += 1
    if good <= room:
        return good, NEVER
    line = _kth_largest(states.reach[:good].copy(), room)
    above = 0
    for i in range(good):
        above += states.reach[i] > line
    on_line = room - above
    left, dropped = 0, NEVER
    for i in range(good):
        on = states.reach[i] == line and on_line > 0
        if states.reach[i] > line or on:
            on_line -= on
            _move_state(states, i, left)
            left += 1
        else:
            dropped = max(dropped, states.reach[i])
    return left, dropped


@nb.njit(cache=True, nogil=True)
def _least_reach(states: States, size: int) -> float:
    least = ENDLESS
    for i in range(size):
        least = min(least, states.reach[i])
    return least


@nb.njit(cache=True, nogil=True)
def _next_winter(  # noqa: C901, PLR0917 - one loop, unrolled recursion
    t: int,
    stands: Ints,
    old: States,
    count: int,
    new: States,
    room: int,
    least: float,
    game: Game,
    view: View,
) -> tuple[int, float]:
    """All that may be left standing in winter t after `count` states; how many, and the dropped.

    Ages are decided from the oldest down. `ceiling[a]` is what can still be reached once the ages
    from a up are decided; keeping less of what should stay, or more of what should go, lowers it.
    """
    ages = len(game.bearing)
    kept, tried = np.zeros(ages, np.int64), np.zeros(ages, np.int64)
    level, ceiling = np.zeros((ages + 1, 5)), np.zeros(ages + 1)
    open_canes = np.zeros(ages, np.int64)
    size, dropped = 0, NEVER
    for label in range(count):
        stand = stands[label]
        grown, ceiling[ages] = 0, old.worth[label] + view.rest[t]
        if t > 0:
            ceiling[ages] += view.before[t] * old.poorest[label]
        for b in range(1, ages):
            open_canes[b] = open_canes[b - 1] + stand[b - 1]
            grown += stand[b] if b >= 2 else 0
            ceiling[ages] += stand[b] * view.reach[t, b]
        limit = max(1, int(np.floor(game.max_share * grown + SHARE_TOLERANCE)))
        a = ages - 1
        tried[a] = -1
        while a < ages:
            tried[a] += 1
            gain = view.gain[t, a]
            ceiling[a] = ceiling[a + 1] - tried[a] * abs(gain)
            if tried[a] > stand[a] or ceiling[a] <= least:
                a += 1
                continue
            kept[a] = stand[a] - tried[a] if gain > 0 else tried[a]
            _decide(t, a, kept[a], stand[a], level, game, view)
            if level[a, CUTS] > limit:
                a += gain > 0
            elif ceiling[a] - _unreached(t, level[a, TOTAL], open_canes[a], game, view) <= least:
                continue
            elif a > 1:
                a -= 1
                tried[a] = -1
            elif _add_state(t, kept, level[1], label, old, new, size, game, view, least):
                size += 1
                if size == len(new.worth):
                    size, missed = _thin(new, size, room)
                    dropped = max(dropped, missed)
                    if size == room:
                        least = max(least, _least_reach(new, size))
                        dropped = max(dropped, least)
    size, missed = _thin(new, size, room)
    return size, max(dropped, missed)


@nb.njit(cache=True, nogil=True)
def _room_for(size: int, ages: int) -> States:
    kept = np.zeros((size, ages), np.int64)
    worth, poorest, reach = np.zeros(size), np.full(size, ENDLESS), np.zeros(size)
    return States(kept, worth, poorest, reach, np.zeros(size, np.int64))


@nb.njit(cache=True, nogil=True)
def _best_first(states: States, size: int, wanted: int) -> Ints:
    """Places of the `wanted` states of most reach, best first."""
    found = min(size, wanted)
    taken = np.zeros(size, np.bool_)
    places = np.zeros(found, np.int64)
    for k in range(found):
        best = -1
        for i in range(size):
            if not taken[i] and (best < 0 or states.reach[i] > states.reach[best]):
                best = i
        taken[best] = True
        places[k] = best
    return places


@nb.njit(cache=True, nogil=True)
def search(  # noqa: PLR0917 - jitted code has no keyword arguments to speak of
    standing: Ints, game: Game, view: View, room: int, least: float, wanted: int
) -> tuple[Ints, Floats, float]:
    """Best plans of one stool found in a given room, and the bound on those not looked at.

    Parameters
    ----------
    standing : (A,) int, canes in the first winter
    game : Game
    view : View
    room : int, states carried from winter to winter
    least : float, plans worth no more than this are not looked for
    wanted : int, how many plans to give back at most

    Returns
    -------
    kept : (found, years, A) int, best first
    worth : (found,) float, less the prices of the cuts
    missed : float, no plan worth more than `least` that was not looked at is worth more than this
    """
    years, ages = len(game.weights), len(game.bearing)
    past_kept = np.zeros((years, room, ages), np.int32)
    past_parent = np.zeros((years, room), np.int64)
    old, new = _room_for(4 * room + 64, ages), _room_for(4 * room + 64, ages)
    stands = np.zeros((room, ages), np.int64)
    for a in range(ages):
        stands[0, a] = standing[a]
    size, missed = 1, NEVER
    for t in range(years):
        size, dropped = _next_winter(t, stands, old, size, new, room, least, game, view)
        missed = max(missed, dropped)
        for i in range(size):
            for a in range(ages):
                past_kept[t, i, a] = new.kept[i, a]
            past_parent[t, i] = new.parent[i]
            _raise_canes(new.kept[i], game.suckers, stands[i])
        old, new = new, old
    places = _best_first(old, size, wanted)
    kept = np.zeros((len(places), years, ages), np.int64)
    worth = np.zeros(len(places))
    for k in range(len(places)):
        worth[k] = old.reach[places[k]]
        at = places[k]
        for t in range(years - 1, -1, -1):
            for a in range(ages):
                kept[k, t, a] = past_kept[t, at, a]
            at = past_parent[t, at]
    return kept, worth, missed
