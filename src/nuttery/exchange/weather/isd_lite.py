"""ISD-Lite: twelve whole numbers a line, one line an hour in UTC."""

import re

import numpy as np

from nuttery.exchange.weather.clock import times_of
from nuttery.exchange.weather.errors import Account
from nuttery.exchange.weather.hourly import hourly_record
from nuttery.exchange.weather.humidity import relative_humidity
from nuttery.exchange.weather.readings import Readings
from nuttery.exchange.weather.record import Floats, Ints, Times, WeatherRecord
from nuttery.exchange.weather.site import Site
from nuttery.exchange.weather.source import Source
from nuttery.exchange.weather.table import clip
from nuttery.exchange.weather.telling import number

NAME = "ISD-Lite"
MISSING = -9999
TRACE = -1
FIELDS = (
    "year, month, day, hour, temperature, dew point, pressure, wind direction, wind speed, sky, "
    "rain of 1 h, rain of 6 h"
)
COLUMNS = {
    "temp": "columns 14-19",
    "rh": "columns 20-25",
    "wind_from": "columns 32-37",
    "wind_speed": "columns 38-43",
    "rain": "columns 50-55",
}
TENTHS = {"temp": 4, "wind_speed": 8, "rain": 10}
FIELD_COUNT = 12
LINE = re.compile(r"\s*[12]\d{3}(?:\s+\d{1,2}){3}(?:\s+-?\d{1,6}){8}\s*", re.ASCII)
WHOLE = re.compile(r"-?\d{1,6}", re.ASCII)


def recognises(source: Source) -> bool:
    """Whether one of the first lines is twelve whole numbers that begin with an hour."""
    return any(LINE.fullmatch(line) for line in source.lines[:20])


def read(source: Source, account: Account, station: str | None = None) -> WeatherRecord:
    """Hours of an ISD-Lite file.

    Notes
    -----
    Source: NOAA, ISD-Lite format document: fields, tenths, -9999 = missing, rain -1 = trace.
        Published (the fields), secondary source (the rain).
    Valid:  the archive has put each observation to the nearest full hour.
    Limits: no station in the file; relative humidity is computed from the dew point.
    """
    rows, lines = _rows(source, account)
    time = _times(rows, lines, account)
    good = ~np.isnat(time)
    rows, lines, time = rows[good], lines[good], time[good]
    account.tell("Stamps are UTC, observations put to the nearest full hour by the archive.")
    values = _values(rows, account)
    readings = [_readings(name, time, series, rows, lines) for name, series in values.items()]
    site = Site(station=station, utc_offset=0.0)
    return hourly_record(source, NAME, readings, site=site, stamp="instant", account=account)


def _rows(source: Source, account: Account) -> tuple[Ints, Ints]:
    """Numbers and line of each good line; the others are faults."""
    lines = [i for i, line in enumerate(source.lines, 1) if LINE.fullmatch(line)]
    known = set(lines)
    for i, line in enumerate(source.lines, 1):
        if i not in known and line.strip():
            _fault(i, line, account)
    text = " ".join(source.lines[i - 1] for i in lines)
    numbers = np.array(text.split(), dtype=np.int64).reshape(-1, FIELD_COUNT)
    return numbers, np.array(lines, dtype=np.int64)


def _fault(i: int, line: str, account: Account) -> None:
    cells = line.split()
    odd = next((cell for cell in cells if not WHOLE.fullmatch(cell)), None)
    if odd is not None:
        account.fault(i, f"columns {line.index(odd) + 1}-", clip(odd), "a whole number")
    elif len(cells) != FIELD_COUNT:
        account.fault(i, None, f"{len(cells)} numbers", f"{FIELD_COUNT}: {FIELDS}")
    else:
        account.fault(i, "columns 1-13", clip(line[:13]), "year, month, day and hour")


def _times(rows: Ints, lines: Ints, account: Account) -> Times:
    minute = np.zeros((len(rows), 1), dtype=np.int64)
    time = times_of(np.hstack([rows[:, :4], minute]))
    for i in np.flatnonzero(np.isnat(time)):
        year, month, day, hour = rows[i, :4]
        found = f"{year} {month:02d} {day:02d} {hour:02d}"
        wanted = "year, month, day and hour 00 to 23"
        account.fault(int(lines[i]), "columns 1-13", found, wanted)
    return time


def _values(rows: Ints, account: Account) -> dict[str, Floats]:
    written = np.where(rows == MISSING, np.nan, rows.astype(np.float64))
    values = {name: written[:, column] / 10 for name, column in TENTHS.items()}
    trace = rows[:, TENTHS["rain"]] == TRACE
    values["rain"][trace] = 0
    values["wind_from"] = written[:, 7]
    values["rh"] = relative_humidity(values["temp"], written[:, 5] / 10)
    account.tell("Relative humidity computed from temperature and dew point.")
    if trace.any():
        account.tell(f"{number(int(trace.sum()), 'trace')} of rain counted as 0 mm.")
    return values


def _readings(name: str, time: Times, values: Floats, rows: Ints, lines: Ints) -> Readings:
    column = {**TENTHS, "wind_from": 7, "rh": 5}[name]

    def place(i: int) -> tuple[int, str]:
        return int(lines[i]), COLUMNS[name]

    def written(i: int) -> str:
        return str(rows[i, column])

    return Readings(name, time, values, place, written)
