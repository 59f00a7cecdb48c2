"""Winter chill from hourly temperatures: chilling hours, Utah units, chill portions."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nuttery.science.arguments import Floats, float_array, one_of
from nuttery.science.errors import BadArgumentError
from nuttery.science.weather.believable import air_temps

UTAH_WEIGHTS = np.array([0.0, 0.5, 1.0, 0.5, 0.0, -0.5, -1.0])
UTAH_EDGES_CELSIUS = np.array([1.4, 2.4, 9.1, 12.4, 15.9, 18.0])
UTAH_EDGES_FAHRENHEIT = np.array([34.0, 36.0, 48.0, 54.0, 60.0, 65.0])


def chill_hours(temps: ArrayLike, low: float = 0.0, high: float = 7.2) -> Floats:
    """Running number of hours with a temperature from `low` to `high`, both included.

    Parameters
    ----------
    temps : (n_hours,) °C
    low : °C; -inf gives the older count of all hours at or below `high`
    high : °C

    Returns
    -------
    (n_hours,) float, hours

    Raises
    ------
    BadArgumentError
        On a gap, a text or an impossible value among the temperatures, or `low` above `high`.

    Notes
    -----
    Source: Weinberger 1950 (all hours at or below 7.2 °C); the window 0 to 7.2 °C is credited to
        Bennett 1949 and Weinberger 1950. Secondary source.
    Valid:  hourly means or readings on the hour.
    Limits: in a cold winter the two variants differ by the hours of frost, often most hours; keep
        the variant beside every total.

    Examples
    --------
    >>> chill_hours([-0.1, 0.0, 7.2, 7.3])
    array([0., 1., 2., 2.])
    >>> chill_hours([-0.1, 0.0, 7.2, 7.3], low=-np.inf)
    array([1., 2., 3., 3.])
    """
    hours = air_temps("temps", temps, ndim=1)
    if not low <= high:
        raise BadArgumentError(f"low: found {low} with high {high}, expected low at most high")
    return np.cumsum((hours >= low) & (hours <= high)).astype(np.float64)


def utah_units(temps: ArrayLike, classes: str = "celsius") -> Floats:
    """Running total of Utah chill units; warm hours take units away.

    Parameters
    ----------
    temps : (n_hours,) °C
    classes : "celsius" for the rounded classes in common use (edges 1.4, 2.4, 9.1, 12.4, 15.9,
        18 °C), "fahrenheit" for the classes as published (34, 36, 48, 54, 60, 65 °F). A class
        holds its upper edge and not its lower one, so no temperature falls between two.

    Returns
    -------
    (n_hours,) float, chill units, from the first hour given

    Raises
    ------
    BadArgumentError
        On a gap or an impossible value among the temperatures, or an unknown class table.

    Notes
    -----
    Source: Richardson, Seeley & Walker 1974, HortScience 9:331-332; both class tables as restated
        later. Secondary source.
    Valid:  hourly temperatures of autumn, winter and spring.
    Limits: the two tables are not exact conversions of each other. By convention counting starts
        at the lowest running total of autumn: see `utah_start`.

    Examples
    --------
    >>> utah_units([1.0, 2.0, 5.0, 9.5, 14.0, 17.0, 20.0])
    array([0. , 0.5, 1.5, 2. , 2. , 1.5, 0.5])
    """
    hours = air_temps("temps", temps, ndim=1)
    if one_of("classes", classes, ("celsius", "fahrenheit")) == "celsius":
        place = np.digitize(hours, UTAH_EDGES_CELSIUS, right=True)
    else:
        # Rounded, because 36 °F turned to °C and back would else fall into the next class.
        place = np.digitize(np.round(hours * 1.8 + 32, 9), UTAH_EDGES_FAHRENHEIT, right=True)
    return np.cumsum(UTAH_WEIGHTS[place])


def utah_start(units: ArrayLike) -> int:
    """Index of the first hour that counts: the one after the lowest running total.

    Parameters
    ----------
    units : (n_hours,) running total of Utah units from late summer to winter

    Returns
    -------
    int, 0 where the total never falls below zero

    Raises
    ------
    BadArgumentError
        On a gap.

    Notes
    -----
    Source: convention of Richardson, Seeley & Walker 1974. From memory.
    Valid:  a total that begins before the last warm days of autumn.
    Limits: none for a single winter; do not give several winters at once.

    Examples
    --------
    >>> utah_start(utah_units([20.0, 20.0, 5.0, 5.0]))
    2
    """
    total = float_array("units", units, ndim=1)
    if total.size == 0 or total.min() >= 0:
        return 0
    return int(np.flatnonzero(total == total.min())[-1]) + 1


@dataclass(frozen=True)
class ChillState:
    """What the Dynamic Model carries from one hour to the next.

    Attributes
    ----------
    intermediate : amount of the intermediate product at the start of the next hour
    portions : chill portions so far
    """

    intermediate: float = 0.0
    portions: float = 0.0


@dataclass(frozen=True)
class ChillRun:
    """Running chill portions and the state after the last hour."""

    portions: Floats
    state: ChillState


def chill_portions(temps: ArrayLike) -> Floats:
    """Running total of chill portions by the Dynamic Model.

    Parameters
    ----------
    temps : (n_hours,) °C, without gaps

    Returns
    -------
    (n_hours,) float, chill portions, from an empty state before the first hour

    Raises
    ------
    BadArgumentError
        On a gap, or a temperature outside -90 to 60 °C.

    Notes
    -----
    Source: Fishman, Erez & Couvillon 1987, J. Theor. Biol. 124:473 and 126:309; Erez et al. 1990,
        Acta Hort. 276:165. Constants from a secondary source; the recursion is confirmed by the
        totals of Flynn & Wolkovich 2018, table S2.
    Valid:  hourly temperatures; K = °C + 273, as those totals need (273.15 is 2 % too high).
    Limits: made for peach. Constant 13 °C or more never makes a portion. Rebuilt hours (from daily
        extremes) give totals within about 2 %.

    Examples
    --------
    >>> chill_portions(np.full(1248, 4.0))[-1].round(2)
    np.float64(37.43)
    """
    return continue_chill(temps, ChillState()).portions


def continue_chill(temps: ArrayLike, state: ChillState) -> ChillRun:
    """Chill portions of further hours, taken up where an earlier run ended.

    Parameters
    ----------
    temps : (n_hours,) °C, the hours right after those of `state`
    state : as `ChillRun.state` of the earlier run; `ChillState()` at the start

    Returns
    -------
    ChillRun with `.portions (n_hours,)`, the running total since the first run, and `.state`

    Raises
    ------
    BadArgumentError
        As `chill_portions`.

    Notes
    -----
    Source: as `chill_portions`.
    Valid:  as `chill_portions`.
    Limits: an unfinished portion is carried over year's end and over any split of the record.

    Examples
    --------
    >>> autumn = continue_chill(np.full(600, 4.0), ChillState())
    >>> winter = continue_chill(np.full(648, 4.0), autumn.state)
    >>> bool(winter.portions[-1] == chill_portions(np.full(1248, 4.0))[-1])
    True
    """
    # Late, because the compiler takes a fifth of a second to import.
    from nuttery.science.weather.dynamic_model import run

    hours = np.ascontiguousarray(air_temps("temps", temps, ndim=1))
    portions = np.empty_like(hours)
    left, total = run(hours, state.intermediate, state.portions, portions)
    return ChillRun(portions, ChillState(float(left), float(total)))
