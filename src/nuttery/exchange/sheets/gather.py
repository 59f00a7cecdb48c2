"""From the rows of a table to checked notes; every fault is told at its cell."""

import re
from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from datetime import datetime
from uuid import UUID

from nuttery.exchange.sheets.cells import BLANKS, Reading, read_cell, shown_cell
from nuttery.exchange.sheets.columns import Column, layout_of
from nuttery.exchange.sheets.faults import CellFault, near_miss
from nuttery.exchange.sheets.headers import Match
from nuttery.exchange.sheets.identity import Identities
from nuttery.exchange.sheets.rows import Gathered, Read, gathered
from nuttery.exchange.sheets.table import Table
from nuttery.records import (
    Fault,
    Note,
    NoteRefused,
    System,
    read_note,
    unit_of,
)
from nuttery.records.fields import limit_faults

Body = Iterable[tuple[int, str, dict[int, object]]]
_PART = re.compile(r"(?:nut|cut) (\d+)(?:, (.*))?")
_PLANTS = {"shrub_planted", "layer_made"}
_OVERRULE = ' (or yes under "I mean it")'


@dataclass
class Taken:
    """What was taken of one table: its notes, each with the row where it begins."""

    table: Table
    how: Reading
    rows: int = 0
    kinds: set[str] = field(default_factory=set)
    notes: list[tuple[int, Note]] = field(default_factory=list)
    cells: dict[int, dict[int, object]] = field(default_factory=dict)
    tags: list[tuple[int, int, str]] = field(default_factory=list)
    planted: set[str] = field(default_factory=set)


@dataclass
class Desk:
    """The desk at which the rows of a file become notes."""

    planting: UUID
    by: str
    recorded: datetime
    device: str
    known: Collection[str] | None
    derived: set[UUID] = field(default_factory=set)

    def __post_init__(self) -> None:
        self._identities = Identities(self.planting)

    def take(self, table: Table, body: Body, how: Reading) -> Taken:
        """Return the notes of one table; faults go to its grid."""
        taken = Taken(table, how)
        reads: dict[str, list[Read]] = {}
        bad: set[int] = set()
        for row, kind, filled in body:
            taken.rows += 1
            taken.kinds.add(kind)
            taken.cells[row] = filled
            before = len(table.grid.faults)
            reads.setdefault(kind, []).append(_read_row(taken, row, kind, filled))
            if len(table.grid.faults) > before:
                bad.add(row)
        for kind, rows in reads.items():
            for group in gathered(layout_of(kind), rows):
                self._note_or_faults(taken, group, bad)
        taken.notes.sort(key=lambda numbered: numbered[0])
        return taken

    def _note_or_faults(self, taken: Taken, group: Gathered, bad: set[int]) -> None:
        agrees = _agrees(taken, group)
        if not agrees or not bad.isdisjoint(read.row for read in group.rows):
            # The note cannot be made; what its other cells say is checked all the same.
            _tell_limits(taken, group)
            return
        try:
            taken.notes.append((group.first_row, self._note(group)))
        except NoteRefused as problem:
            for fault in problem.faults:
                _tell(taken, group, fault)

    def _note(self, group: Gathered) -> Note:
        data = group.data()
        if "id" not in data:
            made = self._identities.id_of(data)
            self.derived.add(made)
            data["id"] = str(made)
        data["planting"] = str(self.planting)
        data.setdefault("by", self.by)
        data.setdefault("device", self.device)
        data.setdefault("recorded", self.recorded.isoformat())
        return read_note(data)

    def finish(self, taken: Iterable[Taken]) -> list[Note]:
        """Return all notes of a file; tags of no shrub and ids that come twice are told."""
        taken = list(taken)
        if self.known is not None:
            tags = {*self.known, *(tag for one in taken for tag in one.planted)}
            for one in taken:
                _tell_unknown_tags(one, tags)
        found: dict[UUID, Note] = {}
        for one in taken:
            for row, note in one.notes:
                _keep(one, row, note, found)
        return list(found.values())


def _keep(taken: Taken, row: int, note: Note, found: dict[UUID, Note]) -> None:
    earlier = found.setdefault(note.id, note)
    if earlier is note:
        return
    if earlier == note:
        taken.table.grid.told.append(f"row {row} is the same note as one above, with its id")
    else:
        told = f"a second note with the id {note.id}, with other content"
        taken.table.grid.fault(row, "id", told, "each id once")


def _read_row(taken: Taken, row: int, kind: str, filled: dict[int, object]) -> Read:
    table = taken.table
    matches = table.matches[kind]
    read = Read(row)
    for index, value in filled.items():
        match = matches.get(index)
        if match is None:
            _tell_stray(taken, row, kind, index)
            continue
        if match.column in read.values:
            expected = f'one value for "{match.column.label}"'
            table.grid.fault(row, table.name_of(index), shown_cell(value), expected)
            continue
        try:
            read.values[match.column] = read_cell(value, match.column, match.unit, taken.how)
        except CellFault as fault:
            name = table.name_of(index)
            table.grid.fault(row, name, fault.found, fault.expected, fault.suggestion)
            continue
        if match.column.is_tag:
            tag = str(read.values[match.column])
            taken.tags.append((row, index, tag))
            if kind in _PLANTS and match.column.field == "shrub":
                taken.planted.add(tag)
    return read


def _tell_stray(taken: Taken, row: int, kind: str, index: int) -> None:
    table = taken.table
    header = table.headers.get(index)
    known = any(index in matches for matches in table.matches.values())
    if header is None:
        found = shown_cell(taken.cells[row][index])
        table.grid.fault(row, table.name_of(index), found, "a header above every column in use")
    elif known and table.kind is None:
        title = layout_of(kind).title
        found = shown_cell(taken.cells[row][index])
        table.grid.fault(row, header, found, f"nothing here: {title} has no such entry")


def _agrees(taken: Taken, group: Gathered) -> bool:
    agrees = True
    for row, column, value, first, earlier in group.conflicts():
        agrees = False
        expected = f"{earlier!r} as in row {first} of the same {group.layout.title}"
        taken.table.grid.fault(row, _header(taken, group, column), repr(value), expected)
    return agrees


def _header(taken: Taken, group: Gathered, column: Column) -> str:
    for index, match in taken.table.matches[group.layout.kind].items():
        if match.column == column:
            return taken.table.name_of(index)
    return column.header(taken.how.units)


def _tell_limits(taken: Taken, group: Gathered) -> None:
    means_it = any(read.of("means_it") is True for read in group.rows)
    for read in group.rows:
        for column, value in read.values.items():
            for fault in limit_faults("", column.entry, value):
                if not (means_it and fault.overrulable):
                    _tell_at(taken, group, read, column, fault)


def _tell(taken: Taken, group: Gathered, fault: Fault) -> None:
    """Tell a fault of a note at the cell that it is about."""
    read, label = group.rows[0], fault.entry
    part = _PART.fullmatch(label)
    if part is not None and group.layout.part is not None:
        read, label = group.rows[int(part[1]) - 1], part[2] or ""
    column = _column_of(taken, group, label, in_part=part is not None)
    if column is None:
        taken.table.grid.fault(read.row, label or None, fault.found, fault.expected)
        return
    if part is None:
        read = next((r for r in group.rows if column in r.values), read)
    _tell_at(taken, group, read, column, fault)


def _column_of(taken: Taken, group: Gathered, label: str, *, in_part: bool) -> Column | None:
    matched = [m.column for m in taken.table.matches[group.layout.kind].values()]
    for column in (*matched, *group.layout.columns):
        if column.in_part != in_part:
            continue
        by_key = f"{column.entry.label}, {column.key}" if column.key else None
        if label in {column.label, column.field, by_key}:
            return column
    return None


def _tell_at(taken: Taken, group: Gathered, read: Read, column: Column, fault: Fault) -> None:
    found, expected = fault.found, fault.expected
    if fault.beyond is not None:
        found, units = _as_typed(taken, group, read, column) or (found, taken.how.units)
        expected = fault.beyond.told(units)[1]
    if fault.overrulable:
        expected += _OVERRULE
    taken.table.grid.fault(read.row, _header(taken, group, column), found, expected)


def _as_typed(
    taken: Taken, group: Gathered, read: Read, column: Column
) -> tuple[str, System] | None:
    """Return a cell as it was typed, and the system of units in which its column is."""
    for index, match in taken.table.matches[group.layout.kind].items():
        cell = taken.cells[read.row].get(index)
        if match.column == column and cell is not None:
            bare = not isinstance(cell, str) or cell.strip(BLANKS)[-1:].isdigit()
            told = shown_cell(cell).strip("'") if bare else shown_cell(cell)
            return f"{told} {match.unit}".strip() if bare else told, _system_of(match, taken.how)
    return None


def _system_of(match: Match, how: Reading) -> System:
    systems: tuple[System, ...] = (how.units, "metric", "US")
    quantity = match.column.entry.quantity
    if quantity is None:
        return how.units
    return next((s for s in systems if unit_of(quantity, s).symbol == match.unit), how.units)


def _tell_unknown_tags(taken: Taken, tags: set[str]) -> None:
    for row, index, tag in taken.tags:
        if tag not in tags:
            taken.table.grid.fault(
                row,
                taken.table.name_of(index),
                repr(tag),
                "the tag of a shrub of this planting",
                near_miss(tag, tags),
            )
