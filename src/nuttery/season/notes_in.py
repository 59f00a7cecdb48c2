"""Notes that arrive from a phone: each kept once, or told what is wrong with it.

The id is the phone's own, made when the note was begun, so a note that arrives twice is kept once.
Who wrote it, on what, and when it reached the register is set here, never taken from the phone:
what the register knew on a day can then be told again, whatever a phone's clock said.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal
from uuid import UUID

from nuttery.records import Fault, Note, NoteRefused, read_note
from nuttery.season.planting import Planting
from nuttery.season.telling import words
from nuttery.store import NotKnown, RegisterRefused

SET_HERE = ("by", "device", "recorded", "planting")
"""Entries that are set here, whatever the phone says."""

Result = Literal["kept", "already", "refused", "conflict"]


@dataclass(frozen=True)
class Outcome:
    """What became of one note.

    Attributes
    ----------
    id : the note's id, as it was sent
    outcome : "kept" now; "already" there, the same; "refused" for its faults; "conflict", if the
        id is taken by a note that says something else
    faults : what is wrong: entry, found, expected, and whether "I mean it" would keep it
    standing : of a conflict, what the register holds under that id, in words
    """

    id: str
    outcome: Result
    faults: tuple[Fault, ...] = ()
    standing: str = ""


def keep_each(
    planting: Planting,
    offered: Sequence[Mapping[str, Any]],
    *,
    by: str,
    device: str,
    now: datetime,
) -> tuple[Outcome, ...]:
    """Keep every note that is sound; say of each other one what is wrong. In the order offered.

    Parameters
    ----------
    planting : the planting that they are about
    offered : notes as JSON-like values
    by, device : who sends them, on what
    now : the moment at which they reach the register
    """
    head = {
        "by": by,
        "device": device,
        "recorded": now.isoformat(),
        "planting": str(planting.about.planting),
    }
    outcomes: dict[int, Outcome] = {}
    sound: dict[int, Note] = {}
    for k, data in enumerate(offered):
        try:
            sound[k] = read_note({**data, **head})
        except NoteRefused as problem:
            outcomes[k] = Outcome(str(data.get("id", "")), "refused", problem.faults)
    outcomes |= _kept(planting, sound)
    return tuple(outcomes[k] for k in range(len(offered)))


def _kept(planting: Planting, sound: dict[int, Note]) -> dict[int, Outcome]:
    """Keep what can be kept; every round either ends or leaves out at least one note."""
    outcomes: dict[int, Outcome] = {}
    waiting = dict(sound)
    while waiting:
        known = {k: _known(planting, note) for k, note in waiting.items()}
        outcomes |= {k: told for k, told in known.items() if told is not None}
        waiting = {k: note for k, note in waiting.items() if known[k] is None}
        twice = _said_twice(waiting)
        outcomes |= twice
        waiting = {k: note for k, note in waiting.items() if k not in twice}
        try:
            planting.register.keep(waiting.values())
        except RegisterRefused as problem:
            refused = _refused(waiting, problem)
            if not refused:
                raise
            taken = {k for k in refused if _known(planting, waiting[k]) is not None}
            outcomes |= {k: told for k, told in refused.items() if k not in taken}
            waiting = {k: note for k, note in waiting.items() if k not in refused or k in taken}
        else:
            outcomes |= {k: Outcome(str(note.id), "kept") for k, note in waiting.items()}
            break
    return outcomes


def _known(planting: Planting, note: Note) -> Outcome | None:
    """Outcome of a note whose id the register holds already, else nothing."""
    try:
        held = planting.register.note(note.id)
    except NotKnown:
        return None
    if says(held) == says(note) and held.planting == note.planting:
        return Outcome(str(note.id), "already")
    return _conflict(note, words(held, planting.about.units))


def says(note: Note) -> dict[str, Any]:
    """Return what a note says, without what is set on its arrival."""
    return note.model_dump(mode="json", exclude_none=True, exclude=set(SET_HERE))


def _conflict(note: Note, standing: str) -> Outcome:
    fault = Fault("id", "a note with other content", "the note as it is kept")
    return Outcome(str(note.id), "conflict", (fault,), standing)


def _said_twice(waiting: dict[int, Note]) -> dict[int, Outcome]:
    """Outcomes of notes whose id came earlier in the same batch."""
    first: dict[UUID, Note] = {}
    outcomes = {}
    for k, note in waiting.items():
        before = first.setdefault(note.id, note)
        if before is not note:
            same = says(before) == says(note)
            told = "the note sent before it under the same id"
            outcomes[k] = Outcome(str(note.id), "already") if same else _conflict(note, told)
    return outcomes


def _refused(waiting: dict[int, Note], problem: RegisterRefused) -> dict[int, Outcome]:
    faults: dict[UUID, list[Fault]] = {}
    for told in problem.faults:
        faults.setdefault(told.note, []).append(told.fault)
    return {
        k: Outcome(str(note.id), "refused", tuple(faults[note.id]))
        for k, note in waiting.items()
        if note.id in faults
    }
