"""Clock times of sunrise, noon and sunset."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nuttery.science.arguments import Days, Floats, float_array
from nuttery.science.errors import BadArgumentError, OutOfRangeError
from nuttery.science.weather.calendar import day_array, days_of_year

ZENITH = 90.833


@dataclass(frozen=True)
class SunTimes:
    """Sun times of days, in hours after midnight of standard time.

    Attributes
    ----------
    dates : (n_days,)
    sunrise, noon, sunset : (n_days,) hours
    """

    dates: Days
    sunrise: Floats
    noon: Floats
    sunset: Floats


def sun_times(
    latitude: float, longitude: float, dates: ArrayLike, *, utc_offset: float = 0.0
) -> SunTimes:
    """Sunrise, noon and sunset by the clock.

    Parameters
    ----------
    latitude, longitude : degrees north and east
    dates : (n_days,) rising
    utc_offset : hours that standard time is ahead of UTC (−7 for mountain time)

    Returns
    -------
    SunTimes

    Raises
    ------
    BadArgumentError
        On a place off the globe or an offset beyond ±15 h.
    OutOfRangeError
        On a day on which the sun does not both rise and set.

    Notes
    -----
    Source: NOAA's low-precision solar equations (Fourier series of Spencer 1971), sunrise with the
        upper limb and refraction (zenith 90.833°). From memory, confirmed by almanac times.
    Valid:  1901 to 2099, flat horizon.
    Limits: within 2 minutes of almanacs at 39° N, 3.1 at 46° N. Hourly curves from
        daily extremes run by solar time: add `noon` − 12 to turn their hours into clock hours.

    Examples
    --------
    >>> times = sun_times(39.742476, -105.1786, ["2015-01-02"], utc_offset=-7)
    >>> times.sunrise.round(2), times.sunset.round(2)
    (array([7.36]), array([16.78]))
    """
    north = float(float_array("latitude", latitude, ndim=0, low=-90.0, high=90.0))
    east = float(float_array("longitude", longitude, ndim=0, low=-180.0, high=180.0))
    if not -15 <= utc_offset <= 15:
        raise BadArgumentError(f"utc_offset: found {utc_offset:g}, expected -15 to 15 hours")
    days = day_array("dates", dates)
    # The series is taken at local noon, which is later in universal time in the west.
    turn: Floats = np.multiply(2 * np.pi / 365, days_of_year(days) - 1 - east / 360)
    half = _half_day(north, _declination(turn), days)
    noon = 12 + utc_offset - east / 15 - _equation_of_time(turn) / 60
    return SunTimes(days, noon - half, noon, noon + half)


def _declination(turn: Floats) -> Floats:
    series: Floats = (
        0.006918
        - 0.399912 * np.cos(turn)
        + 0.070257 * np.sin(turn)
        - 0.006758 * np.cos(2 * turn)
        + 0.000907 * np.sin(2 * turn)
        - 0.002697 * np.cos(3 * turn)
        + 0.00148 * np.sin(3 * turn)
    )
    return series


def _equation_of_time(turn: Floats) -> Floats:
    """Minutes that the sun is ahead of the mean sun."""
    minutes: Floats = 229.18 * (
        0.000075
        + 0.001868 * np.cos(turn)
        - 0.032077 * np.sin(turn)
        - 0.014615 * np.cos(2 * turn)
        - 0.040849 * np.sin(2 * turn)
    )
    return minutes


def _half_day(latitude: float, declination: Floats, days: Days) -> Floats:
    north = np.radians(latitude)
    cosine = np.cos(np.radians(ZENITH)) / (np.cos(north) * np.cos(declination))
    cosine = cosine - np.tan(north) * np.tan(declination)
    polar = np.abs(cosine) >= 1
    if polar.any():
        first = int(np.argmax(polar))
        raise OutOfRangeError(
            f"dates[{first}]: found {days[first]} at latitude {latitude:g}°; "
            "expected a day on which the sun both rises and sets"
        )
    hours: Floats = np.degrees(np.arccos(cosine)) / 15
    return hours
