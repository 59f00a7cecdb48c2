"""What a format's reader hands on: values with the time and the place in the file of each."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from nuttery.exchange.weather.errors import Faults
from nuttery.exchange.weather.limits import believable, beyond, shown
from nuttery.exchange.weather.record import Floats, Ints, Resolution, Times

Place = Callable[[int], tuple[int, str]]


@dataclass(frozen=True)
class Readings:
    """Values of one element.

    Attributes
    ----------
    element : its name in a `WeatherRecord`
    time : (n,) datetime64
    values : (n,) in the unit of the house, NaN = missing
    place : line and column of reading i
    written : reading i as it is written in the file
    """

    element: str
    time: Times
    values: Floats
    place: Place
    written: Callable[[int], str]

    def refuse_unbelievable(self, resolution: Resolution, faults: Faults) -> None:
        """Note a fault for every value that no thermometer, gauge or vane has read."""
        for i in np.flatnonzero(beyond(self.element, self.values, resolution)):
            line, column = self.place(int(i))
            value = shown(self.element, float(self.values[i]))
            written = self.written(int(i)).strip()
            found = value if written == value.split()[0] else f'"{written}" ({value})'
            faults.add(line, column, found, believable(self.element, resolution))


@dataclass(frozen=True)
class Site:
    """Where the readings were made, as far as the file tells."""

    station: str | None = None
    latitude: float | None = None
    longitude: float | None = None
    elevation: float | None = None
    utc_offset: float | None = None


def first_of_each(time: Times) -> Ints:
    """For each stamp the index of its first occurrence.

    Examples
    --------
    >>> first_of_each(np.array(["2020-05-02", "2020-05-01", "2020-05-02"], "datetime64[D]"))
    array([0, 1, 0])
    """
    _, first, inverse = np.unique(time, return_index=True, return_inverse=True)
    found: Ints = first[inverse].astype(np.int64)
    return found


def refuse_twice(readings: Readings, each: str, faults: Faults) -> None:
    """Note a fault for every stamp that stands in the file a second time."""
    first = first_of_each(readings.time)
    for i in np.flatnonzero(first != np.arange(first.size)):
        line, _ = readings.place(int(i))
        earlier, _ = readings.place(int(first[i]))
        again = str(readings.time[i]).replace("T", " ")
        faults.add(line, "time", f"{again} again (first in line {earlier})", f"each {each} once")


def whole_hours(time: Times) -> Times:
    """Start of the hour in which each stamp lies.

    Examples
    --------
    >>> whole_hours(np.array(["2020-05-01T06:59"], "datetime64[m]"))
    array(['2020-05-01T06:00'], dtype='datetime64[m]')
    """
    hours: Times = time.astype("datetime64[h]").astype("datetime64[m]")
    return hours
