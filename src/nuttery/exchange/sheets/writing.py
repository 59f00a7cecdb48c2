"""Notes written to a file: workbook, delimited text, a zip of these, or JSON Lines."""

import csv
import io
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import TextIO

from nuttery.exchange.answers import csv_cell
from nuttery.exchange.neutral import with_apostrophe
from nuttery.exchange.sheets.columns import HEAD, TAIL, Column, layout_of
from nuttery.exchange.sheets.lines import write_lines
from nuttery.exchange.sheets.rows import CellRow, columns_for, rows_of
from nuttery.records import KINDS, Note, System

_BYTE_ORDER_MARK = "\ufeff"  # without it some spreadsheet programs take UTF-8 for something else


def write_notes(notes: Iterable[Note], path: Path | str, *, units: System) -> int:
    """Write notes to a file, by its suffix, and return how many they are.

    Parameters
    ----------
    notes : in any order; each sheet keeps it
    path : .xlsx (a sheet for each kind), .zip (a CSV for each kind), .csv (one table with the
        columns that are in use) or .jsonl (as the register keeps them)
    units : of the cells; JSON Lines are always in stored units

    Raises
    ------
    ValueError
        If the suffix is another one.

    Notes
    -----
    All four are read back by `read_notes` without loss, ids included.
    """
    path = Path(path)
    kept = list(notes)
    writers = {".xlsx": _workbook, ".zip": _zip, ".csv": _csv, ".jsonl": _lines}
    writer = writers.get(path.suffix.lower())
    if writer is None:
        raise ValueError(f'path: found the suffix "{path.suffix}", expected {", ".join(writers)}')
    writer(kept, path, units)
    return len(kept)


def _by_kind(notes: Sequence[Note]) -> Iterator[tuple[str, list[Note]]]:
    for kind in KINDS:
        own = [note for note in notes if note.kind == kind]
        if own:
            yield kind, own


def _kind_rows(
    notes: Sequence[Note], columns: Sequence[Column], units: System
) -> Iterator[CellRow]:
    for number, note in enumerate(notes, start=1):
        yield from rows_of(note, columns, units, str(number))


def _workbook(notes: Sequence[Note], path: Path, units: System) -> None:
    from nuttery.exchange.sheets.workbook_out import add_rows, add_sheet, new_workbook, width_of

    book = new_workbook()
    for kind, own in _by_kind(notes):
        columns = columns_for(layout_of(kind), own)
        headers = [c.header(units) for c in columns]
        widths = [width_of(c, h) for c, h in zip(columns, headers, strict=True)]
        sheet = add_sheet(book, KINDS[kind].title, headers, widths)
        add_rows(sheet, [c.label for c in columns], _kind_rows(own, columns, units))
    if not notes:
        add_sheet(book, "(no notes)", ["nothing to write"], [20])
    book.save(path)


def _zip(notes: Sequence[Note], path: Path, units: System) -> None:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for kind, own in _by_kind(notes):
            columns = columns_for(layout_of(kind), own)
            out = io.StringIO(newline="")
            headers = [c.header(units) for c in columns]
            labels = [c.label for c in columns]
            _write_csv(out, headers, labels, _kind_rows(own, columns, units))
            stamped = zipfile.ZipInfo(f"{KINDS[kind].title}.csv")  # 1980: the same bytes each time
            stamped.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(stamped, (_BYTE_ORDER_MARK + out.getvalue()).encode())


def _csv(notes: Sequence[Note], path: Path, units: System) -> None:
    used: dict[str, int] = {}
    rows: list[CellRow] = []
    for kind, own in _by_kind(notes):
        # By header: kinds may use one label with different units.
        headers = {c: c.header(units) for c in columns_for(layout_of(kind), own)}
        own_rows = [
            {h: row[c.label] for c, h in headers.items() if row.get(c.label) is not None}
            for row in _kind_rows(own, list(headers), units)
        ]
        filled = {header for row in own_rows for header in row}
        used |= {h: _part_of_row(c) for c, h in headers.items() if h in filled}
        rows += [{"kind": KINDS[kind].title, **row} for row in own_rows]
    with path.open("w", encoding="utf-8", newline="") as out:
        out.write(_BYTE_ORDER_MARK)
        ordered = ["kind", *sorted(used, key=used.__getitem__)]
        _write_csv(out, ordered, ordered, rows)


def _part_of_row(column: Column) -> int:
    """Return 0 for what every note begins with, 2 for what it ends with, 1 between."""
    return 0 if column.field in HEAD else 2 if column.field in TAIL else 1


def _write_csv(
    out: TextIO, headers: Sequence[str], labels: Sequence[str], rows: Iterable[CellRow]
) -> None:
    writer = csv.writer(out)
    writer.writerow([with_apostrophe(header) for header in headers])
    for row in rows:
        writer.writerow([csv_cell(row.get(label)) for label in labels])


def _lines(notes: Sequence[Note], path: Path, units: System) -> None:  # noqa: ARG001 - stored units
    with path.open("w", encoding="utf-8", newline="\n") as out:
        write_lines(notes, out)
