"""Rows and columns of a delimited text file, with the line of each row."""

import csv
import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from nuttery.exchange.weather.errors import Account
from nuttery.exchange.weather.source import Source

DELIMITERS = (",", ";", "\t", "|")
PLAIN_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?", re.ASCII)
COMMA_NUMBER = re.compile(r"[+-]?\d*,\d+", re.ASCII)
SHOWN = 60


@dataclass(frozen=True)
class Table:
    """A delimited file: names of the columns, cells by column, the line of each row."""

    header: tuple[str, ...]
    header_line: int
    columns: tuple[tuple[str, ...], ...]
    lines: tuple[int, ...]
    delimiter: str

    def __len__(self) -> int:
        """Number of rows."""
        return len(self.lines)

    def column(self, index: int) -> str:
        """A column as a message names it.

        Examples
        --------
        >>> Table(("day", "tmin_C"), 1, ((), ()), (), ",").column(1)
        'column 2 "tmin_C"'
        """
        return f'column {index + 1} "{self.header[index]}"'

    def rows(self, indices: Sequence[int]) -> "Table":
        """The same table with these rows alone."""
        return replace(
            self,
            columns=tuple(tuple(column[i] for i in indices) for column in self.columns),
            lines=tuple(self.lines[i] for i in indices),
        )

    def index(self, name: str) -> int | None:
        """Index of the column of that name, whatever its case; None if there is none."""
        wanted = name.casefold()
        names = (title.casefold() for title in self.header)
        return next((i for i, title in enumerate(names) if title == wanted), None)


def clip(text: str) -> str:
    """A cell as a message shows it, quoted, and cut if it is long.

    Examples
    --------
    >>> clip("soon")
    '"soon"'
    """
    return f'"{text}"' if len(text) <= SHOWN else f'"{text[:SHOWN]}…"'


def delimiter_of(lines: Iterable[str]) -> str | None:
    """The delimiter that cuts most lines into equally many cells, else blanks; None if none does.

    Examples
    --------
    >>> delimiter_of(["date;tmax_C", "1.5.2020;17,5"])
    ';'
    >>> delimiter_of(["date  tmax_C", "2020-05-01  17.5"])
    ' '
    """
    sample = [line for line in lines if line.strip()][:30]
    best: tuple[int, int, str | None] = (0, 0, None)
    for delimiter in DELIMITERS:
        counts = Counter(len(row) for row in _cells(sample, delimiter) if len(row) > 1)
        if counts:
            width, agreeing = counts.most_common(1)[0]
            best = max(best, (agreeing, width, delimiter), key=lambda found: found[:2])
    blanks = [line for line in sample if " " in line.strip()]
    return best[2] or (" " if len(blanks) == len(sample) > 1 else None)


def _cells(lines: Sequence[str], delimiter: str) -> list[list[str]]:
    """Cells of each line on its own; a line that the csv module cannot take has none."""
    rows = []
    for line in lines:
        try:
            rows += list(csv.reader([line], delimiter=delimiter))
        except csv.Error:
            rows.append([])
    return rows


def read_table(
    source: Source,
    header_index: int,
    delimiter: str,
    account: Account,
    *,
    titles: tuple[str, ...] = (),
) -> Table:
    """Rows below the header line; blank lines and lines that begin with # are passed over.

    Where the file has no header, `titles` stands for it and the rows begin at `header_index`.

    Raises
    ------
    WeatherFileError
        A quoted cell does not end, or is larger than the csv module takes.
    """
    header = titles
    rows: list[list[str]] = []
    lines: list[int] = []
    reader = csv.reader(source.lines[header_index:], delimiter=delimiter, skipinitialspace=True)
    line = header_index
    try:
        for cells in reader:
            first, line = line + 1, header_index + reader.line_num
            if not header:
                header = tuple(cell.strip() for cell in cells)
            elif "".join(cells).strip() and not cells[0].startswith("#"):
                rows.append(cells)
                lines.append(first)
    except csv.Error as problem:
        account.refuse(
            line + 1, None, f"a cell that cannot be read ({problem})", "cells of a table"
        )
    header = _without_empty_end(header, rows)
    kept = [i for i, row in enumerate(rows) if _right_width(row, header, lines[i], account)]
    columns = tuple(zip(*(rows[i][: len(header)] for i in kept), strict=True))
    return Table(
        header,
        header_index + 1,
        columns or tuple(() for _ in header),
        tuple(lines[i] for i in kept),
        delimiter,
    )


def cells_of(source: Source, index: int, account: Account) -> list[str]:
    """Cells of one line with commas, without blanks around them.

    Raises
    ------
    WeatherFileError
        A cell is larger than the csv module takes.
    """
    try:
        return [cell.strip() for cell in next(csv.reader([source.lines[index]]), [])]
    except csv.Error as problem:
        account.refuse(index + 1, None, f"a cell that cannot be read ({problem})", "cells")


def _without_empty_end(header: tuple[str, ...], rows: list[list[str]]) -> tuple[str, ...]:
    """Header without the nameless last column that a delimiter at the end of a line makes."""
    while header and not header[-1] and all(len(r) < len(header) or not r[-1] for r in rows):
        header = header[:-1]
    return header


def _right_width(row: list[str], header: tuple[str, ...], line: int, account: Account) -> bool:
    if len(row) == len(header):
        return True
    spare = [cell for cell in row[len(header) :] if cell.strip()]
    if len(row) < len(header) or spare:
        account.fault(line, None, f"{len(row)} cells", f"{len(header)} as in the header")
        return False
    return True


def plain_number(text: str) -> float | None:
    """A number with a decimal point, or None.

    Examples
    --------
    >>> plain_number("-3.5"), plain_number("1_000"), plain_number("nan")
    (-3.5, None, None)
    """
    return float(text) if PLAIN_NUMBER.fullmatch(text) else None
