"""One cell: from what stands in it to the value of an entry, in stored units."""

import csv
import io
import math
import re
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Literal
from uuid import UUID

from nuttery.exchange.sheets.columns import Column
from nuttery.exchange.sheets.dates import DateStyle, day_of
from nuttery.exchange.sheets.faults import CellFault, listed, near_miss
from nuttery.records import Quantity, System, read_quantity, unit_of

BLANKS = " \t\n\r\v\f\x85\xa0\u1680\u2028\u2029\u202f\u205f\u3000" + "".join(
    map(chr, range(0x2000, 0x200B))
)
DecimalMark = Literal[".", ","]
_NUMBER_START = re.compile(r"[-+\u2212]?\d*([.,])(\d+)")
_TRUE, _FALSE = {"yes", "y", "true"}, {"no", "n", "false"}


class Typed(str):
    """Text that stands for a number of a spreadsheet, so its decimal mark is known."""

    __slots__ = ()


@dataclass(frozen=True)
class Broken:
    """A cell that holds no value to read."""

    found: str
    expected: str


@dataclass(frozen=True)
class Reading:
    """How the cells of a file are to be read."""

    units: System
    dates: DateStyle = field(default_factory=lambda: DateStyle(None))
    decimal: DecimalMark = "."


def is_blank(value: object) -> bool:
    """Whether nothing stands in a cell."""
    return value is None or (isinstance(value, str) and not value.strip(BLANKS))


def shown_cell(value: object) -> str:
    """Return what stands in a cell, as a person sees it, for a message."""
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, datetime) and value.time() == time(0):
        return str(value.date())
    if isinstance(value, date | time | timedelta):
        return str(value)
    if isinstance(value, int | float):
        return f"{value:.15g}"
    told = repr(str(value).strip(BLANKS))
    return told if len(told) <= 60 else f"{told[:57]}...'"


def read_cell(value: object, column: Column, unit: str, how: Reading) -> object:
    """Return the value of an entry, as JSON would hold it.

    Raises
    ------
    CellFault
        With what was found and what is expected.

    Examples
    --------
    >>> from nuttery.exchange.sheets.columns import layout_of
    >>> base = next(c for c in layout_of("rings_counted").columns if c.label == "cane base")
    >>> read_cell("3.4 in", base, "mm", Reading("metric"))
    86.36
    """
    if isinstance(value, Broken):
        raise CellFault(value.found, value.expected)
    text = value.strip(BLANKS) if isinstance(value, str) else value
    if column.several:
        return [_read_one(word, column, unit, how) for word in _words(text)]
    return _read_one(text, column, unit, how)


def _words(value: object) -> list[object]:
    if not isinstance(value, str):
        return [value]
    row = next(csv.reader(io.StringIO(value), delimiter=";", skipinitialspace=True))
    return [word.strip(BLANKS) for word in row if word.strip(BLANKS)]


def joined_words(words: tuple[str, ...]) -> str:
    """Several words in one cell, such that they can be told apart again."""
    out = io.StringIO()
    csv.writer(out, delimiter=";", lineterminator="").writerow(words)
    return out.getvalue()


def _read_one(value: object, column: Column, unit: str, how: Reading) -> object:
    if column.choices:
        return _choice(value, column.choices)
    if column.holds == "number":
        return _number(value, column, unit, how)
    if column.holds == "whole":
        return _whole(value, how)
    if column.holds == "day":
        return day_of(value, how.dates).isoformat()
    plain = {"yes": _yes, "time": _time, "moment": _moment, "id": _id, "text": _text}
    return plain[column.holds](value)


def _choice(value: object, choices: tuple[str, ...]) -> str:
    folded = {c.casefold(): c for c in choices}
    text = _text(value) if not isinstance(value, bool) else shown_cell(value)
    if text.casefold() in folded:
        return folded[text.casefold()]
    raise CellFault(shown_cell(value), f"one of: {listed(choices)}", near_miss(text, choices))


def _text(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, float):
        return f"{value:.0f}" if value.is_integer() and abs(value) < 1e15 else repr(value)
    if isinstance(value, str):
        return str(value)
    raise CellFault(
        f"the date or time {shown_cell(value)}",
        "text (format the column as text, so that the spreadsheet program makes no date of it)",
    )


def _number(value: object, column: Column, unit: str, how: Reading) -> float:
    expected = _expected_number(column, how.units)
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise CellFault(shown_cell(value), expected)
    text = str(value) if isinstance(value, str) else repr(value)
    if isinstance(value, str) and not isinstance(value, Typed):
        check_decimal(text, how.decimal)
    if column.entry.quantity is None:
        return _quantity(text, "count", "metric", value, expected)
    if re.search(r"[\d.,]\s*$", text):
        text = f"{text} {unit}"
    return _quantity(text, column.entry.quantity, how.units, value, expected)


def _quantity(text: str, quantity: Quantity, units: System, value: object, expected: str) -> float:
    try:
        number = read_quantity(text, quantity, units)
    except ValueError:
        raise CellFault(shown_cell(value), expected) from None
    if not math.isfinite(number):
        raise CellFault(shown_cell(value), expected)
    return number


def _expected_number(column: Column, units: System) -> str:
    symbol = unit_of(column.entry.quantity, units).symbol if column.entry.quantity else ""
    return f"a number in {symbol}" if symbol else "a number"


def decimal_marks(text: str) -> DecimalMark | None:
    """Return the decimal mark in a number as typed, None if it has none."""
    match = _NUMBER_START.match(text.strip(BLANKS))
    if match is None:
        return None
    return "," if match[1] == "," else "."


def check_decimal(text: str, mark: DecimalMark) -> None:
    """Refuse a number whose decimal mark is not the one of its file.

    Raises
    ------
    CellFault
        If it has the other one.
    """
    found = decimal_marks(text)
    if found is not None and found != mark:
        name = "point" if mark == "." else "comma"
        raise CellFault(repr(text), f"a number with a decimal {name}, as in the rest of the file")


def _whole(value: object, how: Reading) -> int:
    if isinstance(value, str):
        match = re.fullmatch(r"([-+\u2212]?\d{1,15})(?:[.,]0*)?", value)
        if match and decimal_marks(value) in {None, how.decimal}:
            return int(match[1].replace("\u2212", "-"))
    elif isinstance(value, int) and not isinstance(value, bool):
        return value
    elif isinstance(value, float) and value.is_integer():
        return int(value)
    raise CellFault(shown_cell(value), "a whole number")


def _yes(value: object) -> bool:
    if isinstance(value, bool):
        return value
    word = value.casefold() if isinstance(value, str) else ""
    if word in _TRUE | _FALSE:
        return word in _TRUE
    raise CellFault(shown_cell(value), "yes or no")


def _time(value: object) -> str:
    if isinstance(value, datetime) or not isinstance(value, time | str):
        raise CellFault(shown_cell(value), "a time such as 14:30")
    if isinstance(value, time):
        return value.isoformat()
    try:
        return time.fromisoformat(re.sub(r"^(\d):", r"0\1:", value)).isoformat()
    except ValueError:
        raise CellFault(repr(value), "a time such as 14:30") from None


def _moment(value: object) -> str:
    expected = "a moment with its time zone, such as 2027-04-12T17:00:00Z"
    if not isinstance(value, str):
        raise CellFault(shown_cell(value), expected)
    try:
        moment = datetime.fromisoformat(value)
    except ValueError:
        raise CellFault(repr(value), expected) from None
    if moment.tzinfo is None:
        raise CellFault(repr(value), expected)
    return value


def _id(value: object) -> str:
    try:
        return str(UUID(str(value)))
    except ValueError:
        raise CellFault(shown_cell(value), "the id of a note, such as it is exported") from None


def percent_text(value: float) -> Typed:
    """Return a number of a cell formatted as per cent, as the person sees it.

    Examples
    --------
    >>> percent_text(0.57)
    '57 %'
    """
    return Typed(f"{(Decimal(repr(value)) * 100).normalize():f} %")
