"""Weather files and typed forecasts into the register: read by content, told plainly, kept once."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np

from nuttery.exchange import WeatherRecord, read_weather
from nuttery.science.arguments import Floats
from nuttery.science.weather import daily_from_hourly
from nuttery.season.errors import WrongQuestion
from nuttery.season.planting import Planting
from nuttery.season.weather_sources import FORECAST

FROM_HOURS = ", days from its hours"
_LAST = 999


@dataclass(frozen=True)
class WeatherKept:
    """What a weather file brought.

    Attributes
    ----------
    source : name under which it is kept
    told : what was read, from when to when, gaps, and what was dropped and why
    added, already : days or hours new to the register, and those it held
    """

    source: str
    told: tuple[str, ...]
    added: int
    already: int


@dataclass(frozen=True)
class _Days:
    """Daily weather as the register takes it."""

    time: np.ndarray
    tmin: Floats
    tmax: Floats
    rain: Floats
    utc_offset: float | None = None
    latitude: float | None = None
    longitude: float | None = None
    elevation: float | None = None
    resolution: str = "daily"


def import_weather_file(
    planting: Planting, file: Path, *, source: str | None = None, trust: int | None = None
) -> WeatherKept:
    """Read a weather file and keep what it holds; hours also as days where there are enough.

    Raises
    ------
    WrongQuestion
        If it is a typical year, which is no record of any.
    ValueError
        If the file is damaged or of no known format, with line, column, found and expected; or if
        it contradicts what the same source said before. Nothing is kept then.
    """
    found = read_weather(file)
    if found.typical:
        raise WrongQuestion(
            f"{file.name}: found a typical year, its months taken from different years; expected "
            "weather as it was read. It is no record of any year, so nothing was kept"
        )
    name = source or str(found.station or file.stem)
    if name == FORECAST:
        raise WrongQuestion(f"source: {FORECAST!r} is the name of forecasts; give another name")
    kept = planting.register.keep_weather(
        found, planting=planting.about.planting, source=name, trust=trust
    )
    told = tuple(found.told)
    if found.resolution == "hourly":
        told = (*told, _keep_days(planting, found, name + FROM_HOURS, trust))
    return WeatherKept(name, told, kept.added, kept.already)


def _keep_days(planting: Planting, found: WeatherRecord, name: str, trust: int | None) -> str:
    """Keep the daily extremes of hours under a name of their own; say how many there were."""
    zone = planting.about.time_zone
    shift = 0.0
    if found.utc_offset is not None:
        shift = _standard_offset(zone, int(str(found.time[-1])[:4])) - found.utc_offset
    local = found.time.astype("datetime64[s]") + np.timedelta64(round(shift * 3600), "s")
    days = daily_from_hourly(local, found.temp)
    if not days.enough.any():
        return "No day has enough hours (20 of 24) to give its extremes."
    rain = _daily_rain(local, found.rain, days.dates)
    whole = days.enough
    record = _Days(
        days.dates[whole],
        days.tmin[whole],
        days.tmax[whole],
        rain[whole],
        latitude=found.latitude,
        longitude=found.longitude,
        elevation=found.elevation,
    )
    planting.register.keep_weather(
        record, planting=planting.about.planting, source=name, trust=trust, replace=True
    )
    left = int((~whole).sum())
    return (
        f"{int(whole.sum())} days have enough hours for their extremes, by local standard time, "
        f"kept as {name!r}; {left} have too few and are left out."
    )


def _standard_offset(zone: str, year: int) -> float:
    """Hours that the zone's standard time is ahead of UTC: the smaller of winter's and summer's."""
    offsets = (datetime(year, month, 1, tzinfo=ZoneInfo(zone)).utcoffset() for month in (1, 7))
    return min((o or timedelta()).total_seconds() / 3600 for o in offsets)


def _daily_rain(local: np.ndarray, rain: Floats, dates: np.ndarray) -> Floats:
    """Sums of days on which at least 20 hours tell of rain, else NaN."""
    told = ~np.isnan(rain)
    place = (local.astype("datetime64[D]") - dates[0]).astype(int)
    total = np.bincount(place[told], rain[told], minlength=len(dates))
    hours = np.bincount(place[told], minlength=len(dates))
    return np.where(hours >= 20, total, np.nan)


def keep_forecast(
    planting: Planting, low: Sequence[float], high: Sequence[float], first: date | None = None
) -> WeatherKept:
    """Keep a forecast of the next days' extremes; a newer one takes the place of an older.

    Parameters
    ----------
    planting : the planting as of a day
    low, high : °C, of consecutive days
    first : the first of them; the day after the planting's day by default

    Raises
    ------
    WrongQuestion
        If there are not as many of each, none, or a minimum above its maximum.
    """
    if not low or len(low) != len(high):
        raise WrongQuestion(
            f"found {len(low)} lows and {len(high)} highs, expected one of each a day"
        )
    for k, (night, day) in enumerate(zip(low, high, strict=True)):
        if not night <= day:
            raise WrongQuestion(f"day {k + 1}: found a low of {night:g} °C above its high, {day:g}")
    begin = np.datetime64(first or planting.on + timedelta(days=1))
    days = begin + np.arange(len(low))
    record = _Days(days, np.array(low), np.array(high), np.full(len(low), np.nan))
    kept = planting.register.keep_weather(
        record, planting=planting.about.planting, source=FORECAST, trust=_LAST, replace=True
    )
    told = (f"A forecast of {len(low)} days from {begin}, as the first days of every future.",)
    return WeatherKept(FORECAST, told, kept.added + kept.changed, kept.already)
