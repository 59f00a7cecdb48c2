"""Among equal plans the older cane goes: trade the younger cut for the older, never at a loss."""

from collections.abc import Iterator

import numpy as np

from nuttery.science.arguments import Ints
from nuttery.science.canes.rules import Rules, plan_value, standing_canes

EQUAL = 1e-9  # kg; values nearer than this are the same


def older_goes(count: Ints, kept: Ints, rules: Rules) -> Ints:
    """The plan of one stool with no cane cut while an older one, worth no more, is kept.

    Parameters
    ----------
    count : (A,) int, canes in the first winter
    kept : (years, A) int
    rules : the plan's rules

    Returns
    -------
    (years, A) int, worth at least as much, with as many cuts in every winter
    """
    value = plan_value(kept[None], rules)[0]
    found = True
    while found:
        found = False
        for trade in _trades(count, kept, rules):
            worth = plan_value(trade[None], rules)[0]
            if worth >= value - EQUAL:
                kept, value, found = trade, worth, True
                break
    return kept


def _trades(count: Ints, kept: Ints, rules: Rules) -> Iterator[Ints]:
    """Plans in which a younger cane takes the place of an older one from some winter on."""
    standing = standing_canes(count[None], kept[None], rules.suckers)[0]
    cut = standing - kept
    for t, young in zip(*np.nonzero(cut[:, 2:]), strict=True):
        for old in np.flatnonzero(kept[t, young + 3 :]) + young + 3:
            yield from _traded(cut, kept, (int(t), int(young) + 2, int(old)))


def _traded(cut: Ints, kept: Ints, place: tuple[int, int, int]) -> Iterator[Ints]:
    """`kept` with the young cane standing in for the old one, until one of the old ones was to go.

    The number of canes cut and kept in each winter stays as it was, so every rule still holds.
    """
    t, young, old = place
    last = kept.shape[1] - 1
    trade = kept.copy()
    while kept[t, old] > 0 and young != old:
        trade[t, old] -= 1
        trade[t, young] += 1
        young, old, t = min(young + 1, last), min(old + 1, last), t + 1
        if t == len(kept):
            yield trade
            return
        if cut[t, old] > 0 or young == old:
            yield trade.copy()
