"""What is known of each entry of a note: its label, quantity, and the limits that catch a slip.

A value outside `usual` is asked about: it is refused unless the note says `means_it`.
A value outside `possible` is always refused.
"""

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Annotated, Any

from pydantic import StringConstraints

from nuttery.records.units import Quantity

if TYPE_CHECKING:
    from nuttery.records.note import Note


@dataclass(frozen=True)
class Entry:
    """One entry of a note, as a grower would name it, in stored units.

    `usual` and `possible` are closed ranges of the stored value.
    """

    label: str
    quantity: Quantity | None = None
    usual: tuple[float, float] | None = None
    possible: tuple[float, float] | None = None
    hint: str = ""


@dataclass(frozen=True)
class Fault:
    """One thing wrong with a note: which entry, what was found, what was expected."""

    entry: str
    found: str
    expected: str
    overrulable: bool = False

    def __str__(self) -> str:
        """One line for a person."""
        more = ' (say "I mean it" to keep it as it is)' if self.overrulable else ""
        return f"{self.entry}: found {self.found}, expected {self.expected}{more}"


Tag = Annotated[
    str, StringConstraints(pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]*$", min_length=1, max_length=24)
]
Name = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=120)]
Text = Annotated[str, StringConstraints(min_length=1, max_length=4000)]


@cache
def entries(model: type["Note"]) -> dict[str, Entry]:
    """Entries of a kind of note that carry a label, in the order in which they are asked."""
    found = {}
    for name, field in model.model_fields.items():
        for extra in field.metadata:
            if isinstance(extra, Entry):
                found[name] = extra
    return found


def _numbers(value: Any) -> list[float]:  # noqa: ANN401 - any entry of any note
    if isinstance(value, bool) or value is None:
        return []
    if isinstance(value, int | float):
        return [float(value)]
    if isinstance(value, dict):
        return [float(v) for v in value.values() if isinstance(v, int | float)]
    if isinstance(value, tuple):
        return [float(v) for v in value if isinstance(v, int | float)]
    return []


def limit_faults(label_prefix: str, entry: Entry, value: object) -> list[Fault]:
    """Faults of one entry against its limits, in stored units."""
    from nuttery.records.units import unit_of

    symbol = unit_of(entry.quantity, "metric").symbol if entry.quantity else ""
    scale = 100.0 if entry.quantity == "share" else 1.0
    faults = []
    for number in _numbers(value):
        for limits, overrulable in ((entry.possible, False), (entry.usual, True)):
            if limits is None or limits[0] <= number <= limits[1]:
                continue
            told = f"{number * scale:g} {symbol}".strip()
            wanted = f"{limits[0] * scale:g} to {limits[1] * scale:g} {symbol}".strip()
            faults.append(Fault(f"{label_prefix}{entry.label}", told, wanted, overrulable))
            break
    return faults
