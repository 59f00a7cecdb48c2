"""From what arrives (JSON text, or JSON-like values) to a checked note, or to all its faults."""

import hashlib
import json
from collections.abc import Mapping
from typing import Annotated, Any, TypeVar, Union, cast

from pydantic import Field, TypeAdapter, ValidationError
from pydantic_core import ErrorDetails

from nuttery.records import (
    bloom_notes,
    cane_notes,
    crop_notes,
    other_notes,
    planting_notes,
)
from nuttery.records.fields import Fault, entries
from nuttery.records.note import Note, Part
from nuttery.records.units import System

Kind = TypeVar("Kind", bound=Note)
_ROOMS = (planting_notes, cane_notes, bloom_notes, crop_notes, other_notes)


def _kinds() -> dict[str, type[Note]]:
    found = {}
    for room in _ROOMS:
        for thing in vars(room).values():
            if isinstance(thing, type) and issubclass(thing, Note) and thing is not Note:
                found[str(thing.model_fields["kind"].default)] = thing
    return found


KINDS: dict[str, type[Note]] = _kinds()
"""Every kind of note by its name."""

PARTS: dict[tuple[str, str], type[Part]] = {
    ("canes_cut", "cuts"): cane_notes.Cut,
    ("sample", "nuts"): crop_notes.Nut,
}
"""The parts of a note that is made of several, by its kind and entry."""

_any_kind: TypeAdapter[Note] = TypeAdapter(
    cast(
        "type[Note]",
        Annotated[Union[tuple(KINDS.values())], Field(discriminator="kind")],  # noqa: UP007 - made at run time
    )
)


class NoteRefused(ValueError):  # noqa: N818 - it says what happened
    """A note that is not kept, with everything that is wrong with it."""

    def __init__(self, faults: list[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(str(fault) for fault in faults))

    def in_units(self, system: System) -> "NoteRefused":
        """Return the same refusal, its numbers in the units of the planting."""
        return NoteRefused([fault.in_units(system) for fault in self.faults])


def trusted_note(text: str | bytes) -> Note:
    """Return a note from JSON that was checked when it was kept; its shape alone is checked.

    Raises
    ------
    pydantic.ValidationError
        If the text is not a note.
    """
    return _any_kind.validate_json(text)


def read_note(data: Mapping[str, Any] | str | bytes) -> Note:
    """Return the note that `data` tells, checked in full.

    Parameters
    ----------
    data : JSON text, or a mapping of JSON-like values (dates and ids as text)

    Raises
    ------
    NoteRefused
        With every fault: the entry, what was found, what was expected.

    Examples
    --------
    >>> from uuid import UUID
    >>> read_note({"kind": "remark", "id": str(UUID(int=1)), "planting": str(UUID(int=2)),
    ...     "seen": "2027-04-12", "by": "Ida", "recorded": "2027-04-12T17:00:00Z"})
    Traceback (most recent call last):
    nuttery.records.reading.NoteRefused: remark: found nothing, expected some words
    """
    text = data if isinstance(data, str | bytes) else json.dumps(data)
    try:
        note = trusted_note(text)
    except ValidationError as problem:
        raise NoteRefused(_structure_faults(problem, text)) from problem
    checked(note)
    return note


def checked(note: Kind) -> Kind:
    """Return the note itself if nothing is wrong with it.

    Raises
    ------
    NoteRefused
        With every fault that the note does not overrule.
    """
    faults = note.faults()
    if faults:
        raise NoteRefused(faults)
    return note


def note_text(note: Note) -> str:
    """Return the note as one line of JSON, always the same for the same note."""
    return note.model_dump_json(exclude_none=True)


def content_hash(text: str) -> str:
    """SHA-256 of a note's text, in hexadecimal."""
    return hashlib.sha256(text.encode()).hexdigest()


def _structure_faults(problem: ValidationError, text: str | bytes) -> list[Fault]:
    kind = _kind_of(text)
    faults = []
    for error in problem.errors(include_url=False):
        # The first step is the kind, where the kind is known.
        path = error["loc"][1:] if error["loc"][:1] == (kind,) else error["loc"]
        found = "nothing" if error["type"] == "missing" else _short(error["input"])
        faults.append(Fault(_entry_told(kind, path), found, _expected(error)))
    return faults


def _entry_told(kind: str, path: tuple[int | str, ...]) -> str:
    """Return the name of an entry: "nut 3, kernel mass", "canes of age, 4", "mass"."""
    if not path or kind not in KINDS:
        return ", ".join(map(str, path)) or "note"
    name = str(path[0])
    part = PARTS.get((kind, name))
    if part is not None and len(path) > 1:
        labels = entries(part)
        steps = [labels[s].label if s in labels else str(s) for s in map(str, path[2:])]
        return ", ".join([f"{part.__name__.lower()} {int(path[1]) + 1}", *steps])
    known = entries(KINDS[kind])
    label = known[name].label if name in known else name
    return ", ".join([label, *(str(s) for s in path[1:] if s != "[key]")])


def _kind_of(text: str | bytes) -> str:
    try:
        data = json.loads(text)
    except ValueError:
        return ""
    return str(data.get("kind", "")) if isinstance(data, dict) else ""


def _short(value: object) -> str:
    told = repr(value)
    return told if len(told) <= 60 else f"{told[:57]}..."


_PLAIN_WORDS = {
    "missing": "an entry here",
    "extra_forbidden": "no such entry",
    "string_too_short": "some words",
    "string_too_long": "at most {max_length} characters",
    "greater_than_equal": "{ge} or more",
    "less_than_equal": "{le} or less",
}


_TAG_WORDS = "letters and digits, then also . _ - (no blanks)"
_TEXT_WORDS = "text without control characters"


def _expected(error: ErrorDetails) -> str:
    if error["type"] == "string_pattern_mismatch":
        return _TAG_WORDS if "A-Za-z" in error["ctx"]["pattern"] else _TEXT_WORDS
    if error["type"] in {"union_tag_invalid", "union_tag_not_found"}:
        return f"a kind of note: {', '.join(sorted(KINDS))}"
    if error["type"] in _PLAIN_WORDS:
        return _PLAIN_WORDS[error["type"]].format(**error.get("ctx", {}))
    return error["msg"].removeprefix("Input should be ").removeprefix("a valid ")
