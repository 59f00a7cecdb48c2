"""Loop of the Dynamic Model over the hours, compiled."""

import numpy as np
from numba import njit

from nuttery.science.arguments import Floats


@njit(cache=True)
def run(temps: Floats, start: float, total: float, portions: Floats) -> tuple[float, float]:
    """Fill `portions` with the running total; the state after the last hour is returned.

    Constants and recursion: see `chill_portions`.
    """
    e0, e1, a0, a1 = 4153.5, 12888.8, 139500.0, 2.567e18
    slope, switch = 1.6, 277.0
    left = start
    for hour in range(temps.size):
        kelvin = temps[hour] + 273.0
        steady = a0 / a1 * np.exp((e1 - e0) / kelvin)
        decay = np.exp(-a1 * np.exp(-e1 / kelvin))
        left = steady - (steady - left) * decay
        if left >= 1.0:
            share = 1.0 / (1.0 + np.exp(-slope * switch * (kelvin - switch) / kelvin))
            total += left * share
            left *= 1.0 - share
        portions[hour] = total
    return left, total
