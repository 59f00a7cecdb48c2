"""Reading notes from a file: everything in it is understood, or nothing is taken."""

from collections.abc import Collection, Container, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from uuid import UUID

from nuttery.exchange.sheets.cells import (
    DecimalMark,
    Reading,
    Typed,
    decimal_marks,
)
from nuttery.exchange.sheets.dates import DateStyle, DayOrder, date_style
from nuttery.exchange.sheets.faults import ImportFault, ImportRefused
from nuttery.exchange.sheets.gather import Desk, Taken
from nuttery.exchange.sheets.grid import Grid
from nuttery.exchange.sheets.lines import lines_notes
from nuttery.exchange.sheets.sources import LINES, Source, source_of
from nuttery.exchange.sheets.table import Table, table_of
from nuttery.records import KINDS, Note, System


@dataclass(frozen=True)
class SheetRead:
    """One sheet as it was understood: header and entry of each column, and its rows."""

    name: str
    kind: str | None
    columns: tuple[tuple[str, str], ...]
    rows: int
    notes: int
    left_out: tuple[int, ...] = ()


@dataclass(frozen=True)
class Preview:
    """What was detected in a file, to be shown before it is believed."""

    file: str
    form: str
    encoding: str | None
    delimiter: str | None
    decimal_mark: DecimalMark
    dates: DateStyle
    sheets: tuple[SheetRead, ...]
    remarks: tuple[str, ...] = ()

    def lines(self) -> tuple[str, ...]:
        """Return the same for a person, a line each."""
        return tuple(_told(self))


@dataclass(frozen=True)
class ImportedNotes:
    """Notes read from a file, and what was detected on the way.

    Attributes
    ----------
    notes : in the order of the file
    told : lines for a person, to be shown before the notes are believed
    preview : the same as values
    derived : ids that were made from the content of rows without one
    """

    notes: tuple[Note, ...]
    told: tuple[str, ...]
    preview: Preview
    derived: frozenset[UUID]

    def unknown_to(self, register: Container[UUID]) -> tuple[Note, ...]:
        """Notes to add to a register that has these ids already.

        A row without an id that was imported before is left out, whenever that was and by whom;
        a note that carries its own id is always offered, so that the register can compare.
        """
        return tuple(n for n in self.notes if n.id not in self.derived or n.id not in register)


def read_notes(
    path: Path | str,
    *,
    planting: UUID,
    units: System,
    by: str,
    recorded: datetime,
    device: str = "spreadsheet",
    day_order: DayOrder | None = None,
    decimal_mark: DecimalMark | None = None,
    known_shrubs: Collection[str] | None = None,
) -> ImportedNotes:
    """Notes of a workbook (XLSX), delimited text (CSV, or a zip of them) or JSON Lines.

    Parameters
    ----------
    path : file to read
    planting : id of the planting that the notes are of
    units : of bare numbers under a header without a unit
    by : who saw it, where the file does not say
    recorded : moment of the import, for notes of which the file does not say it
    device : where the notes come from, where the file does not say
    day_order : order of day, month and year in dates typed as text; detected if None
    decimal_mark : of numbers typed as text; detected if None
    known_shrubs : tags of the planting; others are faults, but for shrubs that the file plants

    Returns
    -------
    ImportedNotes
        With what was detected; nothing has been kept anywhere yet.

    Raises
    ------
    ImportRefused
        With every fault of the file; nothing of it is taken.

    Notes
    -----
    Limits: 100 MB, 200 000 rows and 500 columns a sheet.
    """
    path = Path(path)
    desk = Desk(planting=planting, by=by, recorded=recorded, device=device, known=known_shrubs)
    if path.suffix.lower() in LINES:
        return _from_lines(path, planting)
    source = source_of(path)
    tables = [table for grid in source.grids if (table := table_of(grid, units)) is not None]
    bodies = [(table, list(table.body())) for table in tables]
    dates = date_style(_texts(bodies, "day"), day_order)
    mark, unclear = _decimal(bodies, source, decimal_mark)
    how = Reading(units, dates, mark)
    taken = [desk.take(table, body, how) for table, body in bodies]
    notes = desk.finish(taken)
    preview = _preview(source, how, taken)
    faults = _faults(source.grids, unclear)
    if not tables and not faults:
        faults = [_nothing(source.file)]
    if faults:
        raise ImportRefused(faults, preview.lines())
    return ImportedNotes(tuple(notes), preview.lines(), preview, frozenset(desk.derived))


def _nothing(file: str) -> ImportFault:
    return ImportFault(file, None, None, None, "no sheet with notes", "one sheet a kind of note")


def _faults(grids: Iterable[Grid], unclear: list[ImportFault]) -> list[ImportFault]:
    """Return every fault once, sheet by sheet, from the top of each to its end."""
    grids = list(grids)
    place = {grid.sheet: k for k, grid in enumerate(grids)}
    found = [*unclear, *(fault for grid in grids for fault in grid.faults)]
    ordered = sorted(found, key=lambda fault: (place[fault.sheet], fault.row or 0))
    return list(dict.fromkeys(ordered))


_Bodies = list[tuple[Table, list[tuple[int, str, dict[int, object]]]]]


def _cells(bodies: _Bodies, holds: str) -> Iterator[tuple[Table, int, int, str]]:
    """Yield cells typed as text in columns of one sort: table, row, column, text."""
    for table, body in bodies:
        for row, kind, filled in body:
            for index, match in table.matches[kind].items():
                value = filled.get(index)
                if match.column.holds == holds and isinstance(value, str):
                    yield table, row, index, value


def _texts(bodies: _Bodies, holds: str) -> list[str]:
    return [" ".join(text.split()).lower() for _, _, _, text in _cells(bodies, holds)]


def _decimal(
    bodies: _Bodies, source: Source, declared: DecimalMark | None
) -> tuple[DecimalMark, list[ImportFault]]:
    """Return the decimal mark of numbers typed as text, and the cells where it is unclear."""
    if declared is not None:
        return declared, []
    cells = [c for c in _cells(bodies, "number") if not isinstance(c[3], Typed)]
    points = [c for c in cells if decimal_marks(c[3]) == "."]
    commas = [c for c in cells if decimal_marks(c[3]) == ","]
    if not commas:
        return ".", []
    if len(commas) > len(points):
        # 1,234 may be a thousand or so, unless the comma stands elsewhere in another number.
        sure = source.delimiter == "semicolon" or any(_fraction(c[3]) != 3 for c in commas)
        return ",", [] if sure else [_unclear(c) for c in commas]
    return ".", []


def _fraction(text: str) -> int:
    after = text.replace("\u2212", "-").partition(",")[2]
    return next((k for k, sign in enumerate(after) if not sign.isdigit()), len(after))


def _unclear(cell: tuple[Table, int, int, str]) -> ImportFault:
    table, row, index, text = cell
    return ImportFault(
        table.grid.file,
        table.grid.sheet,
        row,
        table.name_of(index),
        f"{text!r} (a decimal comma, or thousands?)",
        f"a number whose decimal mark is sure, such as {text.replace(',', '.')}, "
        "or the decimal mark declared",
    )


def _from_lines(path: Path, planting: UUID) -> ImportedNotes:
    notes = lines_notes(path, planting)
    preview = Preview(path.name, "JSON Lines", "utf-8", None, ".", DateStyle(None), ())
    told = (*preview.lines(), f"{len(notes)} notes, with their own ids")
    return ImportedNotes(notes, told, preview, frozenset())


def _preview(source: Source, how: Reading, taken: list[Taken]) -> Preview:
    remarks = [
        f'sheet "{grid.sheet}": {line}' if grid.sheet else line
        for grid in source.grids
        for line in grid.told
    ]
    return Preview(
        source.file,
        source.form,
        source.encoding,
        source.delimiter,
        how.decimal,
        how.dates,
        tuple(_sheet_read(one) for one in taken),
        tuple(remarks),
    )


def _sheet_read(taken: Taken) -> SheetRead:
    table = taken.table
    kinds = [table.kind] if table.kind is not None else sorted(taken.kinds)
    columns = {
        index: (table.name_of(index), match.column.label)
        for kind in kinds
        for index, match in table.matches[kind].items()
    }
    name = table.grid.sheet or table.grid.file
    ordered = tuple(columns[k] for k in sorted(columns))
    left_out = tuple(table.left_out)
    return SheetRead(name, table.kind, ordered, taken.rows, len(taken.notes), left_out)


def _told(preview: Preview) -> Iterator[str]:
    details = [preview.form]
    details += [f"encoding {preview.encoding}"] if preview.encoding else []
    details += [f"fields parted by {preview.delimiter}"] if preview.delimiter else []
    if preview.form != "JSON Lines":
        name = "point" if preview.decimal_mark == "." else "comma"
        details.append(f"decimal {name} in numbers typed as text")
    yield f"{preview.file}: {', '.join(details)}"
    yield from _told_dates(preview.dates)
    for sheet in (one for one in preview.sheets if one.rows):
        kind = KINDS[sheet.kind].title if sheet.kind else "kinds of note as each row says"
        yield f'"{sheet.name}": {kind}, {sheet.rows} rows read, {sheet.notes} notes'
        other = [f'"{a}" as {b}' for a, b in sheet.columns if not a.startswith(b)]
        if other:
            yield f'"{sheet.name}": taken {", ".join(other)}'
    yield from preview.remarks
    left_out = [
        f'"{s.name}" {", ".join(map(str, s.left_out))}' for s in preview.sheets if s.left_out
    ]
    if left_out:
        yield f"rows marked to be left out: {'; '.join(left_out)}"


def _told_dates(dates: DateStyle) -> Iterator[str]:
    if dates.ambiguous:
        yield "dates: day or month first cannot be told"
    elif dates.order is not None:
        how = "declared" if dates.declared else "detected"
        examples = [f"{text} is {day.day} {day:%B %Y}" for text, day in dates.examples]
        yield f"dates: {dates.order}, {how}" + (f" ({'; '.join(examples)})" if examples else "")
