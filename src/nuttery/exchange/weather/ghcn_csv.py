"""GHCN-Daily as tables: by year, by station, and as ordered with scaled units."""

import re
from collections import Counter

import numpy as np
from numpy.typing import NDArray

from nuttery.exchange.weather.archive_flags import ELEMENTS, MISSING, believed, told_flags
from nuttery.exchange.weather.daily import daily_record
from nuttery.exchange.weather.errors import Account
from nuttery.exchange.weather.numbers import numbers
from nuttery.exchange.weather.readings import Readings, table_readings
from nuttery.exchange.weather.record import Times, WeatherRecord
from nuttery.exchange.weather.source import Source
from nuttery.exchange.weather.table import Table, clip, read_table
from nuttery.exchange.weather.titled import (
    column_stamps,
    header_with,
    known_table,
    need,
    of_station,
    site_of,
    titles_of,
)
from nuttery.exchange.weather.units import ALLOWED

BY_YEAR = "GHCN-Daily by year"
BY_STATION = "GHCN-Daily by station"
ORDERED = "GHCN-Daily as ordered"
ROW = re.compile(r'"?[A-Z]{2}[A-Z0-9][A-Z0-9_\-]{8}"?,"?\d{8}"?,"?[A-Z][A-Z0-9]{3}"?,', re.ASCII)
YEAR_TITLES = ("ID", "DATE", "ELEMENT", "VALUE", "MFLAG", "QFLAG", "SFLAG", "OBSTIME")
PLACE_TITLES = ["STATION", "DATE", "LATITUDE", "LONGITUDE", "ELEVATION", "NAME"]
ORDER_UNITS = {
    "ghcn-order-metric": {"tmax": "°C", "tmin": "°C", "rain": "mm"},
    "ghcn-order-us": {"tmax": "°F", "tmin": "°F", "rain": "in"},
}
Flags = NDArray[np.str_]
COOP_DAY = (
    "A volunteer's day may end in the morning, so that a maximum may belong to the day before."
)


def recognises_by_year(source: Source) -> bool:
    """Whether the first line, or the one below a header, is station, date, element, value."""
    return any(ROW.match(line) for line in source.lines[:2])


def read_by_year(source: Source, account: Account, station: str | None = None) -> WeatherRecord:
    """Days of one station in a table that has one value a row, in tenths.

    Notes
    -----
    Source: NOAA, readme of the by-year tables of GHCN-Daily (order of the columns, from memory)
        and of GHCN-Daily, section III (units and flags, published).
    """
    start = next(i for i, line in enumerate(source.lines) if ROW.match(line))
    width = source.lines[start].count(",") + 1
    table = read_table(source, start, ",", account, titles=YEAR_TITLES[:width])
    table = of_station(table, "ID", station, account)
    time = column_stamps(table, "DATE", account, style="year first").time.astype("datetime64[D]")
    elements = np.array([cell.strip() for cell in table.columns[need(table, "ELEMENT")]])
    readings = [
        _by_year(
            table.rows(np.flatnonzero(elements == code).tolist()),
            name,
            time[elements == code],
            account,
        )
        for code, name in ELEMENTS.items()
    ]
    account.tell(*_other_elements(set(elements.tolist())))
    account.tell(*_observed_at(table))
    site = site_of(table, account, station=("ID",))
    return daily_record(source, BY_YEAR, readings, site=site, account=account)


def _by_year(table: Table, name: str, time: Times, account: Account) -> Readings:
    index = need(table, "VALUE")
    flags = (_flags(table, "MFLAG"), _flags(table, "QFLAG"))
    return _tenths(table, index, name, time, flags=flags, account=account)


def _flags(table: Table, title: str) -> Flags:
    index = table.index(title)
    cells = [""] * len(table) if index is None else [c.strip() for c in table.columns[index]]
    return np.array(cells, dtype=np.str_)


def _tenths(
    table: Table,
    index: int,
    name: str,
    time: Times,
    *,
    flags: tuple[Flags, Flags],
    account: Account,
) -> Readings:
    """One column in tenths of °C or mm, as the archive stores it."""
    written = numbers(table, index, account, missing=frozenset({float(MISSING)})).values
    present = np.isfinite(written)
    for row in np.flatnonzero(present & (written != np.round(written))):
        cell = clip(table.columns[index][int(row)].strip())
        account.fault(table.lines[int(row)], table.column(index), cell, "a whole number of tenths")
    values = np.where(believed(present, flags[1]), written / 10, np.nan)
    account.tell(*told_flags(name, present, *flags))
    return table_readings(table, index, name, time, values)


def _observed_at(table: Table) -> list[str]:
    """When the observers' days ended, most common first."""
    index = table.index("OBSTIME")
    cells = [] if index is None else [cell.strip() for cell in table.columns[index]]
    hours = Counter(cell for cell in cells if cell)
    if not hours:
        return [f"{COOP_DAY} The file has no hour of observation."]
    shown = ", ".join(f"{hour[:2]}:{hour[2:]} ({n:,})" for hour, n in hours.most_common(3))
    return [f"{COOP_DAY} Observed at {shown} local time."]


def _other_elements(codes: set[str]) -> list[str]:
    others = sorted(codes - ELEMENTS.keys())
    return [f"Not used: {', '.join(others)}."] if others else []


def recognises_by_station(source: Source) -> bool:
    """Whether the header is the archive's own, with flags beside whole numbers of tenths."""
    index = header_with(source, PLACE_TITLES)
    if index is None:
        return False
    titles = titles_of(source.lines[index])
    used = [code for code in ELEMENTS if code in titles]
    flagged = all(f"{code}_ATTRIBUTES" in titles for code in used)
    return bool(used) and flagged and titles[:6] == PLACE_TITLES and _whole(source, index, used)


def _whole(source: Source, index: int, codes: list[str]) -> bool:
    """Whether no value of these elements has a decimal point."""
    table = read_table(source, index, ",", Account(source.name))
    cells = (cell for code in codes for cell in table.columns[need(table, code)])
    return not any("." in cell for cell in cells)


def read_by_station(source: Source, account: Account, station: str | None = None) -> WeatherRecord:
    """Days of a station in the archive's own table, still in tenths.

    Notes
    -----
    Source: NOAA, documentation of the per-station tables of GHCN-Daily: units as in the `.dly`
        files (tenths), attributes "M,Q,S" with an hour of observation where known. From memory.
    """
    table = of_station(known_table(source, PLACE_TITLES, account), "STATION", station, account)
    time = column_stamps(table, "DATE", account, style="year first").time.astype("datetime64[D]")
    readings = [
        _tenths(
            table,
            need(table, code),
            name,
            time,
            flags=_attributes(table, code),
            account=account,
        )
        for code, name in ELEMENTS.items()
        if table.index(code) is not None
    ]
    account.tell(COOP_DAY)
    account.tell(*_other_elements(_element_titles(table)))
    site = site_of(table, account, station=("NAME", "STATION"))
    return daily_record(source, BY_STATION, readings, site=site, account=account)


def _attributes(table: Table, code: str) -> tuple[Flags, Flags]:
    """Measurement and quality flags of a column of attributes such as `T,,7`."""
    index = table.index(f"{code}_ATTRIBUTES")
    cells = [""] * len(table) if index is None else table.columns[index]
    parts = [(cell + ",,").split(",") for cell in cells]
    measurement, quality = ([part[i].strip() for part in parts] for i in (0, 1))
    return np.array(measurement, dtype=np.str_), np.array(quality, dtype=np.str_)


def _element_titles(table: Table) -> set[str]:
    known = {*PLACE_TITLES, *ELEMENTS}
    return {t for t in table.header if t not in known and not t.endswith("_ATTRIBUTES") and t}


def recognises_order(source: Source) -> bool:
    """Whether station, date and at least one element stand in the header without a unit."""
    index = header_with(source, ["STATION", "DATE"])
    return index is not None and bool(ELEMENTS.keys() & set(titles_of(source.lines[index])))


def refuse_order(source: Source, account: Account, station: str | None = None) -> WeatherRecord:
    """Ask for the unit: ordered files have °F and inches or °C and mm, and do not tell which."""
    index = header_with(source, ["STATION", "DATE"]) or 0
    titles = titles_of(source.lines[index])
    columns = ", ".join(code for code in ELEMENTS if code in titles)
    of = f" of station {station}" if station else ""
    formats = " or ".join(f'format="{name}"' for name in reversed(ORDER_UNITS))
    account.refuse(
        index + 1,
        columns,
        f"no unit{of}",
        f"the unit that was ordered: {formats} (°F and inches, or °C and mm)",
    )


def read_ordered(form: str, source: Source, account: Account, station: str | None) -> WeatherRecord:
    """Days of a station in a table that was ordered with scaled units.

    Parameters
    ----------
    form : "ghcn-order-metric" or "ghcn-order-us", as it was ordered
    """
    table = of_station(
        known_table(source, ["STATION", "DATE"], account), "STATION", station, account
    )
    time = column_stamps(table, "DATE", account, style="year first").time.astype("datetime64[D]")
    units = ORDER_UNITS[form]
    account.tell(f"Units as declared: {units['tmax']} and {units['rain']}.", COOP_DAY)
    readings = [
        _scaled(table, code, units[name], time, account)
        for code, name in ELEMENTS.items()
        if table.index(code) is not None
    ]
    account.tell(*_other_elements(_element_titles(table)))
    site = site_of(table, account, station=("NAME", "STATION"))
    return daily_record(source, ORDERED, readings, site=site, account=account)


def _scaled(table: Table, code: str, unit: str, time: Times, account: Account) -> Readings:
    name, index = ELEMENTS[code], need(table, code)
    column = numbers(table, index, account, trace=name == "rain")
    measurement, quality = _attributes(table, code)
    measurement = np.where(column.trace, "T", measurement)
    present = np.isfinite(column.values)
    account.tell(*told_flags(name, present, measurement, quality))
    values = ALLOWED[name][unit](np.where(believed(present, quality), column.values, np.nan))
    return table_readings(table, index, name, time, values)
