"""A chart with what belongs to it: its picture, the figures behind it, and how to read it."""

import csv
import io
import re
from collections.abc import Sequence
from dataclasses import dataclass

Cell = str | int | float | None


@dataclass(frozen=True)
class Sheet:
    """Figures in rows, as they are shown beside a chart and taken away as a file.

    Attributes
    ----------
    title : what it holds
    columns : heads, each with its unit
    rows : cells; None where nothing is known
    tags : whether the first column holds tags of shrubs
    """

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    tags: bool = False


@dataclass(frozen=True)
class Chart:
    """A picture and the figures that it was drawn from.

    Attributes
    ----------
    name : short name, for files
    title : what is shown
    picture : SVG
    sheet : the figures
    told : how to read it and what it rests on, in a sentence or two
    """

    name: str
    title: str
    picture: str
    sheet: Sheet
    told: str = ""


def csv_text(sheet: Sheet) -> str:
    r"""Return the figures as comma-separated text, one head row first.

    Words that a spreadsheet would run as a formula are given an apostrophe before them.

    Examples
    --------
    >>> csv_text(Sheet("crop", ("shrub", "kg"), (("1-01", 0.84), ("=1+1", None))))
    "shrub,kg\r\n1-01,0.84\r\n'=1+1,\r\n"
    """
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(sheet.columns)
    writer.writerows([[_harmless(cell) for cell in row] for row in sheet.rows])
    return out.getvalue()


def _harmless(cell: Cell) -> Cell:
    if isinstance(cell, str) and cell[:1] in _RUNS and not _A_NUMBER.fullmatch(cell):
        return f"'{cell}"
    return cell


_RUNS = set("=+-@\t\r")
_A_NUMBER = re.compile(r"[-+]?\d+(\.\d+)? ?[°%A-Za-z]*")


def cell_told(cell: Cell, places: int | None = None) -> str:
    """Return a cell as a reader sees it, to so many decimal places where these are given.

    Examples
    --------
    >>> cell_told(None), cell_told(0.8412), cell_told(1234.5), cell_told(7), cell_told("row 3")
    ('–', '0.841', '1234', '7', 'row 3')
    """
    if cell is None:
        return "–"
    if isinstance(cell, float) and places is not None:
        return f"{cell:.{places}f}"
    if isinstance(cell, float):
        return f"{cell:.0f}" if abs(cell) >= 1000 else f"{cell:.3g}"
    return str(cell)


def places_of(sheet: Sheet) -> tuple[int | None, ...]:
    """Decimal places in which each column reads alike; None where its cells are told one by one.

    Examples
    --------
    >>> rows = (("1-01", 0.5, 0.123), ("1-02", 1.64, 1.0))
    >>> places_of(Sheet("crop", ("shrub", "kg", "share"), rows))
    (None, 2, None)
    """
    return tuple(_places(column) for column in zip(*sheet.rows, strict=True))


def _places(column: Sequence[Cell]) -> int | None:
    numbers = [cell_told(cell) for cell in column if isinstance(cell, float)]
    most = max((len(told.partition(".")[2]) for told in numbers), default=0)
    return most if most in {1, 2} and not any("e" in told for told in numbers) else None


def known(number: float, digits: int = 3) -> float | None:
    """Return a number rounded for a sheet, or None where it is not a number.

    Examples
    --------
    >>> known(0.84123), known(float("nan"))
    (0.841, None)
    """
    return None if number != number else round(float(number), digits)  # noqa: PLR0124 - NaN alone differs from itself
