"""What is wrong with a file that was to be read: where, what was found, what was expected.

ValueError
└── ImportRefused    a file of which nothing was taken, with every fault in it
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from difflib import get_close_matches


@dataclass(frozen=True)
class ImportFault:
    """One fault of a file; `sheet`, `row` and `column` are None where they say nothing.

    `row` is counted from 1 as a spreadsheet program shows it; `column` is its header.
    """

    file: str
    sheet: str | None
    row: int | None
    column: str | None
    found: str
    expected: str
    suggestion: str | None = None

    def __str__(self) -> str:
        """One line for a person."""
        where = [self.file]
        where += [f'sheet "{self.sheet}"'] if self.sheet else []
        where += [f"row {self.row}"] if self.row else []
        where += [f'"{self.column}"'] if self.column else []
        meant = f' (did you mean "{self.suggestion}"?)' if self.suggestion else ""
        return f"{', '.join(where)}: found {self.found}, expected {self.expected}{meant}"


class ImportRefused(ValueError):  # noqa: N818 - it says what happened
    """A file of which nothing was taken.

    Attributes
    ----------
    faults : tuple of ImportFault, every fault of the file
    told : tuple of str, what had been detected by then
    """

    def __init__(self, faults: Sequence[ImportFault], told: Iterable[str] = ()) -> None:
        self.faults = tuple(faults)
        self.told = tuple(told)
        lines = [str(fault) for fault in self.faults]
        super().__init__("\n".join([*lines, "Nothing was imported."]))


class CellFault(ValueError):  # noqa: N818 - a fault without its place yet
    """A cell that cannot be read: what was found, what was expected."""

    def __init__(self, found: str, expected: str, suggestion: str | None = None) -> None:
        self.found, self.expected, self.suggestion = found, expected, suggestion
        super().__init__(f"found {found}, expected {expected}")


def near_miss(word: str, known: Iterable[str]) -> str | None:
    """Return the known word most like the one found, None if none is near.

    Examples
    --------
    >>> near_miss("Layr made", ["layer made", "shrub lost"])
    'layer made'
    >>> near_miss("xyzzy", ["layer made"]) is None
    True
    """
    folded = {k.casefold(): k for k in known}
    near = get_close_matches(word.casefold().strip(), folded, n=1, cutoff=0.6)
    return folded[near[0]] if near else None


def listed(words: Sequence[str], most: int = 12) -> str:
    """Words in a row for a message, cut short after `most`."""
    more = f" and {len(words) - most} more" if len(words) > most else ""
    return ", ".join(words[:most]) + more
