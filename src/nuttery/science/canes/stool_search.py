"""Plans of one stool, winter by winter, those that cannot be among the best left out at once.

A state is what is left standing, with the worth gathered so far and the poorest crop so far. Views
from the prices of relaxed models (`stool_prices`) tell what any state can still reach at most, the
least over all views, so a state that cannot beat the best plan known is dropped without harm. Where
there are more states than there is room for, the least promising go, and the reach of the best of
those bounds what was missed: the answer is a plan and a proven bound, whatever the room.

All jitted functions stand in this one file, since Numba's cache does not see a changed callee.
They use plain loops, since sorting and slicing would take half a minute to compile, and counts
start as np.int64, since a plain number is compiled for its value first and then once more.
"""

from typing import NamedTuple

import numba as nb
import numpy as np

from nuttery.science.arguments import Bools, Floats, Ints
from nuttery.science.canes.rules import SHARE_TOLERANCE

NEVER = -1e300
ENDLESS = 1e300
MOST = 70  # canes of a stool up to which a view knows what whole cuts cost
SAME = 1e-12  # kg; a state no better than this is no better
TOTAL, CROP, WORTH, LATER, CUTS = range(5)  # sums over the ages decided so far


class Game(NamedTuple):
    """What a stool is judged by, as plain arrays and numbers; `most[t]` cuts in winter t."""

    bearing: Floats
    worth: Floats
    weights: Floats
    prices: Floats
    target: float
    crowding: float
    max_share: float
    suckers: int
    most: Ints


class Views(NamedTuple):
    """What can still be reached, from relaxed prices; the first place is that of the view.

    `reach[k, t, a]` a standing cane adds at most, `gain[k, t, a]` keeping it adds over cutting it,
    `rest[k, t]` winter t and all later ones add beside the canes standing in t, `before[k, t]` is
    the weight of the poorest crop up to winter t, `crop[k, t]` that of the crop of winter t. Of
    that, `share[k, t, n]` stays out of reach when n canes of age 2 and older stand in winter t,
    because cuts are whole; `later[k, t, n]` in later winters when n canes are kept in winter t, and
    `total[k, t, n]` in that winter too.
    """

    reach: Floats
    gain: Floats
    rest: Floats
    before: Floats
    crop: Floats
    share: Floats
    later: Floats
    total: Floats


class States(NamedTuple):
    """Room for states: canes kept, worth, poorest crop, reach, the view that sets it, parent."""

    kept: Ints
    worth: Floats
    poorest: Floats
    reach: Floats
    tight: Ints
    parent: Ints


@nb.njit(cache=True, nogil=True)
def views_of(game: Game, crop_prices: Floats, place_prices: Floats, share_prices: Floats) -> Views:
    """What a stool can still reach by each of k sets of relaxed prices.

    Parameters
    ----------
    game : Game
    crop_prices : (k, years) float, price of a winter's crop, summing to the evenness term
    place_prices : (k, years) float, price of a place under the target
    share_prices : (k, years) float, price of a cut within the share that may go

    Returns
    -------
    Views
    """
    many, years, ages = len(crop_prices), len(game.weights), len(game.bearing)
    reach = np.zeros((many, years + 1, ages))
    gain = np.zeros((many, years, ages))
    rest = np.zeros((many, years + 1))
    before = np.zeros((many, years + 1))
    share, later = np.zeros((many, years, MOST + 1)), np.zeros((many, years, MOST + 1))
    total = np.zeros((many, years, MOST + 1))
    for k in range(many):
        for t in range(years - 1, -1, -1):
            dearest = game.crowding * (game.weights[t] + crop_prices[k, t])
            place, cut_price = min(place_prices[k, t], dearest), share_prices[k, t]
            for a in range(1, ages):
                old = 1.0 if a >= 2 else 0.0
                cut = -old * (game.prices[t] + cut_price)
                keep = game.weights[t] * game.worth[a] + crop_prices[k, t] * game.bearing[a]
                keep += reach[k, t + 1, min(a + 1, ages - 1)] - place
                gain[k, t, a] = keep - cut
                reach[k, t, a] = max(keep, cut) + old * cut_price * game.max_share
            coming = game.suckers * reach[k, t + 1, 1] if t + 1 < years else 0.0
            rest[k, t] = rest[k, t + 1] + place * game.target + coming
            rest[k, t] += cut_price * (1 - game.max_share)
            for n in range(MOST):
                above = n - game.target
                total[k, t, n] = max(-place * above, (dearest - place) * above)
                spare = game.max_share * n + 1 - game.max_share
                share[k, t, n] = cut_price * (spare - min(n, _cut_limit(n, game.max_share)))
        for t in range(years):
            before[k, t + 1] = before[k, t] + crop_prices[k, t]
        _carry_losses(game, share[k], later[k], total[k])
    return Views(reach, gain, rest, before, crop_prices, share, later, total)


@nb.njit(cache=True, nogil=True)
def _carry_losses(game: Game, share: Floats, later: Floats, total: Floats) -> None:
    """Add to what stays out of reach in a winter the least that must in all later ones."""
    for t in range(len(total) - 2, -1, -1):
        for n in range(MOST):
            least = ENDLESS
            for after in range(n - min(n, _cut_limit(n, game.max_share)), n + game.suckers + 1):
                least = min(least, total[t + 1, min(after, MOST)])
            later[t, n] = share[t + 1, n] + least
            total[t, n] += later[t, n]


@nb.njit(cache=True, nogil=True)
def _cut_limit(standing: float, max_share: float) -> int:
    return max(1, int(np.floor(max_share * standing + SHARE_TOLERANCE)))


@nb.njit(cache=True, nogil=True)
def _root(views: Views, k: int, standing: Ints) -> float:
    grown, reach = 0, views.rest[k, 0]
    for a in range(1, len(standing)):
        grown += standing[a] if a >= 2 else 0
        reach += standing[a] * views.reach[k, 0, a]
    return float(reach - views.share[k, 0, min(grown, MOST)])


@nb.njit(cache=True, nogil=True)
def reach_of(views: Views, standing: Ints) -> tuple[float, int]:
    """What no plan of a stool can exceed, from what stands first, and the view that says so."""
    least, best = ENDLESS, 0
    for k in range(len(views.rest)):
        reach = _root(views, k, standing)
        if reach < least:
            least, best = reach, k
    return least, best


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
    a: int, kept: int, stand: int, level: Floats, game: Game, coming: Floats
) -> None:
    """Sums over the ages from a up, once `kept` of `stand` canes of age a are, in `level[a]`."""
    level[a, TOTAL] = level[a + 1, TOTAL] + kept
    level[a, CROP] = level[a + 1, CROP] + game.bearing[a] * kept
    level[a, WORTH] = level[a + 1, WORTH] + game.worth[a] * kept
    level[a, LATER] = level[a + 1, LATER] + coming[min(a + 1, len(coming) - 1)] * kept
    level[a, CUTS] = level[a + 1, CUTS] + (stand - kept if a >= 2 else 0)


@nb.njit(cache=True, nogil=True)
def _unreached(  # noqa: PLR0917 - jitted code has no keyword arguments to speak of
    t: int,
    sums: Floats,
    open_canes: int,
    open_crop: float,
    poorest: float,
    game: Game,
    views: Views,
    k: int,
) -> float:
    """What stays out of reach once some ages are decided, whatever is kept of the open ones."""
    total = int(sums[TOTAL])
    least = views.total[k, t, min(total, MOST)]
    for n in range(total + 1, min(total + open_canes, MOST) + 1):
        least = min(least, views.total[k, t, n])
    high = sums[CROP] + open_crop - game.crowding * max(0.0, total - game.target)
    if high < poorest < ENDLESS:
        return float(least + views.before[k, t] * (poorest - high))
    low = sums[CROP] - game.crowding * max(0.0, total + open_canes - game.target)
    return float(least + views.crop[k, t] * max(0.0, low - poorest))


@nb.njit(cache=True, nogil=True)
def _reach(  # noqa: PLR0917 - jitted code has no keyword arguments to speak of
    t: int, kept: Ints, worth: float, poorest: float, total: int, suckers: int, views: Views, k: int
) -> float:
    """What a state can still reach after winter t, by one view."""
    reach = worth + views.before[k, t + 1] * poorest + views.rest[k, t + 1]
    reach -= views.later[k, t, min(total, MOST)]
    ages = len(kept)
    if t + 2 < views.rest.shape[1]:
        reach += suckers * views.reach[k, t + 1, 1]
        for a in range(1, ages):
            if kept[a] > 0:
                reach += kept[a] * views.reach[k, t + 1, min(a + 1, ages - 1)]
    return float(reach)


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
    views: Views,
    least: float,
) -> bool:
    """Write one winter's outcome into `new[size]`; whether it can still beat `least`."""
    total = int(sums[TOTAL])
    crowded = game.crowding * max(0.0, total - game.target)
    worth = old.worth[label] - game.prices[t] * sums[CUTS]
    worth += game.weights[t] * (sums[WORTH] - crowded)
    poorest = min(old.poorest[label], sums[CROP] - crowded)
    tight = old.tight[label]
    reach = _reach(t, kept, worth, poorest, total, game.suckers, views, tight)
    if t + 1 < len(game.weights):
        for k in range(len(views.rest)):
            if reach <= least:
                return False
            other = _reach(t, kept, worth, poorest, total, game.suckers, views, k)
            if other < reach:
                reach, tight = other, k
    if reach <= least:
        return False
    for a in range(len(kept)):
        new.kept[size, a] = kept[a]
    new.worth[size] = worth
    new.poorest[size] = poorest
    new.reach[size] = reach
    new.tight[size] = tight
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
    states.tight[j] = states.tight[i]
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
    views: Views,
) -> tuple[int, float]:
    """All that may be left standing in winter t after `count` states; how many, and the dropped.

    Ages are decided from the oldest down. `ceiling[a]` is what can still be reached once the ages
    from a up are decided; keeping less of what should stay, or more of what should go, lowers it.
    """
    ages = len(game.bearing)
    kept, tried = np.zeros(ages, np.int64), np.zeros(ages, np.int64)
    level, ceiling = np.zeros((ages + 1, 5)), np.zeros(ages + 1)
    open_canes, open_crop = np.zeros(ages, np.int64), np.zeros(ages)
    size, dropped = np.int64(0), NEVER
    for label in range(count):
        stand, k, poorest = stands[label], old.tight[label], old.poorest[label]
        grown, ceiling[ages] = 0, old.worth[label] + views.rest[k, t]
        if t > 0:
            ceiling[ages] += views.before[k, t] * poorest
        for b in range(1, ages):
            open_canes[b] = open_canes[b - 1] + stand[b - 1]
            open_crop[b] = open_crop[b - 1] + stand[b - 1] * game.bearing[b - 1]
            grown += stand[b] if b >= 2 else 0
            ceiling[ages] += stand[b] * views.reach[k, t, b]
        ceiling[ages] -= views.share[k, t, min(grown, MOST)]
        limit = min(_cut_limit(grown, game.max_share), game.most[t])
        a = ages - 1
        tried[a] = -1
        while a < ages:
            tried[a] += 1
            gain = views.gain[k, t, a]
            ceiling[a] = ceiling[a + 1] - tried[a] * abs(gain)
            if tried[a] > stand[a] or ceiling[a] <= least:
                a += 1
                continue
            kept[a] = stand[a] - tried[a] if gain > 0 else tried[a]
            _decide(a, kept[a], stand[a], level, game, views.reach[k, t + 1])
            missed = _unreached(t, level[a], open_canes[a], open_crop[a], poorest, game, views, k)
            if level[a, CUTS] > limit:
                a += gain > 0
            elif ceiling[a] - missed <= least:
                continue
            elif a > 1:
                a -= 1
                tried[a] = -1
            elif _add_state(t, kept, level[1], label, old, new, size, game, views, least):
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
    zeros = np.zeros((2, size), np.int64)
    return States(kept, worth, poorest, reach, zeros[0], zeros[1])


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
    standing: Ints, game: Game, views: Views, room: int, least: float, wanted: int
) -> tuple[Ints, Floats, float, Ints]:
    """Best plans of one stool found in a given room, and the bound on those not looked at.

    Parameters
    ----------
    standing : (A,) int, canes in the first winter
    game : Game
    views : Views
    room : int, states carried from winter to winter
    least : float, plans worth no more than this are not looked for
    wanted : int, how many plans to give back at most

    Returns
    -------
    kept : (found, years, A) int, best first
    worth : (found,) float, less the prices of the cuts
    missed : float, no plan worth more than `least` that was not looked at is worth more than this
    used : (k,) int, states carried on that each view was tightest for
    """
    years, ages = len(game.weights), len(game.bearing)
    past_kept = np.zeros((years, room, ages), np.int32)
    past_parent = np.zeros((years, room), np.int64)
    used = np.zeros(len(views.rest), np.int64)
    old, new = _room_for(4 * room + 64, ages), _room_for(4 * room + 64, ages)
    stands = np.zeros((room, ages), np.int64)
    for a in range(ages):
        stands[0, a] = standing[a]
    size, missed = np.int64(1), NEVER
    old.tight[0] = reach_of(views, standing)[1]
    for t in range(years):
        size, dropped = _next_winter(t, stands, old, size, new, room, least, game, views)
        missed = max(missed, dropped)
        for i in range(size):
            used[new.tight[i]] += 1
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
    return kept, worth, missed, used
