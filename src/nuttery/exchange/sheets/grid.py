"""A sheet as it was read: its rows, and what was odd about it."""

from dataclasses import dataclass, field

from nuttery.exchange.sheets.faults import ImportFault

MOST_ROWS = 200_000
MOST_COLUMNS = 500
MOST_BYTES = 100_000_000


@dataclass
class Grid:
    """Rows of one sheet, each with its number as a spreadsheet program shows it.

    A cell is None, text, a number, a truth, a date, a time, or `Broken`.
    """

    file: str
    sheet: str | None
    rows: list[tuple[int, list[object]]]
    told: list[str] = field(default_factory=list)
    faults: list[ImportFault] = field(default_factory=list)

    def fault(
        self,
        row: int | None,
        column: str | None,
        found: str,
        expected: str,
        suggestion: str | None = None,
    ) -> None:
        """Add a fault of this sheet."""
        self.faults.append(
            ImportFault(self.file, self.sheet, row, column, found, expected, suggestion)
        )


def letter(index: int) -> str:
    """Return the letters of a column, counted from 0.

    Examples
    --------
    >>> letter(0), letter(27)
    ('A', 'AB')
    """
    letters = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        letters = chr(65 + rest) + letters
    return letters
