"""Faults of a weather file: where, found, expected; all of a file at once.

ValueError
└── WeatherFileError    the file cannot be believed; nothing of it was taken
"""

from dataclasses import dataclass, field
from typing import NoReturn

SHOWN = 20


@dataclass(frozen=True)
class Fault:
    """One fault of a file; `line` counts from 1, None where the whole file is meant."""

    line: int | None
    column: str | None
    found: str
    expected: str

    def __str__(self) -> str:
        """Where, found, expected, as the message shows it."""
        where = [f"line {self.line}"] if self.line is not None else []
        where += [self.column] if self.column else []
        place = ", ".join(where)
        return f"{place}{': ' if place else ''}found {self.found}, expected {self.expected}"


class WeatherFileError(ValueError):
    """A weather file with faults, each told with its line, its column, what it has and should."""

    def __init__(self, message: str, faults: tuple[Fault, ...] = ()) -> None:
        super().__init__(message)
        self.faults = faults


@dataclass
class Account:
    """What is to be said of a file: its faults, and what was done with what is in it."""

    file: str
    faults: dict[Fault, None] = field(default_factory=dict)
    told: list[str] = field(default_factory=list)

    def tell(self, *sentences: str) -> None:
        """Say what was read, dropped or taken for something else."""
        self.told.extend(sentences)

    def fault(self, line: int | None, column: str | None, found: str, expected: str) -> None:
        """Note one fault and go on reading; the same fault counts once."""
        self.faults[Fault(line, column, found, expected)] = None

    def refuse(self, line: int | None, column: str | None, found: str, expected: str) -> NoReturn:
        """Note one fault that makes further reading pointless, and refuse the file.

        Raises
        ------
        WeatherFileError
            Always.
        """
        self.fault(line, column, found, expected)
        self._refuse()

    def refuse_if_faulty(self) -> None:
        """Refuse the file if any fault was met.

        Raises
        ------
        WeatherFileError
            With the first faults in the order of their lines and the count of the rest.
        """
        if self.faults:
            self._refuse()

    def _refuse(self) -> NoReturn:
        faults = tuple(sorted(self.faults, key=lambda fault: fault.line or 0))
        if len(faults) == 1:
            raise WeatherFileError(f"{self.file}, {faults[0]}. Nothing was taken.", faults)
        shown = [f"  {fault}" for fault in faults[:SHOWN]]
        rest = len(faults) - SHOWN
        more = [f"  and {rest} more like these"] if rest > 0 else []
        head = f"{self.file}: {len(faults)} faults. Nothing was taken."
        raise WeatherFileError("\n".join([head, *shown, *more]), faults)
