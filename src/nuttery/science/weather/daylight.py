"""Length of the day, by two published models."""

import numpy as np
from numpy.typing import ArrayLike

from nuttery.science.arguments import Bools, Floats, float_array, one_of
from nuttery.science.errors import OutOfRangeError


def day_length(
    latitude: ArrayLike, day_of_year: ArrayLike, model: str = "fao56", *, depression: float = 0.8333
) -> Floats:
    """Hours from sunrise to sunset.

    Parameters
    ----------
    latitude : float or (n_days,), degrees north
    day_of_year : (n_days,) 1 on 1 January
    model : "fao56" (the sun's centre, no refraction) or "cbm" (by default upper limb with
        refraction, as in almanacs)
    depression : degrees of the sun's centre below the horizon at sunrise, "cbm" only: 0.8333
        almanac, 0.26667 top of the disc, 0 centre, 6 civil twilight

    Returns
    -------
    (n_days,) float, hours

    Raises
    ------
    OutOfRangeError
        On a day on which the sun does not both rise and set; nothing is clipped.
    BadArgumentError
        On a latitude beyond the poles, a day outside 1 to 366, or an unknown model.

    Notes
    -----
    Source: Allen et al. 1998, FAO Irrigation and Drainage Paper 56, eq. 24, 25, 34 (published);
        Forsythe et al. 1995, Ecol. Model. 80:87-95 (from memory, confirmed by almanac times).
    Valid:  any place and day on which the sun rises and sets.
    Limits: against almanac times at 46° N "cbm" is within 0.09 h; the FAO day is 0.17 to 0.30 h
        shorter (no refraction, and one sine for the sun's declination, worst in October).

    Examples
    --------
    >>> day_length(46.1, [80, 172]).round(2)
    array([11.96, 15.57])
    >>> day_length(46.1, [80, 172], model="cbm").round(2)
    array([12.15, 15.77])
    """
    north = float_array("latitude", latitude, low=-90.0, high=90.0)
    day = float_array("day_of_year", day_of_year, low=1.0, high=366.0)
    if one_of("model", model, ("fao56", "cbm")) == "fao56":
        return day_length_fao56(north, day)
    return day_length_cbm(north, day, depression)


def day_length_fao56(latitude: Floats, day_of_year: Floats) -> Floats:
    """Day length for the sun's centre and without refraction; see `day_length`."""
    declination = 0.409 * np.sin(2 * np.pi / 365 * day_of_year - 1.39)
    cos_sunset = -np.tan(np.radians(latitude)) * np.tan(declination)
    _refuse_polar(cos_sunset, latitude, day_of_year)
    hours: Floats = 24 / np.pi * np.arccos(cos_sunset)
    return hours


def day_length_cbm(latitude: Floats, day_of_year: Floats, depression: float = 0.8333) -> Floats:
    """Day length by the model of Forsythe et al. 1995; see `day_length`."""
    turn = 0.2163108 + 2 * np.arctan(0.9671396 * np.tan(0.00860 * (day_of_year - 186)))
    declination = np.arcsin(0.39795 * np.cos(turn))
    north = np.radians(latitude)
    reach = np.sin(np.radians(depression)) + np.sin(north) * np.sin(declination)
    cos_rise = reach / (np.cos(north) * np.cos(declination))
    _refuse_polar(cos_rise, latitude, day_of_year)
    hours: Floats = 24 - 24 / np.pi * np.arccos(cos_rise)
    return hours


def _refuse_polar(cosine: Floats, latitude: Floats, day: Floats) -> None:
    polar: Bools = np.abs(cosine) >= 1
    if not polar.any():
        return
    first = int(np.argmax(polar))
    where, when = (np.broadcast_to(a, polar.shape).flat[first] for a in (latitude, day))
    raise OutOfRangeError(
        f"day_of_year[{first}]: found latitude {where:g}° on day {when:g}; "
        "expected a day on which the sun both rises and sets"
    )
