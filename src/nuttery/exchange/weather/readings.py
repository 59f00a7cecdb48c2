"""What a format's reader hands on: values with the time and the place in the file of each."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from nuttery.exchange.weather.errors import Account
from nuttery.exchange.weather.limits import believable, beyond, shown
from nuttery.exchange.weather.record import Floats, Ints, Resolution, Times
from nuttery.exchange.weather.table import Table
from nuttery.exchange.weather.telling import NAMES, number

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

    def without_few_unbelievable(self, account: Account) -> "Readings":
        """An archive's values without a stray one beyond belief; many of them stay, to be refused.

        An archive has fixed units, so a single wild value is a slip of an instrument. Where more
        than one in a thousand is wild, the file is not what it seems.
        """
        wild = beyond(self.element, self.values, "hourly")
        count = int(wild.sum())
        if not count or count * 1000 > np.isfinite(self.values).sum():
            return self
        lines = ", ".join(str(self.place(int(i))[0]) for i in np.flatnonzero(wild)[:5])
        account.tell(
            f"Dropped {number(count, 'value')} of {NAMES[self.element]} beyond "
            f"{believable(self.element, 'hourly')} (line {lines})."
        )
        return replace(self, values=np.where(wild, np.nan, self.values))

    def refuse_unbelievable(self, resolution: Resolution, account: Account) -> None:
        """Note a fault for every value that no thermometer, gauge or vane has read."""
        for i in np.flatnonzero(beyond(self.element, self.values, resolution)):
            line, column = self.place(int(i))
            value = shown(self.element, float(self.values[i]))
            written = self.written(int(i)).strip()
            found = value if written == value.split()[0] else f'"{written}" ({value})'
            account.fault(line, column, found, believable(self.element, resolution))


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


def refuse_twice(readings: Readings, each: str, account: Account) -> None:
    """Note a fault for every stamp that stands in the file a second time."""
    first = first_of_each(readings.time)
    for i in np.flatnonzero(first != np.arange(first.size)):
        line, _ = readings.place(int(i))
        earlier, _ = readings.place(int(first[i]))
        again = str(readings.time[i]).replace("T", " ")
        account.fault(line, "time", f"{again} again (first in line {earlier})", f"each {each}")


def table_readings(table: Table, index: int, element: str, time: Times, values: Floats) -> Readings:
    """Readings of one column of a table; rows without a time are left out.

    Parameters
    ----------
    table : the file
    index : of the column, for messages
    element : its name in a `WeatherRecord`
    time, values : (rows,) stamps and values in the unit of the house
    """
    rows = np.flatnonzero(~np.isnat(time))

    def place(i: int) -> tuple[int, str]:
        return table.lines[int(rows[i])], table.column(index)

    def written(i: int) -> str:
        return table.columns[index][int(rows[i])]

    return Readings(element, time[rows], values[rows], place, written)


def whole_hours(time: Times) -> Times:
    """Start of the hour in which each stamp lies.

    Examples
    --------
    >>> whole_hours(np.array(["2020-05-01T06:59"], "datetime64[m]"))
    array(['2020-05-01T06:00'], dtype='datetime64[m]')
    """
    hours: Times = time.astype("datetime64[h]").astype("datetime64[m]")
    return hours
