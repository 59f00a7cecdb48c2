"""Hourly temperatures from daily extremes, and daily extremes from hours."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nuttery.science.arguments import (
    Bools,
    Days,
    Floats,
    Ints,
    float_array,
    refuse_where,
    same_length,
)
from nuttery.science.errors import BadArgumentError, OutOfRangeError
from nuttery.science.weather.calendar import day_array, days_of_year
from nuttery.science.weather.daylight import day_length

LONGEST_DAY = 23.0


def hourly_from_daily(
    tmin: ArrayLike,
    tmax: ArrayLike,
    dates: ArrayLike,
    latitude: float,
    *,
    model: str = "fao56",
) -> Floats:
    """Temperatures at the hours 0 to 23 of each day, from its extremes and those of its neighbours.

    Parameters
    ----------
    tmin, tmax : (n_days,) °C
    dates : (n_days,) consecutive days
    latitude : degrees north
    model : day length model, as in `day_length`

    Returns
    -------
    (n_days, 24) float, °C, by local solar time (noon when the sun is highest)

    Raises
    ------
    BadArgumentError
        On a gap, crossed extremes, or days left out.
    OutOfRangeError
        Where the sun does not both rise and set, or shines 23 hours or more.

    Notes
    -----
    Source: Linvill 1990, HortScience 25:14-16 (from memory): a sine by day, a logarithmic fall
        from sunset to the next minimum by night.
    Valid:  days of less than 23 h; clear, calm weather best.
    Limits: against true hours at two stations in British Columbia, January to June: root mean
        square error 2.0 °C; chill portions within 2 %, growing degree hours 6 to 9 % high,
        chilling hours 6 to 9 % low. Before the first sunrise the first day stands in for the day
        before it; after the last sunset the last minimum stands in for the next.

    Examples
    --------
    >>> hours = hourly_from_daily([-4, -2], [12, 12], ["2026-03-21", "2026-03-22"], 0.0)
    >>> hours[0, [6, 10, 14, 18]].round(1)
    array([-4. ,  7.3, 12. ,  7.3])
    """
    low, high = float_array("tmin", tmin, ndim=1), float_array("tmax", tmax, ndim=1)
    days = day_array("dates", dates, consecutive=True)
    same_length(tmin=low, tmax=high, dates=days)
    refuse_where("tmin", low, low > high, "at most tmax of the same day")
    if low.size == 0:
        return np.empty((0, 24))
    light = day_length(latitude, days_of_year(days), model)
    if light.max() >= LONGEST_DAY:
        first = int(np.argmax(light >= LONGEST_DAY))
        raise OutOfRangeError(
            f"dates[{first}]: found a day of {light[first]:.1f} h, expected less than 23 h"
        )
    return linvill_curve(low, high, light)


def linvill_curve(tmin: Floats, tmax: Floats, light: Floats) -> Floats:
    """Linvill's curve for days of known length, unchecked; see `hourly_from_daily`.

    Parameters
    ----------
    tmin, tmax : (n_days,) °C
    light : (n_days,) hours of day

    Returns
    -------
    (n_days, 24) float, °C
    """
    hour = np.arange(24.0)
    rise, dark = (12 - light / 2)[:, None], (12 + light / 2)[:, None]
    by_day = tmin[:, None] + (tmax - tmin)[:, None] * np.sin(
        np.pi * (hour - rise) / (light[:, None] + 4)
    )
    dusk = tmin + (tmax - tmin) * np.sin(np.pi * light / (light + 4))
    tonight = _night(dusk, np.append(tmin[1:], tmin[-1]), light, hour - dark)
    last_night = _night(
        np.insert(dusk[:-1], 0, dusk[0]),
        tmin,
        np.insert(light[:-1], 0, light[0]),
        hour + 24 - np.insert(dark[:-1, 0], 0, dark[0, 0])[:, None],
    )
    return np.where(hour < rise, last_night, np.where(hour > dark, tonight, by_day))


def _night(dusk: Floats, dawn: Floats, light: Floats, since: Floats) -> Floats:
    """Temperature some hours after sunset; the first hour keeps that of dusk."""
    fall = np.log(np.maximum(since, 1.0)) / np.log(24 - light)[:, None]
    return dusk[:, None] - (dusk - dawn)[:, None] * fall


@dataclass(frozen=True)
class DailyWeather:
    """Days made from hours.

    Attributes
    ----------
    dates : (n_days,) every day from the first to the last hour
    tmin, tmax, tmean : (n_days,) °C, NaN on days with too few hours
    hours : (n_days,) int, different hours of the day with a reading
    enough : (n_days,) bool
    """

    dates: Days
    tmin: Floats
    tmax: Floats
    tmean: Floats
    hours: Ints
    enough: Bools


def daily_from_hourly(times: ArrayLike, temps: ArrayLike, *, min_hours: int = 20) -> DailyWeather:
    """Daily extremes and means, only of days with enough hours.

    Parameters
    ----------
    times : (n,) datetime64 in local standard time, any order; several readings an hour are allowed
    temps : (n,) °C, NaN where missing
    min_hours : hours of a day that must have a reading

    Returns
    -------
    DailyWeather

    Raises
    ------
    BadArgumentError
        On lengths that differ, a time that is none, or `min_hours` outside 1 to 24.

    Notes
    -----
    Source: definition; 20 of 24 hours by default. Assumed.
    Valid:  readings in one time zone without daylight saving.
    Limits: extremes of readings on the hour are a few tenths of a degree tamer than those of a
        maximum and minimum thermometer. The mean is that of the hours, not of the two extremes.

    Examples
    --------
    >>> times = np.datetime64("2026-04-01T00") + np.arange(30)
    >>> day = daily_from_hourly(times, np.arange(30.0))
    >>> day.tmax, day.hours
    (array([23., nan]), array([24,  6]))
    """
    when = _times("times", times)
    values = float_array("temps", temps, ndim=1, nan=True)
    same_length(times=when, temps=values)
    if not 1 <= min_hours <= 24:
        raise BadArgumentError(f"min_hours: found {min_hours}, expected 1 to 24")
    when, values = when[~np.isnan(values)], values[~np.isnan(values)]
    if values.size == 0:
        none = np.empty(0)
        days = np.empty(0, "datetime64[D]")
        return DailyWeather(days, none, none, none, np.empty(0, np.int64), np.empty(0, bool))
    return _by_day(when, values, min_hours)


def _times(name: str, times: ArrayLike) -> Days:
    when = np.asarray(times, dtype="datetime64[s]")
    refuse_where(name, when, np.isnat(when), "a time")
    return when


def _by_day(when: Days, values: Floats, min_hours: int) -> DailyWeather:
    hour = when.astype("datetime64[h]").astype(np.int64)
    first = hour.min() // 24
    slots = int(hour.max() // 24 - first + 1) * 24
    slot = hour - first * 24
    low, high, total = np.full(slots, np.inf), np.full(slots, -np.inf), np.zeros(slots)
    np.minimum.at(low, slot, values)
    np.maximum.at(high, slot, values)
    np.add.at(total, slot, values)
    count = np.bincount(slot, minlength=slots)
    hours = (count > 0).reshape(-1, 24).sum(axis=1)
    enough = hours >= min_hours
    # Each hour weighs the same, however many readings it had.
    mean = (total / np.maximum(count, 1)).reshape(-1, 24).sum(axis=1) / np.maximum(hours, 1)
    days = first.astype("datetime64[D]") + np.arange(len(hours))
    tmin, tmax = low.reshape(-1, 24).min(axis=1), high.reshape(-1, 24).max(axis=1)
    tmin, tmax, mean = (np.where(enough, a, np.nan) for a in (tmin, tmax, mean))
    return DailyWeather(days, tmin, tmax, mean, hours.astype(np.int64), enough)
