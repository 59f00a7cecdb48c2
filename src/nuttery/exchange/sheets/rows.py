"""Notes laid out in rows, and rows gathered into notes again.

A kind of note that is made of parts (cuts, nuts) takes one row for each part.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time
from typing import Any
from uuid import UUID

from nuttery.exchange.sheets.cells import joined_words
from nuttery.exchange.sheets.columns import GROUP, Column, Layout, breakdown_column, layout_of
from nuttery.records import Note, Part, Quantity, System, shown, stored, unit_of

Cell = str | int | float | date | time | None
CellRow = dict[str, Cell]
"""Cells of a row by the label of their column."""

_ON_EVERY_ROW = {"shrub", "seen", "by", "id", GROUP}
_EXCEL_FIRST_DAY = date(1900, 3, 1)  # before it a spreadsheet program counts a day that never was


def columns_for(layout: Layout, notes: Iterable[Note]) -> list[Column]:
    """Columns of a sheet, with those added that these notes need beyond the usual ones."""
    columns = list(layout.columns)
    known = {c.label for c in columns}
    for column in _breakdowns_of(layout, notes):
        if column.label not in known:
            known.add(column.label)
            columns.insert(_place(columns, column), column)
    return columns


def _breakdowns_of(layout: Layout, notes: Iterable[Note]) -> list[Column]:
    keys = {
        (name, key)
        for note in notes
        for name in ("by_age", "by_year")
        for key in getattr(note, name, None) or ()
    }
    return [breakdown_column(layout.model, name, str(key)) for name, key in sorted(keys)]


def _place(columns: list[Column], new: Column) -> int:
    before = [
        k
        for k, c in enumerate(columns)
        if c.field == new.field and c.key is not None and int(c.key) < int(new.key or 0)
    ]
    if before:
        return before[-1] + 1
    same = [k for k, c in enumerate(columns) if c.field == new.field]
    return same[0] if same else next(k for k, c in enumerate(columns) if c.field == "by_size")


def rows_of(note: Note, columns: Iterable[Column], units: System, group: str) -> list[CellRow]:
    """Rows of a note, cells in the planting's units.

    Parameters
    ----------
    note : Note
    columns : of the sheet of its kind
    units : the planting's
    group : name that keeps the rows of this note together, where it has several
    """
    layout = layout_of(note.kind)
    parts: tuple[Part | None, ...] = (None,)
    if layout.part_field is not None:
        parts = getattr(note, layout.part_field)
    rows: list[CellRow] = []
    for k, part in enumerate(parts):
        row: CellRow = {}
        for column in columns:
            if k == 0 or column.in_part or column.field in _ON_EVERY_ROW:
                row[column.label] = _cell_of(note, part, column, units, group)
        rows.append(row)
    return rows


def _cell_of(note: Note, part: Part | None, column: Column, units: System, group: str) -> Cell:
    if column.field == GROUP:
        return group
    value = getattr(part if column.in_part else note, column.field)
    if column.key is not None:
        counts = {str(k): v for k, v in (value or {}).items()}
        return counts.get(column.key)
    if column.several:
        return joined_words(tuple(map(str, value))) if value else None
    if column.field in {"means_it", "invented"} and value is False:
        return None
    return cell_value(value, column.entry.quantity, units)


def cell_value(value: Any, quantity: Quantity | None, units: System) -> Cell:  # noqa: ANN401 - any entry
    """Return what to write in a cell for a stored value."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float) and quantity is not None:
        return number_cell(value, quantity, units)
    if isinstance(value, datetime):
        text = value.isoformat()
        return f"{text[:-6]}Z" if text.endswith("+00:00") else text
    if isinstance(value, date):
        return value if value >= _EXCEL_FIRST_DAY else value.isoformat()
    if isinstance(value, time):
        return value.isoformat() if value.tzinfo is not None or value.microsecond else value
    return str(value) if isinstance(value, UUID) else value


def number_cell(value: float, quantity: Quantity, units: System) -> float | str:
    """Return the shortest number in the planting's units that is read back as the same value.

    Where there is none, the value is written in its stored unit.

    Examples
    --------
    >>> number_cell(86.36, "small length", "US"), number_cell(0.57, "share", "US")
    (3.4, 57.0)
    """
    number = shown(value, quantity, units)
    for digits in (12, 15, 16, 17):
        short = float(f"{number:.{digits}g}")
        if repr(stored(short, quantity, units)) == repr(value):
            return short
    symbol = "of one" if quantity == "share" else unit_of(quantity, "metric").symbol
    return f"{value!r} {symbol}"


@dataclass
class Read:
    """What was read from one row, by column."""

    row: int
    values: dict[Column, object] = field(default_factory=dict)

    def of(self, name: str) -> object:
        """Value of an entry of the note itself, None if the cell is empty."""
        return next((v for c, v in self.values.items() if c.field == name and not c.in_part), None)


@dataclass
class Gathered:
    """The rows that make one note."""

    layout: Layout
    rows: list[Read]

    @property
    def first_row(self) -> int:
        """Row where the note begins."""
        return self.rows[0].row

    def data(self) -> dict[str, Any]:
        """Return the note as JSON would hold it, its head as far as the file tells."""
        found: dict[str, Any] = {"kind": self.layout.kind}
        for read in self.rows:
            found |= _own_values(read)
        if self.layout.part_field is not None:
            found[self.layout.part_field] = [_part_values(read) for read in self.rows]
        return found

    def conflicts(self) -> Iterator[tuple[int, Column, object, int, object]]:
        """Yield entries of the whole note that its rows tell differently."""
        first: dict[Column, tuple[int, object]] = {}
        for read in self.rows:
            for column, value in read.values.items():
                if column.in_part:
                    continue
                row, earlier = first.setdefault(column, (read.row, value))
                if earlier != value:
                    yield read.row, column, value, row, earlier


def _own_values(read: Read) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for column, value in read.values.items():
        if column.in_part or column.field == GROUP:
            continue
        if column.key is not None:
            found.setdefault(column.field, {})[column.key] = value
        else:
            found[column.field] = value
    return found


def _part_values(read: Read) -> dict[str, Any]:
    return {c.field: v for c, v in read.values.items() if c.in_part}


def gathered(layout: Layout, reads: Iterable[Read]) -> list[Gathered]:
    """Rows gathered into notes.

    Notes
    -----
    A row is a note of its own unless the kind has parts; then rows with the same id, name, shrub
    and day are one note. A row with a name but no shrub belongs to the row above of that name.
    """
    if layout.part_field is None:
        return [Gathered(layout, [read]) for read in reads]
    found: dict[tuple[object, ...], Gathered] = {}
    last: Mapping[str, object] = {}
    for read in reads:
        head = {name: read.of(name) for name in ("id", GROUP, "shrub", "seen")}
        if head[GROUP] is not None and head[GROUP] == last.get(GROUP):
            head = {name: last[name] if v is None else v for name, v in head.items()}
        last = head
        key = tuple(head.values())
        found.setdefault(key, Gathered(layout, [])).rows.append(read)
    return list(found.values())
