"""From readings of days to a record: one row a day, faults found, gaps told."""

import numpy as np

from nuttery.exchange.weather.errors import Account
from nuttery.exchange.weather.readings import Readings, refuse_twice
from nuttery.exchange.weather.record import DAILY, Floats, Ints, Times, WeatherRecord
from nuttery.exchange.weather.site import Site
from nuttery.exchange.weather.source import Source
from nuttery.exchange.weather.telling import coverage, gaps, span


def daily_record(
    source: Source,
    form: str,
    readings: list[Readings],
    *,
    site: Site,
    account: Account,
) -> WeatherRecord:
    """A daily record from the readings of a file.

    Parameters
    ----------
    source : the file
    form : name of its format
    readings : of each element at most one, days in any order
    site : where they were made
    account : of the file, for faults and for what is told

    Raises
    ------
    WeatherFileError
        If there are faults: those met before, unbelievable values, a day twice, a maximum below
        the minimum, or no day at all.
    """
    for series in readings:
        refuse_twice(series, "day once", account)
        series.refuse_unbelievable("daily", account)
    _refuse_crossed(readings, account)
    account.refuse_if_faulty()
    if not any(series.time.size for series in readings):
        account.refuse(None, None, "no day with weather", "at least one")
    time = _every_day(readings)
    elements = {name: np.full(time.size, np.nan) for name in DAILY}
    for series in readings:
        elements[series.element][_row(series.time, time)] = series.values
    return WeatherRecord(
        file=source.name,
        format=form,
        resolution="daily",
        time=time,
        stamp="day",
        **vars(site),
        tmax=elements["tmax"],
        tmin=elements["tmin"],
        rain=elements["rain"],
        told=(
            span(form, site.station, time, "daily"),
            *account.told,
            coverage(elements),
            *gaps(time, elements, "daily"),
        ),
    )


def _every_day(readings: list[Readings]) -> Times:
    stamps = np.concatenate([series.time for series in readings])
    days: Times = np.arange(stamps.min(), stamps.max() + np.timedelta64(1, "D"))
    return days


def _row(days: Times, time: Times) -> Ints:
    rows: Ints = (days - time[0]).astype(np.int64)
    return rows


def _refuse_crossed(readings: list[Readings], account: Account) -> None:
    """Note a fault for each day whose maximum lies below its minimum."""
    by_name = {series.element: series for series in readings}
    if not {"tmax", "tmin"} <= by_name.keys():
        return
    high, low = by_name["tmax"], by_name["tmin"]
    days, i, j = np.intersect1d(high.time, low.time, return_indices=True)
    tmax: Floats = high.values[i]
    tmin: Floats = low.values[j]
    for k in np.flatnonzero(tmax < tmin):
        line, column = high.place(int(i[k]))
        other = low.place(int(j[k]))[0]
        beside = "" if other == line else f" (line {other})"
        found = f"on {days[k]} a maximum of {tmax[k]:g} °C and a minimum of {tmin[k]:g} °C{beside}"
        account.fault(line, column, found, "a maximum not below the minimum")
