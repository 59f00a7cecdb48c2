"""Every number that answers rest on: what it is, where it is from, and the grower's own instead."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from nuttery import reference
from nuttery.records import ValueSet, Withdrawn, new_id, read_note
from nuttery.season.errors import WrongQuestion
from nuttery.season.planting import Planting

TOPICS = {
    "bloom": "Flowers and leaves",
    "canes": "Canes",
    "chilling": "Chill",
    "crop": "Crop and drying",
    "frost": "Frost",
    "harvest": "Picking",
    "phenology": "Flowers and leaves",
    "pollen": "Pollen",
    "ripening": "Ripening",
    "weather": "Weather",
}
"""Headings by the first word of a value's name; other first words are their own heading."""
FARTHEST = 10.0
"""A value so many times larger or smaller than the shipped one is asked after; our own caution."""


@dataclass(frozen=True)
class Change:
    """One change of a value by a grower, as a note of the planting.

    Attributes
    ----------
    note : id of the note
    name : which value
    value : what it was set to; None puts the shipped one back
    by, recorded : who, and when
    source : what they rest it on
    """

    note: str
    name: str
    value: float | None
    by: str
    recorded: datetime
    source: str


@dataclass(frozen=True)
class Held:
    """A value as answers use it.

    Attributes
    ----------
    now : the value in force
    shipped : as it comes with the program
    own : whether the grower set it
    topic : heading that it stands under
    words : its name in words
    """

    now: reference.Value
    shipped: reference.Value
    own: bool
    topic: str
    words: str


def held_values(planting: Planting) -> tuple[Held, ...]:
    """Return every value, those of one topic together."""
    found = (_held(planting, name) for name in reference.values())
    return tuple(sorted(found, key=lambda held: (held.topic, held.now.name)))


def held_value(planting: Planting, name: str) -> Held:
    """Return one value.

    Raises
    ------
    WrongQuestion
        If there is none of that name.
    """
    if name not in reference.values():
        import difflib

        near = difflib.get_close_matches(name, reference.values(), n=3)
        hint = f" Did you mean {', '.join(near)}?" if near else ""
        raise WrongQuestion(f"value: found {name!r}, expected the name of a value.{hint}")
    return _held(planting, name)


def _held(planting: Planting, name: str) -> Held:
    now, shipped = planting.value(name), reference.shipped(name)
    first, _, rest = name.partition(".")
    return Held(
        now=now,
        shipped=shipped,
        own=now.certainty == "grower's own",
        topic=TOPICS.get(first, first.capitalize()),
        words=(rest or first).replace(".", ", ").replace("_", " "),
    )


def changes(planting: Planting) -> tuple[Change, ...]:
    """Return the changes that hold, the latest first."""
    notes = sorted(planting.notes(ValueSet), key=lambda note: note.recorded, reverse=True)
    return tuple(
        Change(str(n.id), n.name, n.value, n.by, n.recorded, n.source or "") for n in notes
    )


def set_value(
    planting: Planting,
    name: str,
    value: float | None,
    *,
    source: str,
    by: str,
    device: str,
    now: datetime,
    means_it: bool = False,
) -> Change:
    """Put the grower's own value in the stead of a shipped one, or the shipped one back.

    Parameters
    ----------
    planting : the planting as of the day from which it is to hold
    name : which value
    value : the grower's own, in the shipped one's unit; None puts the shipped one back
    source : what it rests on
    by, device, now : who, on what, and when
    means_it : keep also a value far from the shipped one

    Raises
    ------
    WrongQuestion
        If there is none of that name, or the value cannot be; says what was expected.
    """
    shipped = held_value(planting, name).shipped
    if value is not None:
        _check(shipped, value, means_it=means_it)
    note = read_note(
        {
            "id": str(new_id()),
            "kind": "value_set",
            "planting": str(planting.about.planting),
            "seen": planting.on.isoformat(),
            "by": by,
            "device": device,
            "recorded": now.isoformat(),
            "name": name,
            "value": value,
            "source": source.strip() or None,
        }
    )
    planting.register.keep([note])
    return Change(str(note.id), name, value, by, now, source.strip())


def _check(shipped: reference.Value, value: float, *, means_it: bool) -> None:
    """Refuse what cannot be, and ask after what is far from the shipped value."""
    unit = f" {shipped.unit}" if shipped.unit else ""
    if not math.isfinite(value):
        raise WrongQuestion(f"{shipped.name}: found {value}, expected a number{unit}")
    if shipped.unit.startswith("share") and not 0 <= value <= 1:
        raise WrongQuestion(f"{shipped.name}: found {value:g}, expected a share from 0 to 1")
    if "°C" in shipped.unit or shipped.value <= 0:
        return
    if value <= 0:
        raise WrongQuestion(f"{shipped.name}: found {value:g}{unit}, expected more than 0")
    times = max(value / shipped.value, shipped.value / value)
    if times > FARTHEST and not means_it:
        raise WrongQuestion(
            f"{shipped.name}: found {value:g}{unit}, expected within {FARTHEST:g} times of "
            f"{shipped.value:g}{unit}; say that you mean it to keep it"
        )


def undo(planting: Planting, note: str, *, by: str, device: str, now: datetime) -> Change:
    """Take a change back: what held before it holds again.

    Raises
    ------
    WrongQuestion
        If it is no change of a value that holds.
    """
    found = _named(changes(planting), note)
    back = read_note(
        {
            "id": str(new_id()),
            "kind": Withdrawn.model_fields["kind"].default,
            "planting": str(planting.about.planting),
            "seen": planting.on.isoformat(),
            "by": by,
            "device": device,
            "recorded": now.isoformat(),
            "stands_in_for": note,
        }
    )
    planting.register.keep([back])
    return found


def _named(known: Iterable[Change], note: str) -> Change:
    for change in known:
        if change.note == note:
            return change
    raise WrongQuestion(f"change: found {note!r}, expected the id of a change of a value")
