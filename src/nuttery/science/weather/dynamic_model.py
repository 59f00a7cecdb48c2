"""The Dynamic Model over the hours: exponentials by NumPy in blocks, the recursion compiled."""

import numpy as np
from numba import njit

from nuttery.science.arguments import Floats

E0, E1, A0, A1 = 4153.5, 12888.8, 139500.0, 2.567e18
SLOPE, SWITCH = 1.6, 277.0
BLOCK = 8192
"""Hours at a time: their exponentials stay in the processor's cache."""


def run(temps: Floats, start: float, total: float, portions: Floats) -> tuple[float, float]:
    """Fill `portions` with the running total; the state after the last hour is returned.

    Constants and recursion: see `chill_portions`. NumPy computes several exponentials at once where
    the processor can, which compiled code does not; so they are taken out of the loop.
    """
    left = start
    for first in range(0, temps.size, BLOCK):
        cold = 1.0 / (temps[first : first + BLOCK] + 273.0)
        steady = _exp((E1 - E0) * cold)
        decay = _exp(-A1 * _exp(-E1 * cold))
        odds = _exp(SLOPE * SWITCH * SWITCH * cold - SLOPE * SWITCH)
        out = portions[first : first + BLOCK]
        left, total = _carry(steady, decay, odds, left, total, out)
    return left, total


def _exp(powers: Floats) -> Floats:
    """Exponentials in the place of their powers."""
    return np.exp(powers, out=powers)


@njit(cache=True)
def _carry(  # noqa: PLR0917 - compiled functions have no keyword-only arguments
    steady: Floats, decay: Floats, odds: Floats, left: float, total: float, portions: Floats
) -> tuple[float, float]:
    for hour in range(steady.size):
        level = A0 / A1 * steady[hour]
        left = level - (level - left) * decay[hour]
        if left >= 1.0:
            share = 1.0 / (1.0 + odds[hour])
            total += left * share
            left *= 1.0 - share
        portions[hour] = total
    return left, total
