"""Heat and chill of this season day by day, beside the earlier years on record."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

import numpy as np

from nuttery.science.arguments import Floats
from nuttery.science.weather import chill_portions, growing_degree_days, hourly_from_daily
from nuttery.season.errors import NotEnoughKnown
from nuttery.season.planting import Planting
from nuttery.season.weather import HEAT_BASE, Record, record, season_year

CHILL_DAYS, HEAT_DAYS = 243, 305
"""Days shown: chill from 1 October to the end of May, heat from 1 January to the end of October."""


@dataclass(frozen=True)
class Curve:
    """A running total of this season and of earlier ones.

    Attributes
    ----------
    name, unit : what is summed
    first : day of column 0 in this season
    now : (days,) this season, NaN after the last day on record
    years : earlier seasons
    then : (years, days) their totals
    """

    name: str
    unit: str
    first: date
    now: Floats
    years: tuple[int, ...]
    then: Floats


def season_curves(planting: Planting) -> tuple[Curve, Curve]:
    """Return heat and chill day by day, this season and earlier ones whose days are all on record.

    Raises
    ------
    NotEnoughKnown
        If there is no weather of this season yet.
    """
    return planting.remembered("season curves", lambda: _curves(planting))


def _curves(planting: Planting) -> tuple[Curve, Curve]:
    known, year = record(planting), season_year(planting.on)
    latitude = planting.about.latitude

    def heat_of(low: Floats, high: Floats, _: np.ndarray) -> Floats:
        sums: Floats = np.cumsum(growing_degree_days(low, high, HEAT_BASE))
        return sums

    def chill_of(low: Floats, high: Floats, dates: np.ndarray) -> Floats:
        hours = hourly_from_daily(low, high, dates, latitude)
        return chill_portions(hours.ravel())[23::24]

    heat = _curve(known, year, (date(year, 1, 1), HEAT_DAYS), heat_of)
    chill = _curve(known, year, (date(year - 1, 10, 1), CHILL_DAYS), chill_of)
    name = f"heat above {HEAT_BASE:g} °C"
    return (
        Curve(name, "degree-days °C", date(year, 1, 1), *heat),
        Curve("chill", "portions", date(year - 1, 10, 1), *chill),
    )


def _curve(
    known: Record,
    year: int,
    span: tuple[date, int],
    total: Callable[[Floats, Floats, np.ndarray], Floats],
) -> tuple[Floats, tuple[int, ...], Floats]:
    """Total of this season, the earlier years that are whole, and theirs."""
    first, days = span
    found: dict[int, Floats] = {}
    for one in range(int(str(known.dates[0])[:4]), year + 1):
        begin = np.datetime64(first.replace(year=first.year - year + one))
        inside = (known.dates >= begin) & (known.dates < begin + days)
        low, high, dates = known.tmin[inside], known.tmax[inside], known.dates[inside]
        gaps = np.isnan(low + high)
        if not dates.size or dates[0] != begin or gaps.any() or (one < year and dates.size < days):
            continue
        sums = np.full(days, np.nan)
        sums[: dates.size] = total(low, high, dates)
        found[one] = sums
    if year not in found:
        raise NotEnoughKnown(f"the weather of {year} has missing days, or none since {first}")
    now = found.pop(year)
    return now, tuple(found), np.array(list(found.values())).reshape(-1, days)
