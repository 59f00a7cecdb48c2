"""The columns of a sheet: one for each entry of a kind of note, with what its cells hold."""

import types
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time
from functools import cache
from typing import Annotated, Any, Literal, Union, cast, get_args, get_origin
from uuid import UUID

from nuttery.records import KINDS, PARTS, SIZE_CLASS_MM, Entry, Note, Part, System, entries, unit_of

Holds = Literal["text", "whole", "number", "yes", "day", "time", "moment", "id"]

_TYPES: dict[type, Holds] = {
    str: "text",
    bool: "yes",
    int: "whole",
    float: "number",
    date: "day",
    time: "time",
    datetime: "moment",
    UUID: "id",
}
HEAD = ("shrub", "cane", "seen", "seen_at", "by")
TAIL = ("remark", "photo", "means_it", "cane", "stands_in_for", "id", "recorded", "device")
_UNTOLD = {"kind", "planting"}
_LABELS = {"means_it": "I mean it", "stands_in_for": "stands in for"}
_HINTS = {
    "means_it": "yes keeps a value that is outside the usual limits",
    "stands_in_for": "the id of the older note that this one corrects",
    "id": "leave it empty: the program makes one",
    "recorded": "leave it empty: the time of the import is taken",
    "device": "leave it empty",
}
_CANE_EARLY = {"cane_labelled", "rings_counted"}
GROUP = "group"
_GROUPS = {
    "canes_cut": Entry("which cutting", hint="rows of one shrub, day and name are one note"),
    "sample": Entry("which sample", hint="rows of one shrub, day and name are one sample"),
}
BREAKDOWNS: dict[str, tuple[str, ...]] = {
    "by_age": tuple(map(str, range(1, 16))),
    "by_year": (),
    "by_size": tuple(SIZE_CLASS_MM),
}
"""Columns always there of each breakdown of a count; others are added as they are needed."""


@dataclass(frozen=True)
class Column:
    """One column: which entry of the note (or of its part) its cells hold, and how."""

    field: str
    label: str
    holds: Holds
    entry: Entry
    choices: tuple[str, ...] = ()
    several: bool = False
    key: str | None = None
    in_part: bool = False
    required: bool = False

    def header(self, units: System) -> str:
        """Label with the unit of the planting."""
        symbol = unit_of(self.entry.quantity, units).symbol if self.entry.quantity else ""
        return f"{self.label} ({symbol})" if symbol else self.label

    @property
    def is_tag(self) -> bool:
        """Whether the cells name a shrub of this planting."""
        return self.field in {"shrub", "copy_of"}


@dataclass(frozen=True)
class Layout:
    """The sheet of one kind of note."""

    kind: str
    columns: tuple[Column, ...]
    part_field: str | None = None

    @property
    def model(self) -> type[Note]:
        """The kind of note itself."""
        return KINDS[self.kind]

    @property
    def title(self) -> str:
        """Name of the sheet: the kind as a grower says it."""
        return self.model.title

    @property
    def part(self) -> type[Part] | None:
        """The part of which the note has several, one to a row."""
        return PARTS[self.kind, self.part_field] if self.part_field else None


@cache
def layout_of(kind: str) -> Layout:
    """Return the sheet of a kind of note.

    Examples
    --------
    >>> [c.header("US") for c in layout_of("rings_counted").columns][4:8]
    ['seen by', 'rings', 'cane base (in)', 'bark']
    """
    part_field = next((field for of, field in PARTS if of == kind), None)
    return Layout(kind, tuple(_columns(kind, part_field)), part_field)


def _columns(kind: str, part_field: str | None) -> Iterator[Column]:
    model = KINDS[kind]
    own = [n for n in model.model_fields if n not in {*HEAD, *TAIL, *_UNTOLD}]
    head = [n for n in HEAD if n != "cane" or kind in _CANE_EARLY]
    tail = [n for n in TAIL if n != "cane" or kind not in _CANE_EARLY]
    for name in [*head, *own, *tail]:
        if name in {"shrub", "cane"} and model.about == "planting":
            continue
        if name == part_field:
            yield Column(GROUP, _GROUPS[kind].label, "text", _GROUPS[kind])
            part = PARTS[kind, name]
            for inner in part.model_fields:
                yield _column(part, inner, in_part=True)
        elif name in BREAKDOWNS:
            yield from (breakdown_column(model, name, key) for key in BREAKDOWNS[name])
        else:
            yield _column(model, name)


def breakdown_column(model: type[Note], name: str, key: str) -> Column:
    """Return the column of one age, year or size of a count."""
    entry = entries(model)[name]
    joint = ", " if name == "by_size" else " "
    return Column(name, f"{entry.label}{joint}{key}", "whole", entry, key=key)


def _column(model: type[Part], name: str, *, in_part: bool = False) -> Column:
    field = model.model_fields[name]
    entry = entries(model).get(name) or Entry(_LABELS.get(name, name), hint=_HINTS.get(name, ""))
    core, several = _core(field.annotation)
    required = field.is_required() and name not in {"id", "recorded", "by"}
    if name == "shrub" and cast("type[Note]", model).about in {"shrub", "cane"}:
        required = True
    if name == "cane" and not in_part and cast("type[Note]", model).about == "cane":
        required = True
    choices = tuple(map(str, get_args(core))) if get_origin(core) is Literal else ()
    holds = "text" if choices else _TYPES[core]
    return Column(
        name, entry.label, holds, entry, choices, several, in_part=in_part, required=required
    )


def _core(annotation: Any) -> tuple[Any, bool]:  # noqa: ANN401 - annotations have no common type
    """Return the type that the cells hold, and whether a cell holds several."""
    origin = get_origin(annotation)
    if origin is Annotated:
        core = get_args(annotation)[0]
        return (datetime, False) if core is datetime else _core(core)
    if origin in {Union, types.UnionType}:
        return _core(next(a for a in get_args(annotation) if a is not types.NoneType))
    if origin is tuple:
        return _core(get_args(annotation)[0])[0], True
    if annotation not in _TYPES and origin is not Literal:
        return datetime, False  # pydantic's AwareDatetime, the only one of its sort here
    return annotation, False
