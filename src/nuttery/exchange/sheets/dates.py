"""Dates as people type them; which of day, month and year comes first is never guessed."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from nuttery.exchange.sheets.faults import CellFault

DayOrder = Literal["day first", "month first", "year first"]
_MONTHS = (
    *("january", "february", "march", "april", "may", "june"),
    *("july", "august", "september", "october", "november", "december"),
)
_NUMERIC = re.compile(r"(\d{1,4})\s*[./\- ]\s*(\d{1,2})\s*[./\- ]\s*(\d{1,4})\.?")
_ISO = re.compile(r"\d{4}-\d{1,2}-\d{1,2}")
_WORDS = (
    re.compile(
        r"(?P<d>\d{1,2})(?:st|nd|rd|th|\.)?[\s\-/]+(?P<m>[a-z]{3,9})\.?,?[\s\-/]+(?P<y>\d{4})"
    ),
    re.compile(r"(?P<m>[a-z]{3,9})\.?\s+(?P<d>\d{1,2})(?:st|nd|rd|th)?,?\s+(?P<y>\d{4})"),
)


@dataclass(frozen=True)
class DateStyle:
    """Which of day and month comes first in the dates of a file, and how that is known.

    `order` is None if no date needs it, or if it cannot be told (`ambiguous`).
    """

    order: DayOrder | None
    declared: bool = False
    ambiguous: bool = False
    examples: tuple[tuple[str, date], ...] = ()


def date_style(texts: Iterable[str], declared: DayOrder | None = None) -> DateStyle:
    """Date style of a file, from all its dates taken together.

    Notes
    -----
    A single date such as 13/04/2027 settles the order for the file; where every number is 12
    or less, or the year has two digits, the order is ambiguous and has to be declared.

    Examples
    --------
    >>> date_style(["3/4/2027", "13/4/2027"]).order
    'day first'
    >>> date_style(["3/4/2027", "4/5/2027"]).ambiguous
    True
    """
    numeric = [t for t in dict.fromkeys(texts) if _NUMERIC.fullmatch(t) and not _ISO.fullmatch(t)]
    if declared is not None:
        return DateStyle(declared, declared=True, examples=_examples(numeric, declared))
    found: DayOrder | None = _order(numeric)
    return DateStyle(
        found, ambiguous=bool(numeric) and found is None, examples=_examples(numeric, found)
    )


def _order(numeric: list[str]) -> DayOrder | None:
    votes: set[DayOrder] = set()
    for text in numeric:
        first, second, third = _numbers(text)
        if len(first) > 2 or int(first) > 31:
            votes.add("year first")
        elif len(third) < 3 and int(third) <= 31:
            continue  # 26-09-20 may begin or end with its year
        elif int(first) > 12:
            votes.add("day first")
        elif int(second) > 12:
            votes.add("month first")
    # Where some dates start with the year the others may still be of either order.
    votes = votes - {"year first"} if len(votes) > 1 else votes
    return votes.pop() if len(votes) == 1 else None


def _numbers(text: str) -> tuple[str, str, str]:
    match = _NUMERIC.fullmatch(text)
    if match is None:
        raise CellFault(repr(text), "a date such as 2027-04-12")
    return match[1], match[2], match[3]


def _examples(numeric: list[str], order: DayOrder | None) -> tuple[tuple[str, date], ...]:
    found = []
    for text in numeric:
        try:
            found.append((text, _numeric_date(text, DateStyle(order))))
        except CellFault:
            continue
        if len(found) == 2:
            break
    return tuple(found)


def read_date(text: str, style: DateStyle) -> date:
    """Return the date that a text tells.

    Raises
    ------
    CellFault
        If it is no date, or its order is not known.

    Examples
    --------
    >>> read_date("12 April 2027", DateStyle(None)), read_date("3.4.27", DateStyle("day first"))
    (datetime.date(2027, 4, 12), datetime.date(2027, 4, 3))
    """
    clean = " ".join(text.split()).lower()
    for pattern in _WORDS:
        match = pattern.fullmatch(clean)
        month = _month(match["m"]) if match else None
        if match and month:
            return _made(text, int(match["y"]), month, int(match["d"]))
    if not _NUMERIC.fullmatch(clean):
        raise CellFault(repr(text), "a date such as 2027-04-12")
    return _numeric_date(clean, style)


def _month(word: str) -> int | None:
    fits = [k for k, month in enumerate(_MONTHS, start=1) if month.startswith(word)]
    return fits[0] if len(fits) == 1 else None


def _numeric_date(text: str, style: DateStyle) -> date:
    first, second, third = _numbers(text)
    if len(first) > 2:
        return _made(text, int(first), int(second), int(third))
    if style.order is None:
        raise CellFault(*_unclear(text))
    if style.order == "year first":
        return _made(text, _year(first, text), int(second), int(third))
    day, month = (first, second) if style.order == "day first" else (second, first)
    return _made(text, _year(third, text), int(month), int(day))


_ORDERS: tuple[DayOrder, ...] = ("day first", "month first", "year first")


def _unclear(text: str) -> tuple[str, str]:
    readings: dict[str, None] = {}
    for order in _ORDERS:
        try:
            day = _numeric_date(text, DateStyle(order))
        except CellFault:
            continue
        readings[f"{day.day} {day:%B %Y}"] = None
    told = f" ({' or '.join(readings)}?)" if readings else ""
    orders = ", ".join(f'"{order}"' for order in _ORDERS)
    return f"{text!r}{told}", f"dates of which the order is known: declare one of {orders}"


def _year(digits: str, text: str) -> int:
    if len(digits) == 4:
        return int(digits)
    if len(digits) == 2:
        return 1900 + int(digits) if int(digits) >= 70 else 2000 + int(digits)
    raise CellFault(repr(text), "a year of four digits")


def _made(text: str, year: int, month: int, day: int) -> date:
    try:
        return date(year, month, day)
    except ValueError as problem:
        raise CellFault(repr(text), f"a day that there is ({problem})") from None


def day_of(value: object, style: DateStyle) -> date:
    """Return the day that a cell tells, typed as a date or written as text."""
    if isinstance(value, datetime):
        if value.time() != datetime.min.time():
            raise CellFault(str(value), "a day alone, with the time in its own column")
        return value.date()
    if isinstance(value, date):
        return value
    if isinstance(value, str):
        return read_date(value, style)
    raise CellFault(repr(value), "a date such as 2027-04-12, in a cell that holds a date")
