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
            told = problem.in_units(planting.about.units)
            outcomes[k] = Outcome(str(data.get("id", "")), "refused", told.faults)
    outcomes |= _kept(planting, sound)
    return tuple(outcomes[k] for k in range(len(offered)))


def _kept(planting: Planting, sound: dict[int, Note]) -> dict[int, Outcome]:
    """Keep what can be kept; every round either ends or settles at least one note."""
    outcomes = _said_twice(sound)
    waiting = {k: note for k, note in sound.items() if k not in outcomes}
    while waiting:
        try:
            planting.register.keep(waiting.values())
        except RegisterRefused as problem:
            settled = _settled(planting, waiting, problem)
            if not settled:
                raise
            outcomes |= settled
            waiting = {k: note for k, note in waiting.items() if k not in settled}
        else:
            return outcomes | {k: Outcome(str(note.id), "kept") for k, note in waiting.items()}
    return outcomes


def _settled(
    planting: Planting, waiting: dict[int, Note], problem: RegisterRefused
) -> dict[int, Outcome]:
    """Outcomes of the notes that the register stumbled over: there already, or faulty."""
    faults: dict[UUID, list[Fault]] = {}
    for told in problem.faults:
        faults.setdefault(told.note, []).append(told.fault)
    return {
        k: _known(planting, note) or Outcome(str(note.id), "refused", tuple(faults[note.id]))
        for k, note in waiting.items()
        if note.id in faults
    }


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
