"""Tables of the Canadian climate archive, daily or hourly, with a flag beside each value."""

import numpy as np
from numpy.typing import NDArray

from nuttery.exchange.weather.daily import daily_record
from nuttery.exchange.weather.errors import Account
from nuttery.exchange.weather.hourly import hourly_record
from nuttery.exchange.weather.numbers import numbers
from nuttery.exchange.weather.readings import Readings, table_readings
from nuttery.exchange.weather.record import Floats, Times, WeatherRecord
from nuttery.exchange.weather.source import Source
from nuttery.exchange.weather.table import Table
from nuttery.exchange.weather.telling import NAMES, number
from nuttery.exchange.weather.titled import (
    column_stamps,
    header_with,
    known_table,
    need,
    of_station,
    site_of,
)

NAME = "Canadian climate archive"
# title: element, title of its flag, factor to the unit of the house
DAILY = {
    "Max Temp (°C)": ("tmax", "Max Temp Flag", 1.0),
    "Min Temp (°C)": ("tmin", "Min Temp Flag", 1.0),
    "Total Precip (mm)": ("rain", "Total Precip Flag", 1.0),
}
HOURLY = {
    "Temp (°C)": ("temp", "Temp Flag", 1.0),
    "Rel Hum (%)": ("rh", "Rel Hum Flag", 1.0),
    "Wind Dir (10s deg)": ("wind_from", "Wind Dir Flag", 10.0),
    "Wind Spd (km/h)": ("wind_speed", "Wind Spd Flag", 1 / 3.6),
    "Precip. Amount (mm)": ("rain", "Precip. Amount Flag", 1.0),
}
STAMPS = ("Date/Time (LST)", "Date/Time")
DROPPED = {
    "A": "accumulated over several days",
    "C": "amount uncertain",
    "F": "accumulated and estimated",
    "L": "may not have occurred",
    "M": "missing",
    "N": "missing but above 0",
    "Y": "missing but below 0",
}
Flags = NDArray[np.str_]


def recognises(source: Source) -> bool:
    """Whether a header has the stamp, a value of this archive and its flag."""
    return _columns(source) is not None


def _columns(source: Source) -> tuple[str, dict[str, tuple[str, str, float]]] | None:
    for stamp in STAMPS:
        for columns in (DAILY, HOURLY):
            for title, (_, flag, _) in columns.items():
                if header_with(source, [stamp, title, flag]) is not None:
                    return stamp, columns
    return None


def read(source: Source, account: Account, station: str | None = None) -> WeatherRecord:
    """Days or hours of a table of the Canadian climate archive.

    Notes
    -----
    Source: legend of the archive's tables (T trace, E estimated, M missing, A accumulated and
        so on). Secondary source.
    Valid:  stamps are local standard time. Daily rain is the total precipitation, snow melted.
    Limits: the file does not tell its offset from UTC.
    """
    stamp, columns = _columns(source) or (STAMPS[1], DAILY)
    table = known_table(source, [stamp], account)
    table = of_station(table, "Station Name", station, account)
    when = column_stamps(table, stamp, account, style="year first")
    daily = columns is DAILY
    time = when.time.astype("datetime64[D]") if daily else when.time
    if not daily:
        account.tell("Stamps are local standard time, offset not told.")
    readings = [
        _readings(table, title, time, columns[title], account)
        for title in columns
        if table.index(title) is not None
    ]
    site = site_of(
        table,
        account,
        station=("Station Name", "Climate ID"),
        coordinates=("Latitude (y)", "Longitude (x)", "Elevation"),
    )
    if daily:
        return daily_record(source, NAME, readings, site=site, account=account)
    return hourly_record(source, NAME, readings, site=site, stamp="instant", account=account)


def _readings(
    table: Table,
    title: str,
    time: Times,
    column: tuple[str, str, float],
    account: Account,
) -> Readings:
    element, flag_title, factor = column
    index = need(table, title)
    written = numbers(table, index, account, trace=element == "rain").values
    flags = _flags(table, flag_title)
    values = _without_dropped(written, flags, element, account)
    if element == "rain":
        trace = (flags == "T") & ~(values > 0)
        values = np.where(trace, 0.0, values)
        if trace.any():
            account.tell(f"{number(int(trace.sum()), 'trace')} of rain counted as 0 mm.")
    return table_readings(table, index, element, time, values * factor)


def _flags(table: Table, title: str) -> Flags:
    index = table.index(title)
    cells = [""] * len(table) if index is None else table.columns[index]
    return np.array([cell.strip().upper() for cell in cells], dtype=np.str_)


def _without_dropped(values: Floats, flags: Flags, element: str, account: Account) -> Floats:
    dropped = np.isin(flags, list(DROPPED)) & np.isfinite(values)
    if dropped.any():
        kinds, counts = np.unique(flags[dropped], return_counts=True)
        why = ", ".join(f"{n:,} {DROPPED[str(k)]}" for k, n in zip(kinds, counts, strict=True))
        count = number(int(dropped.sum()), "value")
        account.tell(f"Dropped {count} of {NAMES[element]}: {why}.")
    estimated = (flags == "E") & np.isfinite(values)
    if estimated.any():
        count = number(int(estimated.sum()), "value")
        account.tell(f"{count} of {NAMES[element]} estimated by the archive.")
    return np.where(dropped, np.nan, values)
