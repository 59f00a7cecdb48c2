"""One plan for each stool from those known, so that the cuts of every winter come near the cap.

From a first choice, one stool and then two at a time take another plan wherever that gains, cuts
above the cap being charged a little more at each turn.
"""

from typing import NamedTuple

import numba as nb
import numpy as np

from nuttery.science.arguments import Floats, Ints

CHARGES = (1.0, 1.01, 1.03, 1.06, 1.1, 1.2, 1.4)
PAIRS = 150  # changes of least regret that are tried two by two
TURNS = 100_000  # changes at most
LEAST = 0.02  # price of a cut in a winter that has cuts to spare, share of the dearest
GAIN = 1e-7  # kg; less is no gain


class Known(NamedTuple):
    """Plans known, those of a stool together.

    `value[p]` is the worth of plan p in kg, `cuts[p, t]` its cuts in winter t; plans `first[s]` to
    `first[s + 1]` are of stool s.
    """

    value: Floats
    cuts: Ints
    first: Ints


def packed(known: Known, stool: Ints, start: Ints, caps: Ints, prices: Floats) -> Ints:
    """Plans chosen for every stool, together near the caps, few cuts above them.

    Parameters
    ----------
    known : Known
    stool : (n,) int, which stool each is; several may be alike
    start : (n,) int, plan chosen to begin with
    caps : (years,) int
    prices : (years,) float, kg, what a cut is worth

    Returns
    -------
    (n,) int, plans
    """
    chosen = start.copy()
    prices = np.maximum(prices, LEAST * np.max(prices, initial=0.0) + GAIN)
    for charge in CHARGES:
        _settle(known, stool, chosen, caps, charge * prices)
    return chosen


@nb.njit(cache=True, nogil=True)
def _settle(known: Known, stool: Ints, chosen: Ints, caps: Ints, over: Floats) -> None:
    """Change `chosen`, one stool or two at a time, until no change gains."""
    cuts, years = known.cuts, len(caps)
    spare = caps.copy()
    for h in range(len(stool)):
        for t in range(years):
            spare[t] -= cuts[chosen[h], t]
    near_hand, near_plan = np.zeros(PAIRS, np.int64), np.zeros(PAIRS, np.int64)
    near_gain = np.zeros(PAIRS)
    for _ in range(TURNS):
        best, best_hand, best_plan, near = GAIN, -1, -1, 0
        for h in range(len(stool)):
            now = chosen[h]
            for plan in range(known.first[stool[h]], known.first[stool[h] + 1]):
                if plan == now:
                    continue
                gain, alone = _gain(known, now, plan, spare, over)
                if gain > best:
                    best, best_hand, best_plan = gain, h, plan
                near = _note(near_hand, near_plan, near_gain, near, h, plan, alone)
        if best_hand >= 0:
            _change(best_hand, best_plan, cuts, chosen, spare)
            continue
        one, two = _best_pair(known, chosen, spare, over, near_hand[:near], near_plan[:near])
        if one < 0:
            return
        _change(near_hand[one], near_plan[one], cuts, chosen, spare)
        _change(near_hand[two], near_plan[two], cuts, chosen, spare)


@nb.njit(cache=True, nogil=True)
def _gain(known: Known, now: int, plan: int, spare: Ints, over: Floats) -> tuple[float, float]:
    """Gain from another plan, and what it would be if every cut were charged."""
    gain = alone = known.value[plan] - known.value[now]
    for t in range(len(spare)):
        more = known.cuts[plan, t] - known.cuts[now, t]
        if more != 0:
            gain += over[t] * (min(0, spare[t] - more) - min(0, spare[t]))
            alone -= over[t] * more
    return gain, alone


@nb.njit(cache=True, nogil=True)
def _note(  # noqa: PLR0917 - jitted code has no keyword arguments to speak of
    hands: Ints, plans: Ints, gains: Floats, size: int, hand: int, plan: int, gain: float
) -> int:
    """Note a change among those of least regret, best first; how many are noted."""
    if size == len(gains) and gain <= gains[size - 1]:
        return size
    at = min(size, len(gains) - 1)
    while at > 0 and gains[at - 1] < gain:
        hands[at], plans[at], gains[at] = hands[at - 1], plans[at - 1], gains[at - 1]
        at -= 1
    hands[at], plans[at], gains[at] = hand, plan, gain
    return min(size + 1, len(gains))


@nb.njit(cache=True, nogil=True)
def _best_pair(  # noqa: PLR0917 - jitted code has no keyword arguments to speak of
    known: Known, chosen: Ints, spare: Ints, over: Floats, hands: Ints, plans: Ints
) -> tuple[int, int]:
    """The two changes that gain most together, or -1 twice."""
    value, cuts = known.value, known.cuts
    best, one, two = GAIN, -1, -1
    for i in range(len(hands)):
        for j in range(i + 1, len(hands)):
            if hands[i] == hands[j]:
                continue
            gain = value[plans[i]] - value[chosen[hands[i]]]
            gain += value[plans[j]] - value[chosen[hands[j]]]
            for t in range(len(spare)):
                more = cuts[plans[i], t] - cuts[chosen[hands[i]], t]
                more += cuts[plans[j], t] - cuts[chosen[hands[j]], t]
                gain += over[t] * (min(0, spare[t] - more) - min(0, spare[t]))
            if gain > best:
                best, one, two = gain, i, j
    return one, two


@nb.njit(cache=True, nogil=True)
def _change(hand: int, plan: int, cuts: Ints, chosen: Ints, spare: Ints) -> None:
    for t in range(len(spare)):
        spare[t] += cuts[chosen[hand], t] - cuts[plan, t]
    chosen[hand] = plan
