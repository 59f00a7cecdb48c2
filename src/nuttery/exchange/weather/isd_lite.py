"""ISD-Lite: twelve whole numbers a line, one line an hour in UTC."""

import re

import numpy as np

from nuttery.exchange.weather.clock import day_number
from nuttery.exchange.weather.errors import Account
from nuttery.exchange.weather.hourly import hourly_record
from nuttery.exchange.weather.humidity import relative_humidity
from nuttery.exchange.weather.readings import Readings
from nuttery.exchange.weather.record import Floats, Ints, WeatherRecord
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
LINE = re.compile(r"\s*[12]\d{3}\s+\d{1,2}\s+\d{1,2}\s+\d{1,2}(\s+-?\d+){8}\s*", re.ASCII)
WHOLE = re.compile(r"-?\d+", re.ASCII)


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
    rows, lines = [], []
    for i, line in enumerate(source.lines, 1):
        cells = line.split()
        odd = next((cell for cell in cells if not WHOLE.fullmatch(cell) or len(cell) > 9), None)
        if odd is not None:
            account.fault(i, f"columns {line.index(odd) + 1}-", clip(odd), "a whole number")
        elif cells and len(cells) != 12:
            account.fault(i, None, f"{len(cells)} numbers", f"12: {FIELDS}")
        elif cells:
            rows.append([int(cell) for cell in cells])
            lines.append(i)
    return np.array(rows, dtype=np.int64).reshape(-1, 12), np.array(lines, dtype=np.int64)


def _times(rows: Ints, lines: Ints, account: Account) -> "np.typing.NDArray[np.datetime64]":
    minutes = np.full(len(rows), np.iinfo(np.int64).min)
    for i, (year, month, day, hour) in enumerate(rows[:, :4].tolist()):
        days = day_number(year, month, day)
        if days is None or not 0 <= hour <= 23:
            found = f"{year} {month:02d} {day:02d} {hour:02d}"
            account.fault(
                int(lines[i]), "columns 1-13", found, "year, month, day and hour 00 to 23"
            )
        else:
            minutes[i] = days * 1440 + hour * 60
    return minutes.view("datetime64[m]")


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


def _readings(
    name: str, time: "np.typing.NDArray[np.datetime64]", values: Floats, rows: Ints, lines: Ints
) -> Readings:
    column = {**TENTHS, "wind_from": 7, "rh": 5}[name]

    def place(i: int) -> tuple[int, str]:
        return int(lines[i]), COLUMNS[name]

    def written(i: int) -> str:
        return str(rows[i, column])

    return Readings(name, time, values, place, written)
