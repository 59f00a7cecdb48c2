"""What the register says when it cannot do what was asked.

ValueError
├── RegisterProblem         the register itself: where it is, what it is, whether it can be written
│   ├── RegisterMissing         nothing there
│   ├── RegisterExists          something there already
│   ├── NotARegister            something else there
│   ├── RegisterTooNew          made by a later Nuttery
│   ├── RegisterDamaged         a register that cannot be read whole
│   ├── RegisterBusy            another writer kept it for too long
│   └── NoRoom                  the disk is full; nothing was kept
├── RegisterRefused         a batch of notes with something wrong in it; nothing of it was kept
│   └── ConflictingNote         an id that is taken by a note with other content
├── WeatherRefused          weather that contradicts what is kept, or itself
├── ArchiveRefused          a file that is no whole archive
└── NotKnown                a planting, shrub or note that the register does not hold
"""

from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from nuttery.records import Fault

TOLD = 20
"""Faults told in the text of an error; `.faults` has them all."""


class RegisterProblem(ValueError):  # noqa: N818 - these say what is the matter, in plain words
    """The register cannot be opened, read or written."""


class RegisterMissing(RegisterProblem):
    """There is no register where one was looked for."""


class RegisterExists(RegisterProblem):
    """There is something already where a register was to be made."""


class NotARegister(RegisterProblem):
    """What is there is not a register."""


class RegisterTooNew(RegisterProblem):
    """The register was made by a later Nuttery."""


class RegisterDamaged(RegisterProblem):
    """The register cannot be read whole."""


class RegisterBusy(RegisterProblem):
    """Another program was writing for too long."""


class NoRoom(RegisterProblem):
    """The disk is full or the file may not grow."""


class NotKnown(ValueError):  # noqa: N818 - it says what is the matter
    """The register holds no such planting, shrub or note."""


@dataclass(frozen=True)
class BatchFault:
    """One thing wrong with one note of a batch.

    Attributes
    ----------
    position : which note of the batch, from 1
    note : its id
    about : its kind and shrub, for a person
    fault : the entry, what was found, what was expected
    """

    position: int
    note: UUID
    about: str
    fault: Fault

    def __str__(self) -> str:
        """One line for a person."""
        return f"note {self.position} ({self.about}), {self.fault}"


class RegisterRefused(ValueError):  # noqa: N818 - it says what happened
    """A batch of notes that is not kept, with everything that is wrong with it."""

    def __init__(self, faults: Sequence[BatchFault]) -> None:
        self.faults = tuple(faults)
        super().__init__(_told([str(fault) for fault in faults], "Nothing of the batch was kept."))


class ConflictingNote(RegisterRefused):
    """An id that is taken: `.pairs` has (kept, offered) as their texts."""

    def __init__(self, faults: Sequence[BatchFault], pairs: Sequence[tuple[str, str]]) -> None:
        self.pairs = tuple(pairs)
        super().__init__(faults)


class WeatherRefused(ValueError):  # noqa: N818 - it says what happened
    """A weather record that is not kept, with everything that is wrong with it."""

    def __init__(self, faults: Sequence[str]) -> None:
        self.faults = tuple(faults)
        super().__init__(_told(faults, "Nothing of the record was kept."))


class ArchiveRefused(ValueError):  # noqa: N818 - it says what happened
    """A file that is no whole archive, with the reasons."""

    def __init__(self, reasons: Sequence[str]) -> None:
        self.reasons = tuple(reasons)
        super().__init__(_told(reasons, "Nothing was restored."))


def _told(faults: Sequence[str], outcome: str) -> str:
    more = [f"and {len(faults) - TOLD} more"] if len(faults) > TOLD else []
    return "; ".join([*faults[:TOLD], *more]) + f". {outcome}"
