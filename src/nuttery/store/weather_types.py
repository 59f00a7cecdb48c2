"""What weather is handed over as, and what it is given back as."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import Table

from nuttery.store import tables as t

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Times = NDArray[np.datetime64]


class Record(Protocol):
    """What weather is handed over as; NaN = missing.

    Of the elements, those of the resolution are looked at: `tmax`, `tmin`, `rain` (°C, mm) daily;
    `temp`, `rh`, `wind_speed`, `wind_from`, `rain` (°C, %, m/s, degrees, mm) hourly.
    """

    @property
    def time(self) -> Times:
        """(n,) days, or full hours."""

    @property
    def resolution(self) -> str:
        """Either "daily" or "hourly"."""

    @property
    def utc_offset(self) -> float | None:
        """Hours that the times are ahead of UTC."""

    @property
    def latitude(self) -> float | None:
        """Degrees north."""

    @property
    def longitude(self) -> float | None:
        """Degrees east."""

    @property
    def elevation(self) -> float | None:
        """Metres."""


@dataclass(frozen=True)
class KeptWeather:
    """What came of a record, in days or hours.

    Attributes
    ----------
    added : new, or with values where there were none
    already : there already; a value missing in the record changes nothing
    changed : written over (only with `replace`)
    """

    added: int
    already: int
    changed: int = 0


@dataclass(frozen=True)
class WeatherSource:
    """A source of weather of a planting: sources with a lower `trust` are believed first."""

    name: str
    trust: int
    latitude: float | None
    longitude: float | None
    elevation: float | None
    utc_offset: float | None
    days: int
    hours: int


@dataclass(frozen=True, eq=False, kw_only=True)
class Weather:
    """Weather from the first time to the last, without a gap in time.

    Attributes
    ----------
    time : (n,) datetime64
    rain : (n,) mm in the day or hour, NaN = missing
    sources : names of the sources, the most trusted first
    source : for each element, (n,) index into `sources`, -1 where missing
    utc_offset : hours that the times are ahead of UTC, None if no source tells
    """

    time: Times
    rain: Floats
    sources: tuple[str, ...]
    source: Mapping[str, Ints]
    utc_offset: float | None


@dataclass(frozen=True, eq=False, kw_only=True)
class Daily(Weather):
    """Daily weather: `tmin` and `tmax`, (n,) °C; `time` in days."""

    tmin: Floats
    tmax: Floats


@dataclass(frozen=True, eq=False, kw_only=True)
class Hourly(Weather):
    """Hourly weather: `temp` °C, `rh` %, `wind_speed` m/s, `wind_from` °; `time` in hours."""

    temp: Floats
    rh: Floats
    wind_speed: Floats
    wind_from: Floats


@dataclass(frozen=True)
class Kind:
    """Where weather of a resolution is kept, and how its times are counted."""

    table: Table
    elements: tuple[str, ...]
    unit: str
    name: str


DAY = Kind(t.weather_day, ("tmin", "tmax", "rain"), "D", "day")
HOUR = Kind(t.weather_hour, ("temp", "rh", "wind_speed", "wind_from", "rain"), "h", "hour")
PLACE = ("latitude", "longitude", "elevation", "utc_offset")


@dataclass(frozen=True, eq=False)
class WeatherTable:
    """A record as a table: times, (n, elements) values, and where they were taken."""

    kind: Kind
    time: Times
    values: Floats
    place: Mapping[str, float | None]


KINDS: Mapping[str, Kind] = MappingProxyType({"daily": DAY, "hourly": HOUR})
