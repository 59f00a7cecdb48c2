"""Cells and sheets of a workbook that we write."""

from collections.abc import Iterable, Sequence
from datetime import date, datetime, time
from typing import TYPE_CHECKING, Any

from nuttery.exchange.sheets.columns import Column
from nuttery.exchange.sheets.escape import escaped
from nuttery.exchange.sheets.grid import letter
from nuttery.exchange.sheets.rows import CellRow

if TYPE_CHECKING:
    from openpyxl import Workbook

Sheet = Any
"""A write-only sheet of openpyxl, for which there are no types."""
_FORMATS = {"day": "yyyy-mm-dd", "time": "hh:mm", "text": "@", "id": "@", "moment": "@"}


def new_workbook() -> "Workbook":
    """Return an empty workbook."""
    from openpyxl import Workbook

    return Workbook(write_only=True)


def cell_of(sheet: Sheet, value: object, *, grey: bool = False, bold: bool = False) -> object:
    """Return a cell that holds just this value; text is never a formula."""
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.styles import Font

    cell: Any = WriteOnlyCell(sheet)
    if isinstance(value, str):
        cell.value = escaped(value)
        cell.data_type = "s"
        # Also after the cell is edited in a spreadsheet program it stays text.
        cell.quotePrefix = value[:1] in {"=", "+", "-", "@"}
    elif isinstance(value, float):
        # As text of the shortest number that is read back the same: openpyxl keeps 16 digits.
        cell.value = repr(value)
        cell.data_type = "n"
    else:
        cell.value = value
    if isinstance(value, datetime):
        cell.number_format = "yyyy-mm-dd hh:mm"
    elif isinstance(value, date):
        cell.number_format = _FORMATS["day"]
    elif isinstance(value, time):
        cell.number_format = "hh:mm:ss" if value.second else _FORMATS["time"]
    if grey or bold:
        cell.font = Font(bold=bold, italic=grey, color="FF808080" if grey else None)
    return cell


def add_sheet(
    book: "Workbook",
    title: str,
    headers: Sequence[str],
    widths: Iterable[int],
    formats: Iterable[str | None] = (),
) -> Sheet:
    """Return a new sheet with its header row, which stays in view; all formats precede rows."""
    sheet: Sheet = book.create_sheet(title)
    sheet.freeze_panes = "A2"
    for k, width in enumerate(widths):
        sheet.column_dimensions[letter(k)].width = width
    for k, number_format in enumerate(formats):
        if number_format is not None:
            sheet.column_dimensions[letter(k)].number_format = number_format
    sheet.append([cell_of(sheet, header, bold=True) for header in headers])
    return sheet


def add_rows(sheet: Sheet, labels: Sequence[str], rows: Iterable[CellRow]) -> None:
    """Add rows, cells in the order of the labels."""
    for row in rows:
        values = [row.get(label) for label in labels]
        sheet.append([None if v is None else cell_of(sheet, v) for v in values])


def width_of(column: Column, header: str) -> int:
    """Width of a column, in characters."""
    least = 24 if column.field == "remark" else 11
    return max(least, min(len(header) + 2, 30))


def format_of(column: Column) -> str | None:
    """Return the number format of a column's empty cells."""
    return _FORMATS.get(column.holds)
