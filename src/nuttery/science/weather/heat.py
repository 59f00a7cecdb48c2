"""Heat by the hour: growing degree hours in three published forms."""

import numpy as np
from numpy.typing import ArrayLike

from nuttery.science.arguments import Floats, one_of
from nuttery.science.errors import BadArgumentError
from nuttery.science.weather.believable import air_temps


def growing_degree_hours(
    temps: ArrayLike,
    base: float = 4.0,
    optimum: float = 25.0,
    critical: float = 36.0,
    *,
    method: str = "asymcur",
) -> Floats:
    """Running total of growing degree hours.

    Parameters
    ----------
    temps : (n_hours,) °C
    base, optimum, critical : °C, rising; no heat at or below `base`, most at `optimum`, none at
        or above `critical`
    method : "asymcur" two cosine branches; "plateau" straight to the optimum and level from there
        to the critical temperature; "linear" straight to the optimum and level above it
        (`critical` unused; published with base 4.5)

    Returns
    -------
    (n_hours,) float, °C h

    Raises
    ------
    BadArgumentError
        On a gap or an impossible temperature, an unknown method, or thresholds that do not rise.

    Notes
    -----
    Source: "asymcur" Anderson, Richardson & Kesner 1986, Acta Hort. 184:71-78, stress factor 1
        (thresholds secondary source, formula from memory); "plateau" Anderson & Seeley 1992
        (secondary source); "linear" Richardson et al. 1975 (from memory).
    Valid:  hourly temperatures.
    Limits: totals from hours rebuilt out of daily extremes run 6 to 9 % high. A requirement
        published with one method cannot be used with another.

    Examples
    --------
    >>> growing_degree_hours([4.0, 14.5, 25.0, 36.0])
    array([ 0. , 10.5, 31.5, 31.5])
    >>> growing_degree_hours([4.0, 14.5, 30.0, 36.0], method="plateau")
    array([ 0. , 10.5, 31.5, 31.5])
    """
    hours = air_temps("temps", temps, ndim=1)
    if not base < optimum < critical:
        raise BadArgumentError(
            f"base, optimum, critical: found {base:g}, {optimum:g}, {critical:g}, "
            "expected rising temperatures"
        )
    if one_of("method", method, ("asymcur", "plateau", "linear")) == "asymcur":
        return np.cumsum(_asymcur(hours, base, optimum, critical))
    level = np.clip(hours, base, optimum) - base
    if method == "plateau":
        level[hours >= critical] = 0.0
    return np.cumsum(level)


def _asymcur(hours: Floats, base: float, optimum: float, critical: float) -> Floats:
    reach = optimum - base
    rising = reach / 2 * (1 + np.cos(np.pi + np.pi * (hours - base) / reach))
    falling = reach * (1 + np.cos(np.pi / 2 * (1 + (hours - optimum) / (critical - optimum))))
    level = np.where(hours <= optimum, rising, falling)
    return np.where((hours > base) & (hours < critical), level, 0.0)
