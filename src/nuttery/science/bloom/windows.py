"""When a shrub sheds pollen and when its stigmas are out, day by day, over all futures."""

from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import ArrayLike

from nuttery.science.arguments import Floats, int_array
from nuttery.science.bloom.forecast import Draws, StageDates


@dataclass(frozen=True)
class Windows:
    """Curves for `nuttery.science.pollen.pollen_cover`, averaged over the futures.

    Attributes
    ----------
    days : (n_days,) int, days of year
    shed : (n, n_days) float, 0 to 1, share of the catkins that shed
    receptive : (n, n_days) float, 0 to 1, chance that stigmas are out and not withered
    """

    days: Floats
    shed: Floats
    receptive: Floats


@njit(cache=True)
def _rise_and_fall(begin: Draws, peak: Draws, end: Draws, days: Floats) -> Floats:
    n, n_draws = begin.shape
    curve: Floats = np.zeros((n, len(days)))
    for i in range(n):
        for f in range(n_draws):
            for t in range(len(days)):
                day = days[t]
                if begin[i, f] < day <= peak[i, f]:
                    up = peak[i, f] - begin[i, f]
                    curve[i, t] += 1.0 if np.isinf(up) else (day - begin[i, f]) / up
                elif peak[i, f] < day < end[i, f]:
                    down = end[i, f] - peak[i, f]
                    curve[i, t] += 1.0 if np.isinf(down) else (end[i, f] - day) / down
    curve /= n_draws
    return curve


@njit(cache=True)
def _between(begin: Draws, end: Draws, days: Floats) -> Floats:
    n, n_draws = begin.shape
    curve: Floats = np.zeros((n, len(days)))
    for i in range(n):
        for f in range(n_draws):
            for t in range(len(days)):
                if begin[i, f] <= days[t] < end[i, f]:
                    curve[i, t] += 1.0
    curve /= n_draws
    return curve


def bloom_windows(dates: StageDates, days: ArrayLike) -> Windows:
    """Daily curves of shedding and of receptive stigmas, with all uncertainty averaged in.

    Parameters
    ----------
    dates : StageDates, with catkin stages 60, 65 and 69 and pistillate flowers out and withered
    days : (n_days,) int, days of year

    Returns
    -------
    Windows

    Raises
    ------
    BadArgumentError
        If one of those stages was not asked for.

    Notes
    -----
    Source: shedding rises in proportion from stage 60 (first catkins) to 65 (half) and falls to 69
            (nearly all withered); stigmas take pollen from out to withered, also late ones
            (Thompson, as told by growers' newsletter 2003). The straight lines are assumed.
    Valid:  futures whose stages are in order, as `window_dates` makes them.
    Limits: the mean of curves is lower and wider than any one year's curve.

    Examples
    --------
    >>> names = ("catkin_60", "catkin_65", "catkin_69", "pistillate_out", "pistillate_withered")
    >>> draws = np.array([[[100.0], [104], [112], [98], [120]]], dtype=np.float32)
    >>> windows = bloom_windows(StageDates(names, draws, 150), [97, 102, 104, 108, 115])
    >>> windows.shed, windows.receptive
    (array([[0. , 0.5, 1. , 0.5, 0. ]]), array([[0., 1., 1., 1., 1.]]))
    """
    grid = int_array("days", days, ndim=1).astype(np.float64)
    catkins = [dates.of(stage) for stage in ("catkin_60", "catkin_65", "catkin_69")]
    flowers = [dates.of(stage) for stage in ("pistillate_out", "pistillate_withered")]
    return Windows(grid, _rise_and_fall(*catkins, grid), _between(*flowers, grid))
