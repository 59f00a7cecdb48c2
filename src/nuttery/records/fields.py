"""What is known of each entry of a note: its label, quantity, and the limits that catch a slip.

A value outside `usual` is asked about: it is refused unless the note says `means_it`.
A value outside `possible` is always refused.
"""

from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING, Annotated, Any

from pydantic import StringConstraints

from nuttery.records.units import Quantity, System, shown, unit_of

if TYPE_CHECKING:
    from nuttery.records.note import Part


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
    """One thing wrong with a note: which entry, what was found, what was expected.

    A number beyond its limits is carried along, so that it can be told in the grower's units.
    """

    entry: str
    found: str
    expected: str
    overrulable: bool = False
    beyond: "Beyond | None" = None

    def __str__(self) -> str:
        """One line for a person."""
        more = ' (say "I mean it" to keep it as it is)' if self.overrulable else ""
        return f"{self.entry}: found {self.found}, expected {self.expected}{more}"

    def in_units(self, system: System) -> "Fault":
        """Return the same fault, told in the units of the planting."""
        if self.beyond is None:
            return self
        found, expected = self.beyond.told(system)
        return replace(self, found=found, expected=expected)


@dataclass(frozen=True)
class Beyond:
    """A number, in stored units, beyond the limits of its entry."""

    number: float
    limits: tuple[float, float]
    entry: Entry

    def told(self, system: System) -> tuple[str, str]:
        """Return what was found and what was expected.

        Examples
        --------
        >>> Beyond(544.311, (0, 60), Entry("mass", "mass")).told("US")
        ('1200 lb', '0 to 132 lb')
        """
        expected = limits_told(self.limits, self.entry, system)
        if self.entry.quantity is None:
            return f"{self.number:g}", expected
        symbol = unit_of(self.entry.quantity, system).symbol
        return f"{shown(self.number, self.entry.quantity, system):g} {symbol}".strip(), expected


Tag = Annotated[
    str, StringConstraints(pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]*$", min_length=1, max_length=24)
]
# Control characters come from slips, and not every database or file can hold them.
Name = Annotated[
    str,
    StringConstraints(
        strip_whitespace=True, min_length=1, max_length=120, pattern=r"^[^\x00-\x1f\x7f]*$"
    ),
]
"""A name: one line of text."""
Text = Annotated[
    str,
    StringConstraints(
        strip_whitespace=True,
        min_length=1,
        max_length=4000,
        pattern=r"^[^\x00-\x08\x0b\x0c\x0e-\x1f\x7f]*$",
    ),
]
"""Text of one or more lines."""


@cache
def entries(model: type["Part"]) -> dict[str, Entry]:
    """Entries of a note or a part that carry a label, in the order in which they are asked."""
    found = {}
    for name, field in model.model_fields.items():
        for extra in field.metadata:
            if isinstance(extra, Entry):
                found[name] = extra
    return found


def _numbers(label: str, value: Any) -> list[tuple[str, float]]:  # noqa: ANN401 - any entry
    if isinstance(value, bool) or value is None:
        return []
    if isinstance(value, int | float):
        return [(label, float(value))]
    if isinstance(value, dict):
        return [(f"{label}, {k}", float(v)) for k, v in value.items() if isinstance(v, int | float)]
    if isinstance(value, tuple):
        return [(label, float(v)) for v in value if isinstance(v, int | float)]
    return []


def limits_told(limits: tuple[float, float], entry: Entry, system: System = "metric") -> str:
    """Limits of an entry as a person reads them, in the planting's units.

    Examples
    --------
    >>> limits_told((3, 120), Entry("cane base", "small length"), "US")
    '0.118 to 4.72 in'
    """
    if entry.quantity is None:
        return f"{limits[0]:g} to {limits[1]:g}"
    low, high = (f"{shown(v, entry.quantity, system):.3g}" for v in limits)
    return f"{_plain(low)} to {_plain(high)} {unit_of(entry.quantity, system).symbol}".strip()


def _plain(number: str) -> str:
    return f"{float(number):.0f}" if "e" in number else number


def limit_faults(label_prefix: str, entry: Entry, value: object) -> list[Fault]:
    """Faults of one entry against its limits, in stored units."""
    faults = []
    for label, number in _numbers(f"{label_prefix}{entry.label}", value):
        for limits, overrulable in ((entry.possible, False), (entry.usual, True)):
            if limits is None or limits[0] <= number <= limits[1]:
                continue
            beyond = Beyond(number, limits, entry)
            faults.append(Fault(label, *beyond.told("metric"), overrulable, beyond))
            break
    return faults
