"""A grid with its header understood: which kind of note, which column holds which entry."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import PurePath

from nuttery.exchange.sheets.cells import Broken, is_blank, shown_cell
from nuttery.exchange.sheets.columns import layout_of
from nuttery.exchange.sheets.faults import CellFault, listed, near_miss
from nuttery.exchange.sheets.grid import Grid, letter
from nuttery.exchange.sheets.headers import (
    KIND_HEADERS,
    LEFT_OUT_HEADERS,
    Match,
    is_known_header,
    is_own,
    kind_named,
    known_headers,
    match_header,
    plain,
)
from nuttery.records import KINDS, System

_SEARCHED_FOR_HEADER = 12


@dataclass
class Table:
    """A grid with its header understood; `kind` is None where each row tells its own."""

    grid: Grid
    headers: dict[int, str]
    header_row: int
    kind: str | None
    kind_column: int | None
    left_out_column: int | None
    matches: dict[str, dict[int, Match]] = field(default_factory=dict)
    left_out: list[int] = field(default_factory=list)

    def name_of(self, index: int) -> str:
        """Header of a column, or its letter."""
        return self.headers.get(index) or f"column {letter(index)}"

    def body(self) -> Iterator[tuple[int, str, dict[int, object]]]:
        """Yield rows below the header that are to be read: number, kind, filled cells."""
        for number, cells in self.grid.rows:
            filled = {k: value for k, value in enumerate(cells) if not is_blank(value)}
            if number <= self.header_row or not filled:
                continue
            if self.left_out_column in filled:
                self.left_out.append(number)
                continue
            kind = self.kind or self._kind_of(number, filled)
            if kind is not None:
                yield number, kind, filled

    def _kind_of(self, number: int, filled: dict[int, object]) -> str | None:
        index = self.kind_column if self.kind_column is not None else -1
        word = filled.get(index)
        if word is None:
            self.grid.fault(number, self.name_of(index), "nothing", "a kind of note")
            return None
        kind = kind_named(str(word))
        if kind is None:
            titles = [model.title for model in KINDS.values()]
            self.grid.fault(
                number,
                self.name_of(index),
                shown_cell(word),
                f"a kind of note: {listed(titles, len(titles))}",
                near_miss(str(word), titles),
            )
        return kind


def table_of(grid: Grid, units: System) -> Table | None:
    """Return the grid with its header understood, None if it holds nothing to import.

    Faults are added to the grid.
    """
    if is_own(grid.sheet or ""):
        grid.told.append("left out, because its name stands in parentheses")
        return None
    if not grid.rows:
        return None
    number, cells = _header(grid)
    headers = {k: str(v).strip() for k, v in enumerate(cells) if not is_blank(v)}
    _check_header_cells(grid, number, cells)
    kind_column = next((k for k, h in headers.items() if plain(h) in KIND_HEADERS), None)
    left_out = next((k for k, h in headers.items() if plain(h) in LEFT_OUT_HEADERS), None)
    kind = None if kind_column is not None else _kind_of_grid(grid)
    if kind is None and kind_column is None:
        return None
    table = Table(grid, headers, number, kind, kind_column, left_out)
    _match_columns(table, units)
    return table


def _check_header_cells(grid: Grid, number: int, cells: list[object]) -> None:
    for k, value in enumerate(cells):
        if isinstance(value, Broken):
            grid.fault(number, f"column {letter(k)}", value.found, value.expected)


def _header(grid: Grid) -> tuple[int, list[object]]:
    """Return the row of the first dozen that names most entries."""

    def matches(row: tuple[int, list[object]]) -> int:
        return sum(isinstance(cell, str) and is_known_header(cell) for cell in row[1])

    best = max(grid.rows[:_SEARCHED_FOR_HEADER], key=matches)
    above = [str(number) for number, _ in grid.rows if number < best[0]]
    if above:
        grid.told.append(f"above the header, left out: row {', '.join(above)}")
    return best


def _kind_of_grid(grid: Grid) -> str | None:
    name = grid.sheet if grid.sheet is not None else PurePath(grid.file).stem
    kind = kind_named(name)
    if kind is None:
        titles = [model.title for model in KINDS.values()]
        place = "a sheet" if grid.sheet is not None else "a file"
        grid.fault(
            None,
            None,
            f'{place} named "{name}" without a column "kind"',
            f'a name that is a kind of note ({listed(titles, len(titles))}), or a column "kind"',
            near_miss(name, titles),
        )
    return kind


def _match_columns(table: Table, units: System) -> None:
    kinds = [table.kind] if table.kind is not None else list(KINDS)
    known: set[int] = set()
    for kind in kinds:
        table.matches[kind] = {}
        for index in _entry_columns(table):
            match = _match(table, index, kind, units)
            if match is not None:
                known.add(index)
                table.matches[kind][index] = match
        _check_twice(table, kind)
    for index in _entry_columns(table):
        if index not in known:
            _tell_unknown(table, index, kinds, units)


def _entry_columns(table: Table) -> list[int]:
    special = {table.kind_column, table.left_out_column}
    return [k for k, h in table.headers.items() if k not in special and not is_own(h)]


def _match(table: Table, index: int, kind: str, units: System) -> Match | None:
    try:
        return match_header(table.headers[index], layout_of(kind), units)
    except CellFault as fault:
        table.grid.fault(table.header_row, table.headers[index], fault.found, fault.expected)
        return None


def _check_twice(table: Table, kind: str) -> None:
    seen: dict[str, int] = {}
    for index, match in table.matches[kind].items():
        earlier = seen.setdefault(match.column.label, index)
        if earlier != index and table.kind is not None:
            found = f'a second column for "{match.column.label}" beside "{table.name_of(earlier)}"'
            table.grid.fault(table.header_row, table.name_of(index), found, "one column for it")


def _tell_unknown(table: Table, index: int, kinds: list[str], units: System) -> None:
    header = table.headers[index]
    told = {f.column for f in table.grid.faults if f.row == table.header_row}
    if header in told:
        return
    known = list(dict.fromkeys(h for kind in kinds for h in known_headers(kind, units)))
    table.grid.fault(
        table.header_row,
        header,
        "a column of an unknown name",
        f"one of: {listed(known, len(known))}; or a name in parentheses, to leave the column out",
        near_miss(header, known),
    )
