"""Answers written as a table: CSV, workbook or JSON Lines, by the suffix of the file."""

import csv
import json
import math
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

from nuttery.exchange.neutral import with_apostrophe

Row = Mapping[str, object]
_SUFFIXES = (".csv", ".xlsx", ".jsonl")


def write_table(rows: Iterable[Row], columns: Mapping[str, str], path: Path | str) -> int:
    """Write rows of an answer to a file, and return how many they are.

    Parameters
    ----------
    rows : one mapping a row; a key left out, None and NaN are empty cells
    columns : key in the rows → header, in the order of the file
    path : file ending in .csv, .xlsx or .jsonl (whose keys are those of the rows)

    Raises
    ------
    ValueError
        If the suffix is another one, or a row has a key that no column shows.

    Notes
    -----
    Text that a spreadsheet program would take for a formula is made harmless.
    """
    path = Path(path)
    writers = {".csv": _write_csv, ".xlsx": _write_workbook, ".jsonl": _write_lines}
    writer = writers.get(path.suffix.lower())
    if writer is None:
        raise ValueError(f'path: found the suffix "{path.suffix}", expected {", ".join(_SUFFIXES)}')
    plain = [_plain_row(row, columns, k) for k, row in enumerate(rows)]
    writer(plain, columns, path)
    return len(plain)


def _plain_row(row: Row, columns: Mapping[str, str], index: int) -> dict[str, Any]:
    strange = sorted(row.keys() - columns.keys())
    if strange:
        known = ", ".join(columns)
        raise ValueError(f"rows[{index}]: found the key {strange[0]!r}, expected one of: {known}")
    return {key: plain_value(row.get(key)) for key in columns}


def plain_value(value: object) -> Any:  # noqa: ANN401 - whatever a cell may hold
    """Return a value without NumPy's types; None for one that is missing.

    Examples
    --------
    >>> import numpy as np
    >>> plain_value(np.float64("nan")) is None, plain_value(np.datetime64("2027-04-12"))
    (True, datetime.date(2027, 4, 12))
    """
    if hasattr(value, "item"):
        value = value.item()
    if isinstance(value, float) and not math.isfinite(value):
        return None
    if value is None or isinstance(value, bool | int | float | str | date | time):
        return value
    return str(value)


def _write_csv(rows: Sequence[Row], columns: Mapping[str, str], path: Path) -> None:
    with path.open("w", encoding="utf-8-sig", newline="") as out:
        writer = csv.writer(out)
        writer.writerow([with_apostrophe(header) for header in columns.values()])
        for row in rows:
            writer.writerow([csv_cell(row[key]) for key in columns])


def csv_cell(value: object) -> str:
    """Return what to write in a cell of delimited text.

    Examples
    --------
    >>> csv_cell(True), csv_cell(None), csv_cell("@A1"), csv_cell(-2.5)
    ('yes', '', "'@A1", '-2.5')
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return with_apostrophe(value) if isinstance(value, str) else str(value)


def _write_workbook(rows: Sequence[Row], columns: Mapping[str, str], path: Path) -> None:
    from nuttery.exchange.sheets.workbook_out import add_sheet, new_workbook

    book = new_workbook()
    headers = list(columns.values())
    sheet = add_sheet(book, "answer", headers, [max(11, min(len(h) + 2, 40)) for h in headers])
    for row in rows:
        sheet.append([_workbook_cell(sheet, row[key]) for key in columns])
    book.save(path)


def _workbook_cell(sheet: Any, value: object) -> object:  # noqa: ANN401 - of openpyxl
    from nuttery.exchange.sheets.workbook_out import cell_of

    if isinstance(value, bool):
        return cell_of(sheet, "yes" if value else "no")
    if isinstance(value, datetime) and value.tzinfo is not None:
        return cell_of(sheet, value.isoformat())
    return None if value is None else cell_of(sheet, value)


def _write_lines(rows: Sequence[Row], columns: Mapping[str, str], path: Path) -> None:  # noqa: ARG001 - keys are told as they are
    with path.open("w", encoding="utf-8", newline="\n") as out:
        for row in rows:
            out.write(json.dumps(row, ensure_ascii=False, default=_in_json) + "\n")


def _in_json(value: object) -> str:
    return value.isoformat() if isinstance(value, date | time) else str(value)
