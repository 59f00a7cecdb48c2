"""The workbook to fill in: one sheet a kind of note, with drop-downs and an example."""

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from nuttery.exchange.sheets.columns import Column, layout_of
from nuttery.exchange.sheets.describe import limits, takes
from nuttery.exchange.sheets.examples import EXAMPLES, HEAD
from nuttery.exchange.sheets.grid import letter
from nuttery.exchange.sheets.rows import rows_of
from nuttery.exchange.sheets.workbook_out import (
    Sheet,
    add_sheet,
    cell_of,
    format_of,
    new_workbook,
    width_of,
)
from nuttery.records import KINDS, System, read_note

if TYPE_CHECKING:
    from openpyxl import Workbook

ABOUT_SHEET = "(how to fill this in)"
LISTS_SHEET = "(lists)"
LEAVE_OUT = "leave out"
_LAST_ROW = 5000
_LEFT_EMPTY = {"id", "recorded", "device"}


def write_template(path: Path | str, *, units: System, shrubs: Sequence[str] = ()) -> None:
    """Write a workbook to fill in, with one sheet for each kind of note.

    Parameters
    ----------
    path : file to write (XLSX)
    units : of the planting, shown in the headers
    shrubs : tags for the drop-downs

    Notes
    -----
    The first sheet explains. Rows with anything under "leave out", such as the example rows, are
    never imported; neither is a sheet or a column whose name stands in parentheses.
    """
    book = new_workbook()
    _add_about(book, units)
    for kind in KINDS:
        _add_kind(book, kind, units, with_tags=bool(shrubs))
    lists: Sheet = book.create_sheet(LISTS_SHEET)
    lists.sheet_state = "hidden"
    for tag in ("shrubs", *shrubs):
        lists.append([cell_of(lists, tag)])
    book.save(path)


def _add_kind(book: "Workbook", kind: str, units: System, *, with_tags: bool) -> None:
    columns = layout_of(kind).columns
    headers = [LEAVE_OUT, *(c.header(units) for c in columns)]
    widths = [11, *(width_of(c, h) for c, h in zip(columns, headers[1:], strict=True))]
    formats = [None, *map(format_of, columns)]
    sheet = add_sheet(book, KINDS[kind].title, headers, widths, formats)
    for k, column in enumerate(columns, start=1):
        validation = _drop_down(column, with_tags=with_tags)
        if validation is not None:
            validation.add(f"{letter(k)}2:{letter(k)}{_LAST_ROW}")
            sheet.data_validations.append(validation)
    for row in _example_rows(kind, columns, units):
        cells = [row.get(c.label) for c in columns]
        sheet.append(
            [None if v is None else cell_of(sheet, v, grey=True) for v in ("example", *cells)]
        )


def _example_rows(kind: str, columns: Sequence[Column], units: System) -> Iterator[dict[str, Any]]:
    nil = "00000000-0000-0000-0000-000000000000"
    note = read_note({"kind": kind, "id": nil, **HEAD, **EXAMPLES[kind]})
    for row in rows_of(note, columns, units, "s1"):
        yield {label: value for label, value in row.items() if label not in _LEFT_EMPTY}


def _drop_down(column: Column, *, with_tags: bool) -> Any:  # noqa: ANN401 - of openpyxl
    from openpyxl.worksheet.datavalidation import DataValidation

    choices = ("yes", "no") if column.holds == "yes" else column.choices
    if choices:
        listed = '"{}"'.format(",".join(choices))
    elif column.is_tag and with_tags:
        listed = f"'{LISTS_SHEET}'!$A$2:$A${_LAST_ROW}"
    else:
        return None
    # Where several may stand in a cell, or a new tag, the list only offers.
    strict = bool(choices) and not column.several
    return DataValidation(
        type="list", formula1=listed, allow_blank=True, showErrorMessage=strict, showDropDown=False
    )


_ABOUT = (
    "One sheet for each kind of note. Fill in the sheets you need, leave the others as they are.",
    "One row is one note; of a sample each nut has a row, of canes cut each cut has one.",
    'The grey example rows are never imported, because something stands under "leave out".',
    "A sheet, or a column, whose name stands in parentheses is not imported either.",
    'A value may carry its own unit: "3.4 in" in a column of mm.',
    "Empty means: not looked at. Write 0 where you looked and there was none.",
    'A value outside the usual range is refused, unless "I mean it" says yes in its row.',
    "Leave id, recorded and device empty. Importing the same rows again adds nothing.",
    'To correct a note, write a new one with the old one\'s id under "stands in for".',
    "One bad cell, and nothing of the workbook is imported: every fault is listed.",
)


def _add_about(book: "Workbook", units: System) -> None:
    sheet: Sheet = book.create_sheet(ABOUT_SHEET)
    for k, width in enumerate((24, 40, 44, 18, 18, 60)):
        sheet.column_dimensions[letter(k)].width = width
    for line in _ABOUT:
        sheet.append([cell_of(sheet, line)])
    sheet.append([])
    heads = ("sheet", "column", "what it takes", "usual", "possible", "")
    sheet.append([cell_of(sheet, head, bold=True) for head in heads])
    for kind, model in KINDS.items():
        for column in layout_of(kind).columns:
            words = (takes(column, units), *limits(column, units), column.entry.hint)
            row = (model.title, column.header(units), *words)
            sheet.append([cell_of(sheet, word) for word in row])
