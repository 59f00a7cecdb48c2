"""NSRDB: two lines for the site, a line of titles in any order, local standard time."""

import numpy as np

from nuttery.exchange.weather.clock import times_of, whole
from nuttery.exchange.weather.errors import Account
from nuttery.exchange.weather.hourly import hourly_record
from nuttery.exchange.weather.numbers import numbers
from nuttery.exchange.weather.readings import Readings, table_readings, whole_hours
from nuttery.exchange.weather.record import Times, WeatherRecord
from nuttery.exchange.weather.site import Site, place_number, refuse_other
from nuttery.exchange.weather.source import Source
from nuttery.exchange.weather.table import Table, cells_of, clip, read_table
from nuttery.exchange.weather.titled import need, titles_of
from nuttery.exchange.weather.typical import runs_on
from nuttery.exchange.weather.units import ALLOWED, UNIT_OF, units_of

NAME = "NSRDB"
CLOCK = ("Year", "Month", "Day", "Hour", "Minute")
COLUMNS = {
    "Temperature": ("temp", "°C"),
    "Relative Humidity": ("rh", "%"),
    "Wind Speed": ("wind_speed", "m/s"),
    "Wind Direction": ("wind_from", "°"),
}
PLACES = {
    "latitude": "Latitude",
    "longitude": "Longitude",
    "utc_offset": "Time Zone",
    "elevation": "Elevation",
}


def recognises(source: Source) -> bool:
    """Whether the first line names source, place and time zone, and the third the clock."""
    if len(source.lines) < 3:
        return False
    first, third = (set(titles_of(source.lines[i])) for i in (0, 2))
    return {"SOURCE", "LATITUDE", "TIME ZONE"} <= first and {"YEAR", "MONTH", "DAY"} <= third


def read(source: Source, account: Account, station: str | None = None) -> WeatherRecord:
    """Hours of an NSRDB file; columns are found by their titles, whatever their order.

    Notes
    -----
    Source: layout as the archive writes it: titles of the site, values of the site, titles of
        the columns. Secondary source. Units are read from the site's titles where they stand.
    Valid:  the stamp here is the start of the hour in which the file's stamp lies.
    """
    titles, values = (cells_of(source, i, account) for i in (0, 1))
    place = dict(zip(titles, values, strict=False))
    site = _site(place, account)
    refuse_other(site, station, account, line=2)
    table = read_table(source, 2, ",", account)
    time = _times(table, account)
    account.tell(_told_clock(time, site.utc_offset))
    typical = not runs_on(time)
    readings = [
        _readings(table, title, place, whole_hours(time) if typical else time, account)
        for title in COLUMNS
        if table.index(title) is not None
    ]
    return hourly_record(
        source,
        NAME,
        readings,
        site=site,
        stamp="start of hour",
        account=account,
        typical=typical,
    )


def _site(place: dict[str, str], account: Account) -> Site:
    found = {
        name: place_number(name, place.get(title, ""), account, line=2, column=f'"{title}"')
        for name, title in PLACES.items()
    }
    names = (place.get(title, "") for title in ("City", "Location ID"))
    return Site(station=next((name for name in names if name.strip("-")), None), **found)


def _told_clock(time: Times, offset: float | None) -> str:
    minutes = np.unique(time[~np.isnat(time)].astype(np.int64) % 60)
    shown = ", ".join(f":{minute:02d}" for minute in minutes[:12])
    zone = "UTC" if offset == 0 else f"UTC{offset:+g} h, local standard time" if offset else "local"
    return f"Stamps of the file lie at {shown} ({zone}); here they are the start of the hour."


def _times(table: Table, account: Account) -> Times:
    indices = [table.index(title) for title in CLOCK]
    columns = [table.columns[i] if i is not None else ("0",) * len(table) for i in indices]
    parts = np.array([[whole(cell) for cell in column] for column in columns], dtype=np.int64).T
    time = times_of(parts)
    for i in np.flatnonzero(np.isnat(time)):
        found = clip(",".join(column[i] for column in columns))
        wanted = "year, month, day, hour 0 to 23, minute"
        account.fault(table.lines[int(i)], ", ".join(CLOCK), found, wanted)
    return time


def _readings(
    table: Table, title: str, place: dict[str, str], time: Times, account: Account
) -> Readings:
    element, usual = COLUMNS[title]
    index = need(table, title)
    written = place.get(f"{title} Units", usual)
    unit = UNIT_OF.get(written.casefold())
    if unit not in ALLOWED[element]:
        account.fault(2, f'"{title} Units"', clip(written), f"a unit of {units_of(element)}")
    values = numbers(table, index, account).values
    if unit in ALLOWED[element]:
        values = ALLOWED[element][unit](values)
    return table_readings(table, index, element, time, values)
