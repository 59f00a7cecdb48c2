"""NOAA Global-Hourly tables: coded cells with quality codes, several reports an hour, UTC."""

import re

import numpy as np

from nuttery.exchange.weather.errors import Account
from nuttery.exchange.weather.hourly import hourly_record
from nuttery.exchange.weather.humidity import relative_humidity
from nuttery.exchange.weather.readings import Readings, table_readings
from nuttery.exchange.weather.record import Bools, Floats, Ints, Times, WeatherRecord
from nuttery.exchange.weather.reports import Reports, one_an_hour
from nuttery.exchange.weather.source import Source
from nuttery.exchange.weather.table import Table, clip
from nuttery.exchange.weather.telling import NAMES, number
from nuttery.exchange.weather.titled import (
    column_stamps,
    header_with,
    known_table,
    need,
    of_station,
    site_of,
)

NAME = "NOAA Global-Hourly"
TITLES = ("STATION", "DATE", "TMP")
SUSPECT = frozenset("2367")
RAIN_TITLES = ("AA1", "AA2", "AA3", "AA4")
TRACE_CONDITION = "2"
SUMMARIES = frozenset({"SOD", "SOM", "SHEF"})
SPECIAL = "FM-16"
RANKS = {"FM-15": 0, "FM-12": 1}
TEMPERATURE = re.compile(r"([+-]\d{4}),([0-9A-Z])", re.ASCII)
WIND = re.compile(r"(\d{3}),([0-9A-Z]),([0-9A-Z]),(\d{4}),([0-9A-Z])", re.ASCII)
RAIN = re.compile(r"(\d{2}),(\d{4}),([0-9A-Z]),([0-9A-Z])", re.ASCII)


def recognises(source: Source) -> bool:
    """Whether a header has the titles of Global-Hourly."""
    return header_with(source, TITLES) is not None


def read(source: Source, account: Account, station: str | None = None) -> WeatherRecord:
    """Hours of a Global-Hourly table.

    Notes
    -----
    Source: NOAA, format document of the Integrated Surface Data: cells in tenths with a quality
        code; 2, 3, 6, 7 are suspect or erroneous. Published (layout), from memory (codes).
    Limits: relative humidity is computed from the dew point; rain is taken from reports of one
        hour's depth, special reports left out because they hold part of an hour.
    """
    table = of_station(known_table(source, TITLES, account), "STATION", station, account)
    time = column_stamps(table, "DATE", account, style="year first").time
    kinds = _kinds(table)
    time = np.where(np.isin(kinds, list(SUMMARIES)), np.datetime64("NaT", "m"), time)
    account.tell("Stamps are UTC; each report was put to the nearest full hour.")
    reports = Reports(int((~np.isnat(time)).sum()))
    rank = np.array(
        [RANKS.get(kind, 3 if kind == SPECIAL else 2) for kind in kinds], dtype=np.int64
    )
    rank = rank[~np.isnat(time)]
    readings = [one_an_hour(r, rank, reports) for r in _readings(table, time, account)]
    readings.append(_hourly_rain(table, time, kinds, account))
    account.tell(reports.told())
    account.tell("Relative humidity computed from temperature and dew point.")
    site = site_of(table, account, station=("NAME", "STATION"), utc_offset=0.0)
    return hourly_record(source, NAME, readings, site=site, stamp="instant", account=account)


def _kinds(table: Table) -> "np.typing.NDArray[np.str_]":
    index = table.index("REPORT_TYPE")
    cells = [""] * len(table) if index is None else table.columns[index]
    return np.array([cell.strip() for cell in cells], dtype=np.str_)


def _readings(table: Table, time: Times, account: Account) -> list[Readings]:
    temp = _temperature(table, "TMP", "temp", account)
    readings = [table_readings(table, need(table, "TMP"), "temp", time, temp)]
    dew = table.index("DEW")
    if dew is not None:
        rh = relative_humidity(temp, _temperature(table, "DEW", "rh", account))
        readings.append(table_readings(table, dew, "rh", time, rh))
    wind = table.index("WND")
    if wind is not None:
        speed, direction = _wind(table, wind, account)
        readings.append(table_readings(table, wind, "wind_speed", time, speed))
        readings.append(table_readings(table, wind, "wind_from", time, direction))
    return readings


def _matches(
    table: Table, index: int, pattern: re.Pattern[str], wanted: str, account: Account
) -> list[re.Match[str] | None]:
    """Cells taken apart; an empty one is missing, one of another form is a fault."""
    cells = table.columns[index]
    known = {cell: pattern.fullmatch(cell.strip()) for cell in set(cells)}
    odd = {cell for cell, match in known.items() if match is None and cell.strip()}
    for row in (row for row, cell in enumerate(cells) if odd and cell in odd):
        account.fault(table.lines[row], table.column(index), clip(cells[row]), wanted)
    return [known[cell] for cell in cells]


def _believed(values: Floats, quality: list[str], element: str, account: Account) -> Floats:
    """Values without those that the archive holds for suspect or erroneous."""
    suspect: Bools = np.isin(quality, list(SUSPECT)) & np.isfinite(values)
    if suspect.any():
        count = number(int(suspect.sum()), "value")
        account.tell(
            f"Dropped {count} of {NAMES[element]} with a suspect or erroneous quality code."
        )
    return np.where(suspect, np.nan, values)


def _temperature(table: Table, title: str, element: str, account: Account) -> Floats:
    index = need(table, title)
    wanted = 'tenths of °C and a quality code such as "+0020,1"'
    matches = _matches(table, index, TEMPERATURE, wanted, account)
    tenths = np.array([np.nan if m is None or m[1] == "+9999" else int(m[1]) for m in matches])
    quality = ["9" if m is None else m[2] for m in matches]
    return _believed(tenths / 10, quality, element, account)


def _wind(table: Table, index: int, account: Account) -> tuple[Floats, Floats]:
    wanted = 'direction, code, kind, tenths of m/s, code such as "240,1,N,0031,1"'
    matches = _matches(table, index, WIND, wanted, account)
    direction = np.array([np.nan if m is None or m[1] == "999" else int(m[1]) for m in matches])
    speed = np.array([np.nan if m is None or m[4] == "9999" else int(m[4]) / 10 for m in matches])
    codes = [["9" if m is None else m[group] for m in matches] for group in (2, 5)]
    return (
        _believed(speed, codes[1], "wind_speed", account),
        _believed(direction, codes[0], "wind_from", account),
    )


def _hourly_rain(
    table: Table,
    time: Times,
    kinds: "np.typing.NDArray[np.str_]",
    account: Account,
) -> Readings:
    """Depth of one hour from the routine reports, the first of the cells that has it."""
    depth = np.full(len(table), np.nan)
    traces = 0
    titles = [title for title in RAIN_TITLES if table.index(title) is not None]
    for title in titles:
        index = need(table, title)
        matches = _matches(
            table, index, RAIN, 'hours, tenths of mm, codes such as "01,0005,9,1"', account
        )
        values = np.array([_depth(match) for match in matches])
        values = _believed(values, ["9" if m is None else m[4] for m in matches], "rain", account)
        traces += sum(m is not None and m[1] == "01" and m[3] == TRACE_CONDITION for m in matches)
        depth = np.where(np.isnan(depth), values, depth)
    if traces:
        account.tell(f"{number(traces, 'trace')} of rain counted as 0 mm.")
    routine = np.where(kinds == SPECIAL, np.datetime64("NaT", "m"), time)
    index = need(table, titles[0] if titles else "TMP")
    readings = table_readings(table, index, "rain", routine, depth)
    rank: Ints = np.zeros(readings.time.size, dtype=np.int64)
    return one_an_hour(readings, rank, Reports(0))


def _depth(match: re.Match[str] | None) -> float:
    """Rain of one hour in mm; NaN for another span or a missing depth."""
    if match is None or match[1] != "01" or match[2] == "9999":
        return float("nan")
    return 0.0 if match[3] == TRACE_CONDITION else int(match[2]) / 10
