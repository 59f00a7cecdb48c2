"""A workbook (XLSX) as grids: what is broken, merged or hidden in it is told."""

import zipfile
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any
from warnings import catch_warnings, simplefilter

from nuttery.exchange.sheets.cells import Broken, percent_text
from nuttery.exchange.sheets.escape import unescaped
from nuttery.exchange.sheets.faults import ImportFault, ImportRefused
from nuttery.exchange.sheets.grid import MOST_BYTES, MOST_COLUMNS, MOST_ROWS, Grid, letter
from nuttery.exchange.sheets.sources import DAMAGED

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

_MOST_MEMBERS = 2000


def workbook_grids(path: Path) -> list[Grid]:
    """Sheets of a workbook.

    Raises
    ------
    ImportRefused
        If it is no workbook, or one that would grow beyond all measure when unpacked.
    """
    _check_archive(path)
    book = _loaded(path, values=False)
    values = _loaded(path, values=True) if _has_formulas(book) else book
    return [_grid(sheet, values[sheet.title], path.name) for sheet in book.worksheets]


def _refused(path: Path, found: str, expected: str) -> ImportRefused:
    return ImportRefused([ImportFault(path.name, None, None, None, found, expected)])


def _check_archive(path: Path) -> None:
    try:
        with zipfile.ZipFile(path) as archive:
            members = archive.infolist()
    except DAMAGED as problem:
        raise _refused(path, f"no workbook ({problem})", "an XLSX file") from None
    size = sum(member.file_size for member in members)
    if size > MOST_BYTES or len(members) > _MOST_MEMBERS:
        found = f"{size / 1e6:.0f} MB in {len(members)} parts when unpacked"
        raise _refused(path, found, f"at most {MOST_BYTES / 1e6:.0f} MB")


def _loaded(path: Path, *, values: bool) -> "Workbook":
    import openpyxl
    from openpyxl.xml import DEFUSEDXML

    if not DEFUSEDXML:
        raise RuntimeError("workbooks are read with defusedxml only; found it switched off")
    try:
        # Opened here, because openpyxl leaves a damaged workbook open.
        with path.open("rb") as stream, catch_warnings():
            simplefilter("ignore")  # parts of a workbook that hold no cells (styles, pictures)
            return openpyxl.load_workbook(stream, data_only=values)
    except Exception as problem:  # noqa: BLE001 - a damaged workbook may raise anything
        cause = _root(problem)
        told = f"{type(cause).__name__}: {cause}"[:200]
        raise _refused(path, f"a workbook that cannot be read ({told})", "an XLSX file") from None


def _root(problem: BaseException) -> BaseException:
    """Return what went wrong first; openpyxl wraps it in words of its own."""
    while (earlier := problem.__cause__ or problem.__context__) is not None:
        problem = earlier
    return problem


def _has_formulas(book: "Workbook") -> bool:
    return any(
        cell.data_type == "f"
        for sheet in book.worksheets
        for cell in sheet._cells.values()  # noqa: SLF001 - rows would make the empty ones
    )


def _grid(sheet: "Worksheet", values: "Worksheet", file: str) -> Grid:
    grid = Grid(file, sheet.title, [])
    if sheet.max_row > MOST_ROWS or sheet.max_column > MOST_COLUMNS:
        found = f"a cell as far as {letter(sheet.max_column - 1)}{sheet.max_row}"
        grid.fault(None, None, found, f"at most {MOST_ROWS} rows and {MOST_COLUMNS} columns")
        return grid
    rows: dict[int, dict[int, object]] = {}
    for (row, column), cell in sorted(sheet._cells.items()):  # noqa: SLF001 - the same
        value = _value(cell, values._cells.get((row, column)))  # noqa: SLF001 - the same
        if value is not None:
            rows.setdefault(row, {})[column - 1] = value
    _fill_merged(grid, sheet, rows)
    grid.rows = [
        (row, [cells.get(k) for k in range(max(cells) + 1)]) for row, cells in sorted(rows.items())
    ]
    _tell_hidden(grid, sheet, rows)
    return grid


def _value(cell: Any, with_value: Any) -> object:  # noqa: ANN401 - cells of openpyxl are of many types
    if cell.data_type == "f":
        cell = with_value
        if cell is None or cell.value is None:
            return Broken("a formula without a value", "a value (open the file, save it again)")
    value = cell.value
    if cell.data_type == "e":
        return Broken(str(value), "a value, not an error")
    if isinstance(value, str):
        return unescaped(value)
    if isinstance(value, bool | datetime | date | time | timedelta) or value is None:
        return value
    if isinstance(value, int | float):
        return percent_text(value) if "%" in (cell.number_format or "") else value
    return unescaped(str(value))


def _fill_merged(grid: Grid, sheet: "Worksheet", rows: dict[int, dict[int, object]]) -> None:
    for merged in sheet.merged_cells.ranges:
        top, left = merged.min_row, merged.min_col - 1
        value = rows.get(top, {}).get(left)
        if value is None:
            continue
        if merged.max_col > merged.min_col:
            wide = Broken(f"cells {merged.coord} merged into one", "one cell for each column")
            for column in range(left + 1, merged.max_col):
                rows[top][column] = wide
            continue
        for row in range(top + 1, merged.max_row + 1):
            rows.setdefault(row, {})[left] = value
        grid.told.append(f"cells {merged.coord} are merged: their value counts for each row")


def _tell_hidden(grid: Grid, sheet: "Worksheet", rows: dict[int, dict[int, object]]) -> None:
    hidden = [row for row in rows if sheet.row_dimensions[row].hidden]
    if hidden:
        told = ", ".join(map(str, hidden[:12])) + (" ..." if len(hidden) > 12 else "")
        grid.told.append(f"hidden rows were read like the others: {told}")
    if sheet.sheet_state != "visible":
        grid.told.append("the sheet is hidden; it was read like the others")
