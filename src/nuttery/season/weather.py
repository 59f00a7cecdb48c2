"""The weather record as known on the day, the season so far, and the courses it may still take."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from functools import partial

import numpy as np

from nuttery.science.arguments import Floats, Ints
from nuttery.science.weather import (
    FrostDateSpread,
    WeatherMaker,
    chill_portions,
    fill_gaps,
    frost_date_spread,
    frost_dates,
    growing_degree_days,
    hourly_from_daily,
)
from nuttery.season.errors import NotEnoughKnown
from nuttery.season.estimate import day_told
from nuttery.season.line import Line
from nuttery.season.planting import Planting
from nuttery.season.weather_sources import FORECAST, sources
from nuttery.store import Daily

SEASON_DAYS = 320
"""Days of a season's forecast, from 1 January to the middle of November."""
STALE_DAYS = 7
SPRING = slice(31, 150)
FEW_YEARS_DOUBT = 1.0
"""°C by which a climate of one or two years is unsure; assumed."""
FORECAST_DAYS, FORECAST_SHARED = 10, 0.5
"""Days ahead that a forecast is believed for, and the share of its error that these have in common;
assumed."""


@dataclass(frozen=True)
class Record:
    """Daily weather of every day up to the planting's day, short gaps filled.

    Attributes
    ----------
    dates : (n,) consecutive days
    tmin, tmax : (n,) °C, NaN in long gaps
    rain : (n,) mm, NaN where not read
    filled : (n,) whether either extreme was drawn from its neighbours
    gaps : the long gaps, in words
    """

    dates: np.ndarray
    tmin: Floats
    tmax: Floats
    rain: Floats
    filled: np.ndarray
    gaps: tuple[str, ...]

    @property
    def last(self) -> date:
        """Last day of the record."""
        return date.fromisoformat(str(self.dates[-1]))

    def year(self, year: int) -> tuple[Floats, Floats, Floats]:
        """Minimum, maximum and rain of a calendar year so far, 1 January first."""
        inside = self.dates.astype("datetime64[Y]") == np.datetime64(str(year), "Y")
        return self.tmin[inside], self.tmax[inside], self.rain[inside]

    def whole_years(self, days: int = SEASON_DAYS) -> tuple[int, ...]:
        """Years whose first `days` days are all on record."""
        years = np.unique(self.dates.astype("datetime64[Y]")).astype(int) + 1970
        found = []
        for year in years.tolist():
            low, high, _ = self.year(year)
            if len(low) >= days and not np.isnan(low[:days] + high[:days]).any():
                found.append(year)
        return tuple(found)


def record(planting: Planting) -> Record:
    """Return the daily record of the planting up to its day.

    Raises
    ------
    NotEnoughKnown
        If there is no weather at all.
    """
    found = planting.register.daily(planting.about.planting)
    low, high = _at_planting(planting, found)
    told = (found.time <= np.datetime64(planting.on)) & ~np.isnan(low + high)
    if not told.any():
        raise NotEnoughKnown("no weather is on record; import some: nuttery weather import FILE")
    inside = slice(int(np.argmax(told)), len(told) - int(np.argmax(told[::-1])))
    days = found.time[inside].astype("datetime64[D]")
    filled = fill_gaps(days, low[inside], high[inside])
    rain = np.full(filled.dates.size, np.nan)
    rain[(days - filled.dates[0]).astype(int)] = found.rain[inside]
    return Record(
        filled.dates, filled.tmin, filled.tmax, rain, filled.filled, tuple(map(str, filled.gaps))
    )


def _at_planting(planting: Planting, found: Daily) -> tuple[Floats, Floats]:
    """Extremes with each station's learned difference to the most trusted source taken off.

    What only a forecast tells is no record.
    """
    low, high = found.tmin.copy(), found.tmax.copy()
    if len(found.sources) == 1 and FORECAST not in found.sources:
        return low, high
    known = {source.name: source for source in sources(planting)}
    for column, element, part in ((low, "tmin", "night"), (high, "tmax", "day")):
        for index, name in enumerate(found.sources):
            mine = found.source[element] == index
            if name == FORECAST:
                column[mine] = np.nan
            elif (offset := getattr(known[name], part)).known:
                column[mine] += offset.mean
    return np.minimum(low, high), np.maximum(low, high)


def season_year(on: date) -> int:
    """Year of the harvest that a day looks forward to: after October the next one."""
    return on.year if on.month <= 10 else on.year + 1


def refuse_gaps(known: Record, year: int) -> None:
    """Stop where the season's own days are missing, and say which.

    Raises
    ------
    NotEnoughKnown
        Naming the days.
    """
    low, high, _ = known.year(year)
    missing = np.flatnonzero(np.isnan(low + high))
    if missing.size:
        first = date(year, 1, 1)
        told = ", ".join(day_told(first + timedelta(days=int(k))) for k in missing[:6])
        more = f" and {missing.size - 6} more days" if missing.size > 6 else ""
        raise NotEnoughKnown(f"the weather of {year} has no readings on {told}{more}; import them")


@dataclass(frozen=True)
class Futures:
    """Courses of a season's weather: what was read so far, then what may come.

    Attributes
    ----------
    year : calendar year; column k is day of year 1 + k
    known_days : days from the record, the same in every course
    tmin, tmax : (m, SEASON_DAYS) °C
    resampled, made : how many courses go on as recorded years did, and as made weather does
    """

    year: int
    known_days: int
    tmin: Floats
    tmax: Floats
    resampled: int
    made: int

    @property
    def mean(self) -> Floats:
        """Daily mean, (m, SEASON_DAYS) °C."""
        return (self.tmin + self.tmax) / 2


def futures(planting: Planting, *, draws: int = 100) -> Futures:
    """Courses that this season's weather may take; the same day gives the same courses.

    Half of them go on as recorded years went on from the same day, half as weather made from the
    record's climate, starting from the last day's temperatures.

    Raises
    ------
    NotEnoughKnown
        If days of this season are missing, or no whole year is on record.
    """
    return planting.remembered("futures", partial(_futures, planting, draws), draws=draws)


def _futures(planting: Planting, draws: int) -> Futures:
    known, year = record(planting), season_year(planting.on)
    refuse_gaps(known, year)
    rng = np.random.default_rng(planting.on.toordinal())
    found = courses(known, year, draws, rng)
    return _held_to_forecast(planting, found, rng)


def courses(known: Record, year: int, draws: int, rng: np.random.Generator) -> Futures:
    """Courses that a year's weather may take after the days on record.

    All of them are moved by how unsure a climate of so few years is.

    Raises
    ------
    NotEnoughKnown
        If no whole year is on record.
    """
    years = known.whole_years()
    if not years:
        raise NotEnoughKnown("no whole year of weather is on record; import at least one")
    low, high, _ = known.year(year)
    days = min(len(low), SEASON_DAYS)
    half = draws // 2 if len(years) >= 3 else 0
    then = np.array(
        [known.year(years[k % len(years)])[:2] for k in range(draws - half)], dtype=object
    )
    tmin = np.stack([np.asarray(pair[0][:SEASON_DAYS], dtype=np.float64) for pair in then])
    tmax = np.stack([np.asarray(pair[1][:SEASON_DAYS], dtype=np.float64) for pair in then])
    if half:
        made = _made(known, year, days, half, rng)
        tmin, tmax = np.vstack([tmin, made[0]]), np.vstack([tmax, made[1]])
    moved = _climate_doubt(known, years) * rng.standard_normal((draws, 1))
    tmin, tmax = tmin + moved, tmax + moved
    tmin[:, :days], tmax[:, :days] = low[:days], high[:days]
    return Futures(year, days, tmin, tmax, draws - half, half)


def _climate_doubt(known: Record, years: tuple[int, ...]) -> float:
    """How far, in °C, a season may lie beside what so few years show (standard deviation).

    The mean and the spread of n years are each unsure by the spread over the root of n.
    """
    if len(years) < 3:
        return FEW_YEARS_DOUBT
    springs = [(known.year(y)[0] + known.year(y)[1])[SPRING].mean() / 2 for y in years]
    return float(np.std(springs, ddof=1) * np.sqrt(2 / len(years)))


def _held_to_forecast(planting: Planting, found: Futures, rng: np.random.Generator) -> Futures:
    """The same with the days that a forecast tells, each with the error of its lead."""
    number = planting.about.planting
    if FORECAST not in {source.name for source in planting.register.weather_sources(number)}:
        return found
    told = planting.register.daily(number, FORECAST)
    ahead = (told.time.astype("datetime64[D]") - np.datetime64(f"{found.year}-01-01")).astype(int)
    use = (ahead >= found.known_days) & (ahead < found.known_days + FORECAST_DAYS)
    use &= (ahead < SEASON_DAYS) & ~np.isnan(told.tmin + told.tmax)
    lead = ahead[use] - found.known_days
    first, more = (planting.value(f"forecast.error.{word}").value for word in ("first", "more"))
    error = first + more * lead
    off = rng.standard_normal((len(found.tmin), 1)) * np.sqrt(FORECAST_SHARED)
    off = off + rng.standard_normal((len(found.tmin), lead.size)) * np.sqrt(1 - FORECAST_SHARED)
    found.tmin[:, ahead[use]] = told.tmin[use] + error * off
    found.tmax[:, ahead[use]] = told.tmax[use] + error * off
    return found


def _made(
    known: Record, year: int, days: int, draws: int, rng: np.random.Generator
) -> tuple[Floats, Floats]:
    """Made courses over the whole season; the days already known are overwritten by the caller."""
    rain = np.nan_to_num(known.rain)
    maker = WeatherMaker.fit(known.dates, known.tmin, known.tmax, rain)
    first = np.datetime64(f"{year}-01-01") + days
    coming = np.arange(first, np.datetime64(f"{year}-01-01") + SEASON_DAYS)
    low, high = (np.zeros((draws, SEASON_DAYS)) for _ in range(2))
    if coming.size:
        after = None
        if days and known.dates[-1] == first - 1:
            after = (float(known.tmin[-1]), float(known.tmax[-1]), float(rain[-1]))
        made = maker.futures(coming, draws, rng, after=after)
        low[:, days:], high[:, days:] = made.tmin, made.tmax
    return low, high


@dataclass(frozen=True)
class SoFar:
    """The season so far against the years on record.

    Attributes
    ----------
    on : the day
    last : last day of the record
    heat, heat_years : degree-days above 2 °C (single sine) since 1 January, this year and each
        earlier one to the same day of year
    chill, chill_years : chill portions since 1 October before
    rain, rain_years : mm since 1 January
    years : the earlier years
    spring, autumn : spread of the last spring and first autumn frost of a recent window of years
    threshold : °C that counts as a frost
    filled : days drawn from their neighbours this year
    gaps : long gaps of the record, in words
    sources : where the weather comes from and how the planting's air differs, in words
    """

    on: date
    last: date
    heat: float
    heat_years: Floats
    chill: float
    chill_years: Floats
    rain: float
    rain_years: Floats
    years: tuple[int, ...]
    spring: FrostDateSpread | None
    autumn: FrostDateSpread | None
    threshold: float
    filled: int
    gaps: tuple[str, ...]
    sources: tuple[str, ...] = ()


HEAT_BASE = 2.0
"""Base of the degree-days shown, °C; the base used in Ontario for hazel (Taghavi et al. 2021)."""


def so_far(planting: Planting, *, threshold: float = 0.0) -> SoFar:
    """Return the season so far: heat, chill, rain and frost dates.

    Raises
    ------
    NotEnoughKnown
        If there is no weather of this year.
    """
    known = record(planting)
    year, doy = planting.on.year, planting.on.timetuple().tm_yday
    refuse_gaps(known, year)
    earlier = tuple(y for y in known.whole_years(min(doy, 365)) if y < year)
    years = [*earlier, year]
    heat = [_heat(known, y, doy) for y in years]
    chill = [_chill(planting, known, y, doy) for y in years]
    rain = [float(np.nansum(known.year(y)[2][:doy])) for y in years]
    frost = frost_dates(
        known.tmin[~np.isnan(known.tmin)], known.dates[~np.isnan(known.tmin)], threshold
    )
    return SoFar(
        on=planting.on,
        last=known.last,
        heat=heat[-1],
        heat_years=np.array(heat[:-1]),
        chill=chill[-1],
        chill_years=np.array(chill[:-1]),
        rain=rain[-1],
        rain_years=np.array(rain[:-1]),
        years=earlier,
        spring=_spread(frost, "spring"),
        autumn=_spread(frost, "autumn"),
        threshold=threshold,
        filled=int(known.filled[known.dates >= np.datetime64(f"{year}-01-01")].sum()),
        gaps=known.gaps,
        sources=tuple(source.told(planting.about.units) for source in sources(planting)),
    )


def _heat(known: Record, year: int, doy: int) -> float:
    low, high, _ = known.year(year)
    return float(growing_degree_days(low[:doy], high[:doy], HEAT_BASE).sum())


def _chill(planting: Planting, known: Record, year: int, doy: int) -> float:
    """Chill portions from 1 October before to a day of year; NaN where days are missing."""
    first = np.datetime64(f"{year - 1}-10-01")
    last = np.datetime64(f"{year}-01-01") + doy - 1
    inside = (known.dates >= first) & (known.dates <= last)
    low, high, days = known.tmin[inside], known.tmax[inside], known.dates[inside]
    if days.size == 0 or days[0] != first or np.isnan(low + high).any():
        return float("nan")
    hours = hourly_from_daily(low, high, days, planting.about.latitude)
    return float(chill_portions(hours.ravel())[-1])


def _spread(frost: object, season: str) -> FrostDateSpread | None:
    try:
        return frost_date_spread(frost, season)  # type: ignore[arg-type]
    except ValueError:
        return None  # too few years for a spread; the face then shows none


def lines(planting: Planting, until: date) -> Iterable[Line]:
    """Ask for newer weather where the record has fallen behind."""
    known = record(planting)
    behind = (planting.on - known.last).days
    if behind > STALE_DAYS:
        yield Line(
            key="weather:behind",
            subject="weather",
            act="Import newer weather: nuttery weather import FILE",
            first=planting.on,
            last=until,
            why=f"the record ends on {day_told(known.last)}, {behind} days ago; "
            "dates are forecast from made weather since then",
            sure="sure",
            waits="windows stay wider than they need be",
            weight=float(behind),
        )


def daily_means(known: Record, years: Ints, days: int = SEASON_DAYS) -> Floats:
    """Daily means of the first days of years, (n years, days) °C, in the order asked for."""
    rows = {}
    for year in np.unique(years).tolist():
        low, high, _ = known.year(year)
        rows[year] = (low[:days] + high[:days]) / 2
    return np.array([rows[year] for year in years.tolist()]).reshape(-1, days)
