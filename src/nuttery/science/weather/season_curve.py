"""Smooth daily curves through a year whose monthly averages are the given ones."""

from functools import cache

import numpy as np

from nuttery.science.arguments import Days, Floats, Ints
from nuttery.science.weather.calendar import months_of

LEAP_YEAR = np.datetime64("2004-01-01", "D")
MONTH_OF_DAY: Ints = months_of(LEAP_YEAR + np.arange(366))
FEBRUARY_29 = 59


def place_in_year(dates: Days) -> Ints:
    """Index 0 to 365 of each date in a year that has a 29 February.

    Examples
    --------
    >>> place_in_year(np.array(["2026-02-28", "2026-03-01"], "datetime64[D]"))
    array([58, 60])
    """
    first = dates.astype("datetime64[Y]")
    doy = (dates - first).astype(np.int64)
    leap = (first + 1).astype("datetime64[D]") - first.astype("datetime64[D]")
    common = leap.astype(np.int64) == 365
    place: Ints = doy + (common & (doy >= FEBRUARY_29))
    return place


def month_weights() -> Floats:
    """Share of each of 366 days in the average of its month, (12, 366); 29 February counts ¼."""
    weight = np.zeros((12, 366))
    weight[MONTH_OF_DAY, np.arange(366)] = 1.0
    weight[1, FEBRUARY_29] = 0.25
    shares: Floats = weight / weight.sum(axis=1, keepdims=True)
    return shares


@cache
def _curve_matrix() -> Floats:
    """Daily curve as a matrix over the monthly averages, (366, 12)."""
    from scipy.interpolate import CubicSpline

    weight = month_weights()
    middle = weight @ np.arange(366.0)
    knots = np.append(middle, middle[0] + 366)
    values = np.vstack([np.eye(12), np.eye(12)[0]])
    through_knots: Floats = CubicSpline(knots, values, bc_type="periodic")(np.arange(366.0))
    return through_knots @ np.linalg.inv(weight @ through_knots)


def daily_curve(monthly: Floats) -> Floats:
    """Smooth course of a year with given monthly averages.

    Parameters
    ----------
    monthly : (12, ...) averages of January to December

    Returns
    -------
    (366, ...) values of each day, 29 February included

    Notes
    -----
    Source: periodic cubic spline whose knots solve a 12 × 12 system for the averages. Exact.
    Valid:  any monthly averages.
    Limits: between very unlike months the curve swings a little beyond them.

    Examples
    --------
    >>> curve = daily_curve(np.arange(12.0))
    >>> float(curve[31 : 31 + 28].mean().round(1))
    1.0
    """
    curve: Floats = _curve_matrix() @ monthly
    return curve
