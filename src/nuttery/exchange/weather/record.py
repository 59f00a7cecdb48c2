"""What a weather file holds, in the units of the house."""

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
Times = NDArray[np.datetime64]
Resolution = Literal["daily", "hourly"]
Stamp = Literal["day", "start of hour", "instant"]

DAILY = ("tmax", "tmin", "rain")
HOURLY = ("temp", "rh", "wind_speed", "wind_from", "rain")
UNITS = {
    "tmax": "°C",
    "tmin": "°C",
    "temp": "°C",
    "rh": "%",
    "wind_speed": "m/s",
    "wind_from": "°",
    "rain": "mm",
}


def _none() -> Floats:
    return np.empty(0)


@dataclass(frozen=True, kw_only=True, eq=False)
class WeatherRecord:
    """Weather of one place as one file has it.

    Attributes
    ----------
    file : name of the file
    format : which of the known formats it has
    resolution : "daily" or "hourly"
    time : (n,) datetime64, [D] where daily, [m] on the full hour where hourly; one row for every
        day or hour from first to last, also where the file has a gap. Of a typical year alone
        (`typical`) the stamps are those of its mixed source years, in the order of the file
    stamp : what a time stands for: the whole day, the start of the hour that the row covers, or
        the instant at which was observed
    utc_offset : hours that the stamps are ahead of UTC (0 = UTC, −6 = US central standard time),
        None where the file does not tell
    latitude, longitude : degrees north and east, None where the file has none
    elevation : m, None where the file has none
    station : name or number of the station, None where the file has none
    typical : a made-up typical year, good for planning, no record of any year
    tmax, tmin : (n,) °C, NaN = missing; daily only
    temp, rh, wind_speed, wind_from : (n,) °C, %, m/s, degrees from north clockwise; hourly only
    rain : (n,) mm in the day, or in the hour
    told : what was read, from when to when, gaps, values dropped and why, in plain sentences

    Notes
    -----
    An element that the file lacks is all NaN; one that the resolution does not have is empty.
    """

    file: str
    format: str
    resolution: Resolution
    time: Times = field(repr=False)
    stamp: Stamp
    utc_offset: float | None = None
    latitude: float | None = None
    longitude: float | None = None
    elevation: float | None = None
    station: str | None = None
    typical: bool = False
    tmax: Floats = field(default_factory=_none, repr=False)
    tmin: Floats = field(default_factory=_none, repr=False)
    temp: Floats = field(default_factory=_none, repr=False)
    rh: Floats = field(default_factory=_none, repr=False)
    wind_speed: Floats = field(default_factory=_none, repr=False)
    wind_from: Floats = field(default_factory=_none, repr=False)
    rain: Floats = field(default_factory=_none, repr=False)
    told: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Fill the elements that the file lacks with NaN and close the arrays to writing."""
        for name in DAILY if self.resolution == "daily" else HOURLY:
            if getattr(self, name).size != self.time.size:
                object.__setattr__(self, name, np.full(self.time.size, np.nan))
        for name in ("time", *UNITS):
            getattr(self, name).setflags(write=False)

    def __len__(self) -> int:
        """Number of days or hours."""
        return int(self.time.size)
