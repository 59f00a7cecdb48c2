"""Where the weather comes from: sources by trust, and how the planting differs from a station."""

from dataclasses import dataclass
from functools import partial

import numpy as np

from nuttery.records import System, told
from nuttery.science.arguments import Floats
from nuttery.science.weather import StationOffset, station_offset
from nuttery.season.planting import Planting

FORECAST = "forecast"
"""Name of the source that a typed forecast is kept under; it never counts as a record."""


@dataclass(frozen=True)
class Source:
    """One source of the planting's weather.

    Attributes
    ----------
    name, trust : lower numbers are believed first
    days, hours : kept from it
    higher : m that the station lies above the planting (below if negative); None where not told
    night, day : °C by which the most trusted source is warmer than this one at night (minimum) and
        by day (maximum), learned from days that both have; unknown with too few of them
    """

    name: str
    trust: int
    days: int
    hours: int
    higher: float | None
    night: StationOffset
    day: StationOffset

    def told(self, system: System) -> str:
        """How it differs from the planting, in words."""
        height = ""
        if self.higher is not None and abs(self.higher) >= 1:
            side = "above" if self.higher > 0 else "below"
            height = f", {told(abs(self.higher), 'elevation', system)} {side} the planting"
        if not self.night.known:
            return f"{self.name}{height}: how the planting's air differs from it is not known"
        low, high = (_signed(one.mean, system) for one in (self.night, self.day))
        return (
            f"{self.name}{height}: nights are {low} and days {high} different at "
            f"the planting, from {self.night.n_records} days read at both"
        )


def _signed(degrees: float, system: System) -> str:
    sign = "" if degrees < 0 else "+"
    return sign + told(degrees, "temperature difference", system)


def sources(planting: Planting) -> tuple[Source, ...]:
    """Return the sources of the planting's weather, the most trusted first; no forecast."""
    return planting.remembered("weather sources", partial(_sources, planting))


def _sources(planting: Planting) -> tuple[Source, ...]:
    number = planting.about.planting
    known = [s for s in planting.register.weather_sources(number) if s.name != FORECAST]
    series = {s.name: _series(planting, s.name) for s in known if s.days}
    first = next(iter(series.values()), None)
    unknown = StationOffset(np.nan, np.nan, np.nan, np.nan, 0)
    found = []
    for source in known:
        mine = series.get(source.name)
        night = day = unknown
        if mine is not None and first is not None and mine is not first:
            night, day = _difference(mine, first)
        higher = None
        if source.elevation is not None and planting.about.elevation is not None:
            higher = source.elevation - planting.about.elevation
        found.append(
            Source(source.name, source.trust, source.days, source.hours, higher, night, day)
        )
    return tuple(found)


def _series(planting: Planting, name: str) -> tuple[np.ndarray, Floats, Floats]:
    found = planting.register.daily(planting.about.planting, name)
    before = found.time <= np.datetime64(planting.on)
    return found.time[before].astype("datetime64[D]"), found.tmin[before], found.tmax[before]


def _difference(
    station: tuple[np.ndarray, Floats, Floats], own: tuple[np.ndarray, Floats, Floats]
) -> tuple[StationOffset, StationOffset]:
    _, theirs, ours = np.intersect1d(station[0], own[0], return_indices=True)
    night, day = (station_offset(station[column][theirs], own[column][ours]) for column in (1, 2))
    return night, day
