"""Forms of every kind of note, worked out from what `records` knows of each entry."""

import types
from dataclasses import dataclass
from datetime import date, time
from typing import Any, Literal, Union, get_args, get_origin
from uuid import UUID

from nuttery.records import KINDS, PARTS, Entry, Note, Part, System, entries, unit_of
from nuttery.season.telling import STAGE_WORDS

Shape = Literal[
    "number", "count", "yes or no", "choice", "choices", "text", "words", "numbers", "counts",
    "parts", "note", "day", "time",
]  # fmt: skip
NOT_IN_THE_ROW = {"planting_described", "value_set", "withdrawn", "photo"}
HEAD = {"shrub", "seen", "seen_at", "by", "photo"}
"""Entries that the page asks for itself, or knows."""
NOT_OF_A_SHRUB = {("parents_known", "seed_lot"), ("alleles_known", "parent")}
"""Entries that stand instead of a shrub: a note in the row has its shrub."""


@dataclass(frozen=True)
class Field:
    """One entry of a form, in the planting's units.

    Attributes
    ----------
    name, label, hint : of the entry
    shape : how it is asked for
    needed : whether the note is refused without it
    default : what it is when left alone
    unit : symbol of the unit in which it is asked for
    factor, offset : stored = (shown - offset) · factor
    digits : decimals shown; one step of a stepper is one of the last
    usual, possible : limits as stored
    choices : what may be chosen, as (stored, words)
    depends_on : entry on whose value the choices depend; `choices_by` then tells them
    keys : what the counts are of: "age", "year", or a choice
    parts : entries of each part
    """

    name: str
    label: str
    shape: Shape
    needed: bool
    hint: str = ""
    default: Any = None
    unit: str = ""
    factor: float = 1.0
    offset: float = 0.0
    digits: int = 0
    usual: tuple[float, float] | None = None
    possible: tuple[float, float] | None = None
    choices: tuple[tuple[Any, str], ...] = ()
    depends_on: str = ""
    choices_by: dict[str, tuple[tuple[Any, str], ...]] | None = None
    keys: str = ""
    parts: tuple["Field", ...] = ()


@dataclass(frozen=True)
class Form:
    """One kind of note: its name, what it is about, and its entries."""

    kind: str
    title: str
    told: str
    about: str
    fields: tuple[Field, ...]


def forms(system: System) -> tuple[Form, ...]:
    """Return the forms of all kinds of note that are written in the row."""
    return tuple(
        Form(
            kind=name,
            title=kind.title,
            told=(kind.__doc__ or "").strip().splitlines()[0],
            about=kind.about,
            fields=_fields(name, kind, system),
        )
        for name, kind in KINDS.items()
        if name not in NOT_IN_THE_ROW
    )


def _fields(kind: str, model: type[Part], system: System) -> tuple[Field, ...]:
    found = [
        _field(kind, model, name, entry, system)
        for name, entry in entries(model).items()
        if name not in HEAD and (kind, name) not in NOT_OF_A_SHRUB and _asked(model, name)
    ]
    return tuple(sorted(found, key=lambda field: (field.name == "remark", field.name != "cane")))


def _asked(model: type[Part], name: str) -> bool:
    """A label of a cane is asked for only where the note is about one."""
    return not (name == "cane" and issubclass(model, Note) and model.about != "cane")


def _field(kind: str, model: type[Part], name: str, entry: Entry, system: System) -> Field:
    info = model.model_fields[name]
    wanted = plain_type(info.annotation)
    unit = unit_of(entry.quantity, system) if entry.quantity else None
    part = PARTS.get((kind, name))
    return Field(
        name=name,
        label=entry.label,
        shape="parts" if part else _shape(wanted),
        needed=info.is_required() or (name == "cane" and issubclass(model, Note)),
        hint=entry.hint,
        default=None if info.is_required() or part else _plain(info.default),
        unit=unit.symbol if unit else "",
        factor=float(unit.factor / unit.divisor) if unit else 1.0,
        offset=float(unit.offset) if unit else 0.0,
        digits=unit.digits if unit and wanted is float else 0,
        usual=entry.usual,
        possible=entry.possible,
        choices=_choices(wanted),
        depends_on="organ" if name == "stage" else "",
        choices_by=_stages() if name == "stage" else None,
        keys=_keys(name, wanted),
        parts=_fields("", part, system) if part else (),
    )


def _plain(value: Any) -> Any:  # noqa: ANN401 - any default
    return list(value) if isinstance(value, tuple) else value


def plain_type(annotation: Any) -> Any:  # noqa: ANN401 - any annotation
    """The type itself, without "or nothing" and without its notes.

    Examples
    --------
    >>> plain_type(int | None)
    <class 'int'>
    """
    if get_origin(annotation) in {Union, types.UnionType}:
        inner = [a for a in get_args(annotation) if a is not type(None)]
        return plain_type(inner[0]) if len(inner) == 1 else annotation
    if hasattr(annotation, "__metadata__"):
        return plain_type(get_args(annotation)[0])
    return annotation


_SHAPES: dict[Any, Shape] = {
    float: "number", int: "count", bool: "yes or no", str: "text", UUID: "note",
    date: "day", time: "time",
}  # fmt: skip


def _shape(wanted: Any) -> Shape:  # noqa: ANN401 - any type
    origin = get_origin(wanted)
    if origin is Literal:
        return "choice"
    if origin is dict:
        return "counts"
    if origin is tuple:
        inner = plain_type(get_args(wanted)[0])
        if get_origin(inner) is Literal:
            return "choices"
        return "numbers" if inner is int else "words"
    return _SHAPES[wanted]


def _choices(wanted: Any) -> tuple[tuple[Any, str], ...]:  # noqa: ANN401 - any type
    if get_origin(wanted) is tuple:
        return _choices(plain_type(get_args(wanted)[0]))
    if get_origin(wanted) is dict:
        return _choices(plain_type(get_args(wanted)[0]))
    if get_origin(wanted) is Literal:
        return tuple((value, str(value)) for value in get_args(wanted))
    return ()


def _stages() -> dict[str, tuple[tuple[Any, str], ...]]:
    """Stages by the organ that shows them, in words."""
    found: dict[str, list[tuple[Any, str]]] = {}
    for (organ, stage), words in STAGE_WORDS.items():
        found.setdefault(organ, []).append((stage, words))
    return {organ: tuple(stages) for organ, stages in found.items()}


def _keys(name: str, wanted: Any) -> str:  # noqa: ANN401 - any type
    if get_origin(wanted) is not dict:
        return ""
    return {"by_age": "age", "by_year": "year"}.get(name, "choice")
