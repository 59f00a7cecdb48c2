"""Dates and times of day as people and loggers write them; what is ambiguous is never guessed."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

import numpy as np

from nuttery.exchange.weather.errors import Account
from nuttery.exchange.weather.readings import Place
from nuttery.exchange.weather.record import Ints, Times
from nuttery.exchange.weather.table import clip
from nuttery.exchange.weather.telling import number

Style = Literal["year first", "day first", "month first"]
YEARS = range(1700, 2200)
EPOCH = date(1970, 1, 1).toordinal()
NOT_A_TIME = np.iinfo(np.int64).min
WANTED = "a date such as 2027-05-03, or date and time such as 2027-05-03 14:00"
DATE_ONLY = 10
FARTHEST_ZONE = 14 * 60
UNIFORM = re.compile(r"(?:\d{4}-\d\d-\d\d(?:[T ]\d\d:\d\d(?::\d\d)?)?)+", re.ASCII)
CELL = re.compile(
    r"""(?:(?P<y>\d{4})(?P<sep>[-/.]?)(?P<m>\d{1,2})(?P=sep)(?P<d>\d{1,2})
          |(?P<a>\d{1,2})(?P<sep2>[-/.])(?P<b>\d{1,2})(?P=sep2)(?P<y2>\d{4}))
        (?:[T\ ]+(?P<H>\d{1,2}):(?P<M>\d{2})(?::(?P<S>\d{2})(?:\.\d+)?)?
          \ ?(?P<half>[AaPp]\.?[Mm]\.?)?
          \ ?(?P<zone>Z|UTC|GMT|[+-]\d{2}(?::?\d{2})?)?)?""",
    re.ASCII | re.VERBOSE,
)


@dataclass(frozen=True)
class Stamps:
    """Times of a column of cells.

    Attributes
    ----------
    time : (n,) datetime64[m], NaT where a cell was a fault; local if `utc_offset` is not None
    clock : whether the cells have a time of day
    utc_offset : hours ahead of UTC, None where the cells do not tell
    told : how the stamps were read
    """

    time: Times
    clock: bool
    utc_offset: float | None = None
    told: tuple[str, ...] = ()


@dataclass
class _Parsed:
    minutes: list[int] = field(default_factory=list)
    offsets: set[int | None] = field(default_factory=set)
    clocked: int = 0
    midnights: int = 0


def stamps(
    cells: Sequence[str], place: Place, account: Account, *, style: Style | None = None
) -> Stamps:
    """Times of a column of cells.

    Parameters
    ----------
    cells : (n,) as written
    place : line and column of cell i
    account : of the file, for faults and for what is told
    style : order of day and month where a date does not begin with the year; None = found out
        from the whole column
    """
    if (quick := _uniform(cells)) is not None:
        return Stamps(quick, len(cells[0]) > DATE_ONLY)
    matches = [CELL.fullmatch(cell.strip()) for cell in cells]
    order = style or _style(matches, place, account)
    parsed = _Parsed()
    for i, match in enumerate(matches):
        minutes = _minutes(match, order, parsed) if match else None
        if minutes is None:
            account.fault(*place(i), clip(cells[i].strip()), WANTED)
        parsed.minutes.append(NOT_A_TIME if minutes is None else minutes)
    if 0 < parsed.clocked < sum(match is not None for match in matches):
        odd = next(i for i, match in enumerate(matches) if match and not match["H"])
        account.fault(*place(odd), clip(cells[odd].strip()), "a time of day as in the other rows")
    if None in parsed.offsets and len(parsed.offsets) > 1:
        odd = next(i for i, m in enumerate(matches) if m and m["H"] and not m["zone"])
        account.fault(*place(odd), clip(cells[odd].strip()), "an offset from UTC as in other rows")
    return _stamps(parsed, order, matches)


def _uniform(cells: Sequence[str]) -> Times | None:
    """Times of cells that are all alike and in ISO order; None for any other column.

    One look at all cells together takes a tenth of the time of taking each apart.
    """
    if len({len(cell) for cell in cells}) != 1 or not UNIFORM.fullmatch("".join(cells)):
        return None
    try:
        time: Times = np.array(cells, dtype="datetime64[s]").astype("datetime64[m]")
    except ValueError:
        return None
    years = time[[time.argmin(), time.argmax()]].astype("datetime64[Y]").astype(np.int64) + 1970
    return time if years[0] in YEARS and years[1] in YEARS else None


def _stamps(
    parsed: _Parsed, order: Style | None, matches: Sequence[re.Match[str] | None]
) -> Stamps:
    told = []
    if order not in {None, "year first"} and any(match and match["a"] for match in matches):
        told.append(f"Dates read {order}.")
    if parsed.midnights:
        told.append(f"{number(parsed.midnights, 'stamp')} of 24:00 read as 00:00 of the next day.")
    zones = parsed.offsets - {None}
    time = np.array(parsed.minutes, dtype=np.int64)
    offset = None
    if zones:
        # A row was brought to UTC as it was read; all get the offset of standard time.
        standard = min(zone for zone in zones if zone is not None)
        time[time != NOT_A_TIME] += standard
        offset = standard / 60
        if len(zones) > 1:
            told.append(f"Several UTC offsets, all brought to {offset:+g} h (standard time).")
    return Stamps(time.view("datetime64[m]"), parsed.clocked > 0, offset, tuple(told))


def _style(matches: Sequence[re.Match[str] | None], place: Place, account: Account) -> Style | None:
    """Order of day and month in a column, from the days after the twelfth."""
    pairs = [(i, m) for i, m in enumerate(matches) if m and m["a"]]
    if not pairs:
        return "year first"
    if all(m["sep2"] == "." for _, m in pairs):
        return "day first"
    first = next((i for i, m in pairs if int(m["a"]) > 12), None)
    second = next((i for i, m in pairs if int(m["b"]) > 12), None)
    if first is not None and second is not None:
        match = matches[second]
        found = clip(match[0] if match else "")
        account.fault(*place(second), found, f"day first as in line {place(first)[0]}")
    if first is None and second is None:
        found = f"{clip(pairs[0][1][0])}, day or month first"
        account.fault(
            *place(pairs[0][0]), found, "year-month-day, or a column date_dmy or date_mdy"
        )
    return "month first" if first is None else "day first"


def _minutes(match: re.Match[str], order: Style | None, parsed: _Parsed) -> int | None:
    """Minutes since 1970, in UTC if the cell has an offset; None if there is no such time."""
    day = _day(match, order)
    if day is None:
        return None
    if match["H"] is None:
        return day * 1440
    parsed.clocked += 1
    hour, minute, second = int(match["H"]), int(match["M"]), int(match["S"] or 0)
    if match["half"]:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + 12 * (match["half"][0] in "Pp")
    midnight = (hour, minute, second) == (24, 0, 0)
    if (hour > 23 and not midnight) or minute > 59 or second > 59:
        return None
    parsed.midnights += midnight
    zone = _zone(match["zone"])
    if zone is not None and abs(zone) > FARTHEST_ZONE:
        return None
    parsed.offsets.add(zone)
    return day * 1440 + hour * 60 + minute - (zone or 0)


def _day(match: re.Match[str], order: Style | None) -> int | None:
    if match["y"]:
        if not match["sep"] and len(match["m"] + match["d"]) != 4:
            return None
        year, month, day = int(match["y"]), int(match["m"]), int(match["d"])
    else:
        year, month, day = int(match["y2"]), int(match["b"]), int(match["a"])
        if order == "month first":
            month, day = day, month
    return day_number(year, month, day)


def day_number(year: int, month: int, day: int) -> int | None:
    """Days since 1 January 1970, or None if there is no such day from 1700 to 2199.

    Examples
    --------
    >>> day_number(1970, 1, 2), day_number(2026, 2, 30)
    (1, None)
    """
    if year not in YEARS:
        return None
    try:
        return date(year, month, day).toordinal() - EPOCH
    except ValueError:
        return None


def times_of(parts: Ints) -> Times:
    """Times from numbers; NaT where there is no such time from 1700 to 2199.

    Parameters
    ----------
    parts : (n, 5) int, year, month, day, hour 0 to 23, minute 0 to 59

    Examples
    --------
    >>> times_of(np.array([[2024, 2, 29, 23, 30], [2025, 2, 29, 0, 0]]))
    array(['2024-02-29T23:30', 'NaT'], dtype='datetime64[m]')
    """
    year, month, day, hour, minute = parts.T
    known = (year >= YEARS.start) & (year < YEARS.stop) & (month >= 1) & (month <= 12)
    first = np.where(known, (year - 1970) * 12 + month - 1, 0).astype("datetime64[M]")
    length = ((first + 1).astype("datetime64[D]") - first.astype("datetime64[D]")).astype(np.int64)
    known &= (day >= 1) & (day <= length) & (hour >= 0) & (hour <= 23)
    known &= (minute >= 0) & (minute <= 59)
    minutes = first.astype("datetime64[m]").astype(np.int64) + (day - 1) * 1440 + hour * 60 + minute
    return np.where(known, minutes, NOT_A_TIME).view("datetime64[m]")


def _zone(text: str | None) -> int | None:
    if text is None:
        return None
    if text in {"Z", "UTC", "GMT"}:
        return 0
    digits = text[1:].replace(":", "").ljust(4, "0")
    return (int(digits[:2]) * 60 + int(digits[2:])) * (-1 if text[0] == "-" else 1)


def whole(text: str) -> int:
    """A whole number of at most four digits, or −1, which no date or hour has.

    Examples
    --------
    >>> whole(" 07 "), whole("7.5")
    (7, -1)
    """
    return int(text) if re.fullmatch(r"\s*\d{1,4}\s*", text, re.ASCII) else -1
