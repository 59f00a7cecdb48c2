"""GHCN-Daily station files (`.dly`): a line is one month of one element at one station."""

import re
from calendar import month_name

import numpy as np
from numpy.typing import NDArray

from nuttery.exchange.weather.archive_flags import ELEMENTS, MISSING, believed, told_flags
from nuttery.exchange.weather.daily import daily_record
from nuttery.exchange.weather.errors import Account
from nuttery.exchange.weather.readings import Readings
from nuttery.exchange.weather.record import Bools, Ints, WeatherRecord
from nuttery.exchange.weather.site import Site
from nuttery.exchange.weather.source import Source

NAME = "GHCN-Daily .dly"
WIDTH = 269
FIRST, DAY = 21, 8  # the value of day d stands in columns 22 + 8 (d − 1) to 26 + 8 (d − 1)
HEAD = re.compile(r"[A-Z]{2}[A-Z0-9][A-Z0-9_\-]{8}\d{4}(0[1-9]|1[0-2])[A-Z][A-Z0-9]{3}", re.ASCII)
VALUE = re.compile(r" *-?\d+", re.ASCII)
HEAD_WANTED = "station (11 letters or digits), year, month 01 to 12 and element (4 letters)"
Bytes = NDArray[np.bytes_]


def recognises(source: Source) -> bool:
    """Whether one of the first lines begins as a month of GHCN-Daily does."""
    return any(HEAD.match(line) and len(line) > 30 for line in source.lines[:50])


def read(source: Source, account: Account, station: str | None = None) -> WeatherRecord:
    """Days of a GHCN-Daily station file.

    Notes
    -----
    Source: NOAA, readme of GHCN-Daily, section III (format of the data files). Published.
    Valid:  TMAX, TMIN in tenths of °C and PRCP in tenths of mm; other elements are passed over.
    Limits: a volunteer's day may end in the morning, so that a maximum may belong to the day
        before; the file does not tell the hour of observation.
    """
    months = [_month(source, i, account) for i, line in enumerate(source.lines) if line.strip()]
    kept = [month for month in months if month is not None]
    _one_station({line[:11]: i for i, line in reversed(kept)}, station, account)
    if station is not None:
        kept = [month for month in kept if month[1].startswith(station)]
    readings = [
        _readings(name, [month for month in kept if month[1][17:21] == code], account)
        for code, name in ELEMENTS.items()
    ]
    others = sorted({line[17:21] for _, line in kept} - ELEMENTS.keys())
    if others:
        account.tell(f"Not used: {', '.join(others)}.")
    account.tell(
        "A volunteer's day may end in the morning; this format has no hour of observation."
    )
    site = Site(station=kept[0][1][:11] if kept else None)
    return daily_record(source, NAME, readings, site=site, account=account)


def _month(source: Source, i: int, account: Account) -> tuple[int, str] | None:
    line = source.lines[i]
    if len(line) != WIDTH:
        account.fault(i + 1, None, f"{len(line)} characters", f"{WIDTH}")
    elif not HEAD.match(line):
        account.fault(i + 1, "columns 1-21", f'"{line[:21]}"', HEAD_WANTED)
    elif not line.isascii():
        account.fault(i + 1, None, "a letter outside ASCII", "plain ASCII")
    else:
        return i + 1, line
    return None


def _one_station(stations: dict[str, int], wanted: str | None, account: Account) -> None:
    if wanted is None and len(stations) > 1:
        names = ", ".join(sorted(stations)[:5])
        line = sorted(stations.values())[1]
        account.refuse(line, "columns 1-11", f"{len(stations)} stations ({names})", "one; name it")
    if wanted is not None and wanted not in stations:
        names = ", ".join(sorted(stations)[:5])
        account.refuse(None, "columns 1-11", names or "no station", f"station {wanted}")


def _readings(name: str, months: list[tuple[int, str]], account: Account) -> Readings:
    """One element: all days of all its months, in the order of the file."""
    months = _each_once(months, account)
    lines = np.array([line for line, _ in months], dtype=np.int64)
    cells = np.array([text.encode() for _, text in months], dtype=f"S{WIDTH}").view("S1")
    cells = cells.reshape(len(months), WIDTH)[:, FIRST:].reshape(len(months), 31, DAY)
    first = np.array([f"{text[11:15]}-{text[15:17]}" for _, text in months], "datetime64[M]")
    tenths = _tenths(cells, lines, account)
    exists = _days_of(first)[:, None] > np.arange(31)
    _refuse_impossible_days(tenths, exists, first, lines, account)
    # ASCII bytes become letters by widening, a tenth of the time that decoding takes.
    flags = cells[:, :, 5:7].view(np.uint8).astype(np.uint32).view("U1")
    present = exists & (tenths != MISSING)
    good = believed(present, flags[:, :, 1])
    values = np.where(good, tenths / 10, np.nan)
    account.tell(*told_flags(name, present, flags[:, :, 0], flags[:, :, 1]))
    days = first.astype("datetime64[D]")[:, None] + np.arange(31).astype("timedelta64[D]")
    month_of, day_of = np.nonzero(exists)

    def place(i: int) -> tuple[int, str]:
        return int(lines[month_of[i]]), columns(int(day_of[i]))

    def written(i: int) -> str:
        return f"{tenths[month_of[i], day_of[i]]}"

    return Readings(name, days[exists], values[exists], place, written)


def columns(day: int) -> str:
    """Columns in which the value of a day stands, the first of a month being day 0.

    Examples
    --------
    >>> columns(0), columns(30)
    ('columns 22-26', 'columns 262-266')
    """
    start = FIRST + 1 + DAY * day
    return f"columns {start}-{start + 4}"


def _days_of(first: NDArray[np.datetime64]) -> Ints:
    lengths = (first + 1).astype("datetime64[D]") - first.astype("datetime64[D]")
    days: Ints = lengths.astype(np.int64)
    return days


def _each_once(months: list[tuple[int, str]], account: Account) -> list[tuple[int, str]]:
    seen: dict[str, tuple[int, str]] = {}
    for line, text in months:
        month = f"{text[17:21]} of {month_name[int(text[15:17])]} {text[11:15]}"
        if month in seen:
            found = f"{month} again (first in line {seen[month][0]})"
            account.fault(line, "columns 12-21", found, "each month once")
        seen.setdefault(month, (line, text))
    return list(seen.values())


def _tenths(cells: Bytes, lines: Ints, account: Account) -> Ints:
    """Values as written; a cell that is no whole number is a fault and counts as missing."""
    texts = np.ascontiguousarray(cells[:, :, :5]).view("S5").reshape(cells.shape[:2])
    whole = {text: bool(VALUE.fullmatch(text.decode().ljust(5))) for text in np.unique(texts)}
    for text in (text for text, good in whole.items() if not good):
        for month, day in np.argwhere(texts == text):
            found = f'"{text.decode().ljust(5)}"'
            account.fault(int(lines[month]), columns(int(day)), found, "a whole number or -9999")
        texts = np.where(texts == text, str(MISSING).encode(), texts)
    return texts.astype(np.int64)


def _refuse_impossible_days(
    tenths: Ints, exists: Bools, first: NDArray[np.datetime64], lines: Ints, account: Account
) -> None:
    for month, day in np.argwhere(~exists & (tenths != MISSING)):
        found = f"{tenths[month, day]} on day {day + 1} of {first[month]}"
        account.fault(
            int(lines[month]), columns(int(day)), found, "-9999, the month has no such day"
        )
