"""Loops of the weather maker over the days, compiled."""

import numpy as np
from numba import njit

from nuttery.science.arguments import Bools, Floats


@njit(cache=True)
def wet_days(chance: Floats, was_wet: Bools, after_dry: Floats, after_wet: Floats) -> Bools:
    """Wet days (draws, days): uniform `chance` below that after a dry or a wet day."""
    wet = np.empty(chance.shape, np.bool_)
    for draw in range(chance.shape[0]):
        state = was_wet[draw]
        for day in range(chance.shape[1]):
            state = chance[draw, day] < (after_wet[day] if state else after_dry[day])
            wet[draw, day] = state
    return wet


@njit(cache=True)
def walk_on(noise: Floats, start: Floats, carry: Floats, root: Floats) -> Floats:
    """Walk z[t] = carry[t] z[t−1] + root[t] noise[t] of two numbers, (draws, days, 2)."""
    walk = np.empty_like(noise)
    for draw in range(noise.shape[0]):
        a, b = start[draw, 0], start[draw, 1]
        for day in range(noise.shape[1]):
            e, f = noise[draw, day, 0], noise[draw, day, 1]
            c, r = carry[day], root[day]
            a, b = (
                c[0, 0] * a + c[0, 1] * b + r[0, 0] * e + r[0, 1] * f,
                c[1, 0] * a + c[1, 1] * b + r[1, 0] * e + r[1, 1] * f,
            )
            walk[draw, day, 0], walk[draw, day, 1] = a, b
    return walk


@njit(cache=True)
def drift_on(noise: Floats, start: Floats, memory: float) -> Floats:
    """Walk of one number with variance 1, (draws, days)."""
    drift = np.empty_like(noise)
    size = np.sqrt(1.0 - memory**2)
    for draw in range(noise.shape[0]):
        a = start[draw]
        for day in range(noise.shape[1]):
            a = memory * a + size * noise[draw, day]
            drift[draw, day] = a
    return drift
