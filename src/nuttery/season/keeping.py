"""One note from words: entries by name or label, numbers with or without their unit."""

import types
from datetime import date, time
from typing import Any, Literal, Union, get_args, get_origin

from nuttery.records import (
    KINDS,
    Entry,
    Fault,
    Note,
    NoteRefused,
    System,
    ValueSet,
    entries,
    new_id,
    read_note,
    read_quantity,
    utc_now,
)
from nuttery.season.errors import WrongQuestion
from nuttery.season.estimate import day_told
from nuttery.season.planting import Planting
from nuttery.season.telling import words
from nuttery.season.values import held_value

YES, NO = {"yes", "y", "true", "1"}, {"no", "n", "false", "0", "not yet"}


def kind_named(name: str) -> type[Note]:
    """Return the kind of note of that name or title.

    Raises
    ------
    WrongQuestion
        If there is none; near names are suggested.
    """
    wanted = name.strip().lower().replace(" ", "_").replace("-", "_")
    titles = {
        kind.title.lower().replace(" ", "_").replace("-", "_"): kind for kind in KINDS.values()
    }
    found = KINDS.get(wanted) or titles.get(wanted)
    if found is not None:
        return found
    import difflib

    near = difflib.get_close_matches(wanted, [*KINDS, *titles], n=2)
    hint = f" Did you mean {' or '.join(near)}?" if near else ""
    raise WrongQuestion(
        f"kind of note: found {name!r}, expected one of {', '.join(sorted(KINDS))}.{hint}"
    )


def keep_words(
    planting: Planting,
    kind: str,
    said: dict[str, str],
    *,
    by: str,
    device: str = "terminal",
    means_it: bool = False,
) -> Note:
    """Keep one note told in words, such as {"shrub": "3-07", "mass": "1.2 lb"}.

    Raises
    ------
    WrongQuestion
        If the kind or an entry is not known.
    NoteRefused
        With everything that is wrong with the note; nothing is kept.
    """
    model = kind_named(kind)
    data: dict[str, Any] = {
        "id": str(new_id()),
        "kind": model.model_fields["kind"].default,
        "planting": str(planting.about.planting),
        "seen": str(planting.on),
        "by": by,
        "recorded": utc_now().isoformat(),
        "device": device,
        "means_it": means_it,
    }
    faults: list[Fault] = []
    for name, text in said.items():
        field = _field_named(model, name)
        try:
            data[field] = _read(model, field, text, planting.about.units)
        except ValueError as problem:
            label = entries(model)[field].label if field in entries(model) else field
            found, _, expected = str(problem).removeprefix("found ").partition(", expected ")
            faults.append(Fault(label, found, expected))
    if faults:
        raise NoteRefused(faults)
    try:
        note = read_note(data)
    except NoteRefused as refused:
        raise refused.in_units(planting.about.units) from None
    if isinstance(note, ValueSet):
        held_value(planting, note.name)
    planting.register.keep([note])
    return note


def _field_named(model: type[Note], name: str) -> str:
    wanted = name.strip().lower()
    labels = {entry.label.lower(): field for field, entry in entries(model).items()}
    by_name = {field: field for field in model.model_fields}
    found = labels.get(wanted) or by_name.get(wanted.replace(" ", "_"))
    if found is not None and found not in {"id", "kind", "planting", "recorded"}:
        return found
    import difflib

    near = difflib.get_close_matches(wanted, [*labels, *by_name], n=2)
    hint = f" Did you mean {' or '.join(near)}?" if near else ""
    told = ", ".join(labels)
    raise WrongQuestion(f"{model.title}: found the entry {name!r}, expected one of: {told}.{hint}")


def _entry(model: type[Note], field: str) -> Entry | None:
    return entries(model).get(field)


def _plain_type(annotation: Any) -> Any:  # noqa: ANN401 - any annotation
    """The type itself, without "or nothing" and without its notes."""
    origin = get_origin(annotation)
    if origin in {Union, types.UnionType}:
        inner = [a for a in get_args(annotation) if a is not type(None)]
        return _plain_type(inner[0]) if len(inner) == 1 else annotation
    if hasattr(annotation, "__metadata__"):
        return _plain_type(get_args(annotation)[0])
    return annotation


def _read(model: type[Note], field: str, text: str, system: System) -> Any:  # noqa: ANN401, PLR0911 - one branch a type
    wanted = _plain_type(model.model_fields[field].annotation)
    entry = _entry(model, field)
    if entry is not None and entry.quantity is not None and wanted is float:
        return read_quantity(text, entry.quantity, system)
    if wanted is bool:
        return _yes_or_no(text)
    if wanted is int:
        return _whole(text)
    if wanted is float:
        return read_quantity(text, "count", system)
    if wanted in {date, time} or get_origin(wanted) is Literal:
        return text.strip()
    if get_origin(wanted) is dict:
        return _pairs(text)
    if get_origin(wanted) is tuple:
        return _several(field, wanted, text)
    return text.strip()


def _yes_or_no(text: str) -> bool:
    word = text.strip().lower()
    if word not in YES | NO:
        raise ValueError(f"found {text!r}, expected yes or no")
    return word in YES


def _whole(text: str) -> int:
    try:
        return int(text)
    except ValueError:
        raise ValueError(f"found {text!r}, expected a whole number") from None


def _pairs(text: str) -> dict[str, int]:
    """Counts by age, year or size, as "1:3 2:2 10:1"."""
    counts = {}
    for part in text.replace(",", " ").split():
        key, colon, number = part.partition(":")
        if not colon:
            raise ValueError(f"found {part!r}, expected pairs such as 1:3 2:2")
        counts[key] = _whole(number)
    return counts


def _several(field: str, wanted: Any, text: str) -> list[Any]:  # noqa: ANN401 - any tuple
    parts = [part.strip() for part in text.split(",") if part.strip()]
    inner = _plain_type(get_args(wanted)[0])
    if inner is int:
        return [_whole(part) for part in parts]
    if field == "cuts":
        return [_cut(part) for part in parts]
    if isinstance(inner, type) and hasattr(inner, "model_fields"):
        raise ValueError(
            f"found {text!r}, expected a sheet, a row for each: nuttery import --template FILE"
        )
    return parts


def _cut(text: str) -> dict[str, Any]:
    """A cut, as "age 11", "2 x age 10", "canker", "cane b age": canes, age or label, reason."""
    words = text.split()
    cut: dict[str, Any] = {"why": "age"}
    if len(words) >= 2 and words[1] == "x":
        cut["canes"], words = _whole(words[0]), words[2:]
    while words:
        word = words.pop(0)
        if word in {"age", "cane"} and words:
            cut[word] = _whole(words.pop(0)) if word == "age" else words.pop(0)
        elif word in {"age", "dead", "canker", "crowded", "broken"}:
            cut["why"] = word
        else:
            raise ValueError(f"found {text!r}, expected such as: 2 x age 11, canker")
    return cut


def kept_as(planting: Planting, note: Note) -> str:
    """Return what was kept in a line of plain words, with the id that takes it back."""
    of = f"{note.shrub}, " if note.shrub else ""
    said = words(note, planting.about.units)
    return f"{of}{day_told(note.seen)} {note.seen.year}: {said} ({note.id})"
