"""EPW: eight lines of header, then hours of local standard time numbered 1 to 24."""

import re

import numpy as np

from nuttery.exchange.weather.clock import times_of, whole
from nuttery.exchange.weather.errors import Account
from nuttery.exchange.weather.hourly import hourly_record
from nuttery.exchange.weather.numbers import numbers
from nuttery.exchange.weather.readings import Readings, table_readings
from nuttery.exchange.weather.record import Floats, Times, WeatherRecord
from nuttery.exchange.weather.site import Site, place_number, refuse_other
from nuttery.exchange.weather.source import Source
from nuttery.exchange.weather.table import Table, cells_of, clip, read_table
from nuttery.exchange.weather.telling import NAMES, number
from nuttery.exchange.weather.typical import runs_on, says_typical

NAME = "EPW"
HEADER = 8
WIDTH, NEEDED = 35, 22
TITLES = {
    0: "year",
    1: "month",
    2: "day",
    3: "hour",
    4: "minute",
    6: "dry bulb",
    8: "relative humidity",
    20: "wind direction",
    21: "wind speed",
    33: "liquid precipitation depth",
    34: "liquid precipitation hours",
}
COLUMNS = {"temp": 6, "rh": 8, "wind_speed": 21, "wind_from": 20}
DEPTH, HOURS = 33, 34
MISSING = {6: frozenset({99.9}), DEPTH: frozenset({99.0, 999.0}), HOURS: frozenset({99.0, 999.0})}
USUAL_MISSING = frozenset({999.0})
PLACES = {"latitude": 6, "longitude": 7, "utc_offset": 8, "elevation": 9}


def recognises(source: Source) -> bool:
    """Whether the file begins with the line of the location."""
    return source.lines[0].upper().startswith("LOCATION,")


def read(source: Source, account: Account, station: str | None = None) -> WeatherRecord:
    """Hours of an EPW file.

    Notes
    -----
    Source: Auxiliary Programs, weather file format of the EnergyPlus project. Published (columns
        and missing values of the fields used), from memory (depth of rain).
    Valid:  hour h covers the time from h − 1 to h; its stamp here is the start, h − 1.
    Limits: rain is taken where it is the depth of one hour.
    """
    site = _site(source, account)
    refuse_other(site, station, account, line=1)
    table = _table(source, account)
    time = _times(table, _per_hour(source), account)
    account.tell("Hour 1 to 24 ends at its number; the stamp is its start, in local standard time.")
    readings = [
        _readings(table, index, element, time, account) for element, index in COLUMNS.items()
    ]
    if len(table.header) == WIDTH:
        readings.append(_rain(table, time, account))
    typical = says_typical(source.lines[0]) or not runs_on(time)
    return hourly_record(
        source,
        NAME,
        readings,
        site=site,
        stamp="start of hour",
        account=account,
        typical=typical,
    )


def _site(source: Source, account: Account) -> Site:
    cells = cells_of(source, 0, account)
    if len(cells) < 10:
        account.refuse(1, None, f"{len(cells)} cells", "10: LOCATION, city … time zone, elevation")
    found = {
        name: place_number(name, cells[i], account, line=1, column=f"column {i + 1}")
        for name, i in PLACES.items()
    }
    return Site(station=cells[1] or None, **found)


def _per_hour(source: Source) -> int:
    periods = source.lines[7] if len(source.lines) > 7 else ""
    cells = periods.split(",")
    known = len(cells) > 2 and re.fullmatch(r"\s*\d\d?\s*", cells[2], re.ASCII)
    return max(int(cells[2]), 1) if known else 1


def _table(source: Source, account: Account) -> Table:
    if len(source.lines) <= HEADER:
        account.refuse(len(source.lines), None, "no line of weather", "hours below 8 header lines")
    width = min(source.lines[HEADER].count(",") + 1, WIDTH)
    if width < NEEDED:
        account.refuse(HEADER + 1, None, f"{width} cells", f"{WIDTH}")
    titles = tuple(TITLES.get(i, f"field {i + 1}") for i in range(width))
    return read_table(source, HEADER, ",", account, titles=titles)


def _times(table: Table, per_hour: int, account: Account) -> Times:
    """Start of each hour, or of each part of one where there are several lines an hour."""
    columns = table.columns[:5]
    parts = np.array([[whole(cell) for cell in column] for column in columns], dtype=np.int64).T
    minute = parts[:, 4].copy()
    parts[:, 3] -= 1
    parts[:, 4] = 0
    time = times_of(parts)
    time[(minute < 0) | (minute > 60)] = np.datetime64("NaT")
    for i in np.flatnonzero(np.isnat(time)):
        found = clip(",".join(column[i] for column in columns))
        wanted = "year, month, day, hour 1 to 24, minute"
        account.fault(table.lines[int(i)], "columns 1-5", found, wanted)
    if per_hour > 1:
        time += np.where(minute == 0, 60, minute) - 60 // per_hour
    return time


def _numbers(table: Table, index: int, account: Account) -> Floats:
    return numbers(table, index, account, missing=MISSING.get(index, USUAL_MISSING)).values


def _readings(table: Table, index: int, element: str, time: Times, account: Account) -> Readings:
    return table_readings(table, index, element, time, _numbers(table, index, account))


def _rain(table: Table, time: Times, account: Account) -> Readings:
    depth, hours = (_numbers(table, index, account) for index in (DEPTH, HOURS))
    return table_readings(table, DEPTH, "rain", time, of_one_hour(depth, hours, account))


def of_one_hour(depth: Floats, hours: Floats, account: Account) -> Floats:
    """Depths that fell within one hour; the others cannot be told hour by hour."""
    other = np.isfinite(depth) & (hours != 1)
    if other.any():
        count = number(int(other.sum()), "value")
        account.tell(f"Dropped {count} of {NAMES['rain']} that were not the depth of one hour.")
    return np.where(other, np.nan, depth)
