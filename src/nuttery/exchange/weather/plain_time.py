"""Which columns of a plain table tell the time, and the stamps they make."""

import re
from collections.abc import Sequence

from nuttery.exchange.weather.clock import Stamps, Style, stamps
from nuttery.exchange.weather.errors import Account
from nuttery.exchange.weather.table import Table
from nuttery.exchange.weather.units import plain_name

WHOLE = {"date", "day", "time", "datetime", "date_time", "timestamp", "time_stamp", "valid"}
STYLES: dict[str, Style] = {"dmy": "day first", "mdy": "month first", "ymd": "year first"}
SPELT: dict[str, Style] = {
    "dd_mm_yyyy": "day first",
    "mm_dd_yyyy": "month first",
    "yyyy_mm_dd": "year first",
}
OFFSET = re.compile(
    r"\b(?:utc|gmt)\s*(?:([+\-−]\s*\d{1,2})(?::?(\d{2}))?)?(?![+\-−\d])", re.IGNORECASE
)


def _bare(title: str) -> str:
    """Name of a time column without what it says of zone and style."""
    name = plain_name(re.split(r"[(\[]", title)[0])
    name = re.sub(r"_?(utc|gmt|local|lst|dmy|mdy|ymd)(_\d+)*$", "", name)
    return name or "time"


def time_columns(header: Sequence[str]) -> tuple[int, ...]:
    """Indices of the columns that tell the time; empty if there are none.

    Examples
    --------
    >>> time_columns(["date", "tmax_C"]), time_columns(["year", "month", "day", "hour", "temp_C"])
    ((0,), (0, 1, 2, 3))
    >>> time_columns(["station", "temp_C"])
    ()
    """
    names = [_bare(title) for title in header]
    index = {name: i for i, name in reversed(list(enumerate(names))) if header[i].strip()}
    if {"year", "month", "day"} <= index.keys():
        index = {"minute": index["min"], **index} if {"hour", "min"} <= index.keys() else index
        parts = ("year", "month", "day", "hour", "minute")
        return tuple(index[part] for part in parts if part in index)
    if "date" in index:
        clock = next((index[name] for name in ("time", "hour") if name in index), None)
        return (index["date"],) if clock is None else (index["date"], clock)
    return next(((i,) for name, i in index.items() if name in WHOLE), ())


def has_time(header: Sequence[str]) -> bool:
    """Whether the columns of this header tell the time."""
    return bool(time_columns(header))


def times(table: Table, account: Account) -> Stamps:
    """Stamps of the rows of a table."""
    used = time_columns(table.header)
    titles = [table.header[i] for i in used]
    cells = _joined([table.columns[i] for i in used])

    def place(i: int) -> tuple[int, str]:
        return table.lines[i], table.column(used[0])

    found = stamps(cells, place, account, style=_style(titles[0]))
    return _with_zone(found, titles, table, account)


def _joined(columns: list[tuple[str, ...]]) -> list[str]:
    """One cell a row, from date and time or from year, month, day and hour."""
    if len(columns) == 1:
        return list(columns[0])
    if len(columns) == 2:
        return [f"{day.strip()} {_clock(clock)}" for day, clock in zip(*columns, strict=True)]
    rows = zip(*columns, strict=True)
    return [_from_parts([part.strip() for part in row]) for row in rows]


def _clock(cell: str) -> str:
    cell = cell.strip()
    if re.fullmatch(r"\d{1,2}", cell, re.ASCII):
        return f"{cell}:00"
    if re.fullmatch(r"\d{3,4}", cell, re.ASCII):
        return f"{cell[:-2]}:{cell[-2:]}"
    return cell


def _from_parts(parts: list[str]) -> str:
    day = "-".join(parts[:3])
    if len(parts) == 3:
        return day
    if len(parts) == 4:
        return f"{day} {_clock(parts[3])}"
    return f"{day} {parts[3]}:{parts[4].zfill(2)}"


def _style(title: str) -> Style | None:
    name = plain_name(title)
    spelt = (style for spelling, style in SPELT.items() if name.endswith(spelling))
    return STYLES.get(name.rsplit("_", 1)[-1]) or next(spelt, None)


def _with_zone(found: Stamps, titles: list[str], table: Table, account: Account) -> Stamps:
    """Stamps with the offset that the header names."""
    if not found.clock:
        return found
    zones = [OFFSET.search(title.replace("_", " ")) for title in titles]
    zone = next((match for match in zones if match), None)
    offset = found.utc_offset
    if zone:
        hours = int((zone[1] or "0").replace("−", "-").replace(" ", ""))
        named = hours + (int(zone[2] or 0) / 60) * (-1 if hours < 0 else 1)
        if offset not in {None, named}:
            account.fault(
                table.header_line,
                None,
                f"UTC{named:+g} in the header",
                f"UTC{offset:+g} as in the rows",
            )
        offset = named
    told = (
        f"Stamps are {'UTC' if offset == 0 else f'UTC{offset:+g} h'}."
        if offset is not None
        else "The file does not tell its time zone; stamps are taken as local standard time."
    )
    return Stamps(found.time, found.clock, offset, (*found.told, told))


def whole_days(found: Stamps) -> Stamps:
    """The same stamps as days."""
    return Stamps(found.time.astype("datetime64[D]"), clock=False, told=found.told)
