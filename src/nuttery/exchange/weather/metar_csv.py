"""Tables of airport reports (ASOS, METAR) with °F, knots and inches, as mesonets hand them out."""

import re

import numpy as np

from nuttery.exchange.weather.errors import Account
from nuttery.exchange.weather.hourly import hourly_record
from nuttery.exchange.weather.humidity import relative_humidity
from nuttery.exchange.weather.numbers import numbers
from nuttery.exchange.weather.readings import Readings, table_readings
from nuttery.exchange.weather.record import Floats, Times, WeatherRecord
from nuttery.exchange.weather.reports import Reports, one_an_hour, since_last_routine
from nuttery.exchange.weather.source import Source
from nuttery.exchange.weather.table import Table, read_table
from nuttery.exchange.weather.telling import number
from nuttery.exchange.weather.titled import column_stamps, need, of_station, site_of, titles_of
from nuttery.exchange.weather.units import ALLOWED

NAME = "airport reports"
COLUMNS = {
    "tmpf": ("temp", "°F"),
    "tmpc": ("temp", "°C"),
    "relh": ("rh", "%"),
    "sknt": ("wind_speed", "kn"),
    "sped": ("wind_speed", "mph"),
    "drct": ("wind_from", "°"),
    "p01i": ("rain", "in"),
    "p01m": ("rain", "mm"),
}
DEW_POINTS = {"dwpf": "°F", "dwpc": "°C"}
TRACE_INCHES = 0.0001
ZONE = re.compile(r"#DEBUG: Time Zone\s*->\s*(\S+)")
TITLE_ZONE = re.compile(r"VALID\s*\(?\s*(UTC|GMT)?[^)]*\)?", re.IGNORECASE)
UTC = frozenset({"UTC", "GMT", "Etc/UTC", "Etc/GMT"})


def _header(source: Source) -> int | None:
    for i, line in enumerate(source.lines[:40]):
        titles = titles_of(line)
        known = {title.casefold() for title in titles} & COLUMNS.keys()
        if "STATION" in titles and known and any(TITLE_ZONE.fullmatch(t) for t in titles):
            return i
    return None


def recognises(source: Source) -> bool:
    """Whether a header has station, valid and one of the titles of such a table."""
    return _header(source) is not None


def read(source: Source, account: Account, station: str | None = None) -> WeatherRecord:
    """Hours of a table of airport reports.

    Notes
    -----
    Titles: tmpf, tmpc, dwpf, dwpc, relh, drct, sknt, sped (mph), p01i, p01m. From memory.
    Limits: the rain of a report runs up since the last routine report; the largest amount of
        that span is the rain of the hour. Times that follow summer time are refused.
    """
    index = _header(source) or 0
    table = of_station(read_table(source, index, ",", account), "station", station, account)
    title = next(t for t in table.header if TITLE_ZONE.fullmatch(t))
    offset = _offset(source, title, index, account)
    time = column_stamps(table, title, account, style="year first").time
    reports = Reports(int((~np.isnat(time)).sum()))
    rank = np.zeros(reports.read, dtype=np.int64)
    readings = [
        since_last_routine(r) if r.element == "rain" else one_an_hour(r, rank, reports)
        for r in _readings(table, time, account)
    ]
    zone = "UTC" if offset == 0 else "of a zone that the file does not tell"
    account.tell(f"Stamps are {zone}; each report was put to the nearest full hour.")
    account.tell(reports.told())
    site = site_of(
        table,
        account,
        station=("station",),
        coordinates=("lat", "lon", "elevation"),
        utc_offset=offset,
    )
    return hourly_record(source, NAME, readings, site=site, stamp="instant", account=account)


def _offset(source: Source, title: str, header: int, account: Account) -> float | None:
    named = TITLE_ZONE.fullmatch(title)
    if named and named[1]:
        return 0.0
    for i, line in enumerate(source.lines[:header], 1):
        zone = ZONE.match(line)
        if zone and zone[1] in UTC:
            return 0.0
        if zone:
            account.fault(i, "time zone", zone[1], "UTC (ask for the file in UTC: no summer time)")
    return None


def _readings(table: Table, time: Times, account: Account) -> list[Readings]:
    by_element: dict[str, Readings] = {}
    for title, (element, unit) in COLUMNS.items():
        index = table.index(title)
        if index is None or element in by_element:
            continue
        values = ALLOWED[element][unit](_numbers(table, index, element, unit, account))
        by_element[element] = table_readings(table, index, element, time, values)
    dew = _dew_point(table, account)
    if "rh" not in by_element and "temp" in by_element and dew is not None:
        rows = ~np.isnat(time)
        rh = np.full(len(table), np.nan)
        rh[rows] = relative_humidity(by_element["temp"].values, dew[rows])
        by_element["rh"] = table_readings(table, _dew_index(table), "rh", time, rh)
        account.tell("Relative humidity computed from temperature and dew point.")
    return list(by_element.values())


def _numbers(table: Table, index: int, element: str, unit: str, account: Account) -> Floats:
    column = numbers(table, index, account, trace=element == "rain")
    trace = column.trace
    if unit == "in":
        trace = trace | (column.values == TRACE_INCHES)
        column.values[trace] = 0
    if trace.any():
        account.tell(f"{number(int(trace.sum()), 'trace')} of rain counted as 0 mm.")
    return column.values


def _dew_index(table: Table) -> int:
    return need(table, next(title for title in DEW_POINTS if table.index(title) is not None))


def _dew_point(table: Table, account: Account) -> Floats | None:
    for title, unit in DEW_POINTS.items():
        index = table.index(title)
        if index is not None:
            return ALLOWED["temp"][unit](numbers(table, index, account).values)
    return None
