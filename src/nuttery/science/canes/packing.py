"""One plan for each stool from those known, so that the cuts of every winter come near the cap.

Simulated annealing: one stool after another takes another of its plans, by chance and the more
rarely the more is lost; cuts above the cap are charged more and more, and chance is cooled down.
"""

from typing import NamedTuple

import numba as nb
import numpy as np

from nuttery.science.arguments import Floats, Ints

MOVES, FEWEST, MOST = 10_000, 200_000, 8_000_000  # changes looked at: a stool's, at least, at most
HOT, COLD = 0.4, 0.03  # loss that is borne now and then, first and last, share of a step
STEP = 0.3  # least step, share of the price of a cut
CHARGES = 1.1, 4.0  # what a cut above the cap costs, first and last, share of its price
LEAST = 0.1  # price of a cut in a winter that has cuts to spare, share of the dearest
TINY = 1e-7  # kg


class Known(NamedTuple):
    """Plans known, those of a stool together, the better ones first.

    `value[p]` is the worth of plan p in kg, `cuts[p, t]` its cuts in winter t; plans `first[s]` to
    `first[s + 1]` are of stool s.
    """

    value: Floats
    cuts: Ints
    first: Ints


def packed(
    known: Known, stool: Ints, start: Ints, *, caps: Ints, prices: Floats, unit: float
) -> Ints:
    """Plans chosen for every stool, together near the caps, few cuts above them.

    Parameters
    ----------
    known : Known
    stool : (n,) int, which stool each is; several may be alike
    start : (n,) int, plan chosen to begin with
    caps : (years,) int
    prices : (years,) float, kg, what a cut is worth
    unit : float, kg, what a single cane can make or lose

    Returns
    -------
    (n,) int, plans
    """
    over = np.maximum(prices, LEAST * np.max(prices, initial=0.0) + TINY)
    step = max(unit, STEP * float(np.mean(prices)))
    moves = min(max(MOVES * len(stool), FEWEST), MOST)
    chosen = start.copy()
    _anneal(known, stool, chosen, caps, over, step, moves)
    return chosen


@nb.njit(cache=True, nogil=True)
def _anneal(  # noqa: PLR0917 - jitted code has no keyword arguments to speak of
    known: Known,
    stool: Ints,
    chosen: Ints,
    caps: Ints,
    over: Floats,
    step: float,
    moves: int,
) -> None:
    """Change `chosen` plan by plan, and leave the best choice within the caps in it, if any was."""
    np.random.seed(0)  # noqa: NPY002 - the only generator that jitted code can seed
    value, cuts, first = known
    spare, worth = caps.copy(), 0.0
    for h in range(len(stool)):
        worth += value[chosen[h]]
        spare -= cuts[chosen[h]]
    best, kept, found = worth, chosen.copy(), bool(spare.min() >= 0)
    for move in range(moves):
        done = move / moves
        heat = step * HOT * (COLD / HOT) ** done
        charge = CHARGES[0] * (CHARGES[1] / CHARGES[0]) ** done
        h = np.random.randint(len(stool))  # noqa: NPY002
        low = first[stool[h]]
        now = chosen[h]
        plan = low + int((first[stool[h] + 1] - low) * np.random.random() ** 2)  # noqa: NPY002
        gain = value[plan] - value[now]
        for t in range(len(caps)):
            more = cuts[plan, t] - cuts[now, t]
            if more != 0:
                gain += charge * over[t] * (min(0, spare[t] - more) - min(0, spare[t]))
        if plan == now or (gain < 0 and np.random.random() > np.exp(gain / heat)):  # noqa: NPY002
            continue
        chosen[h] = plan
        worth += value[plan] - value[now]
        within = True
        for t in range(len(caps)):
            spare[t] -= cuts[plan, t] - cuts[now, t]
            within = within and spare[t] >= 0
        if within and (worth > best or not found):
            best, found = worth, True
            kept[:] = chosen
    if found:
        chosen[:] = kept
