"""The notes themselves, the newest first: what was seen, who wrote it, on what."""

from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from nuttery.records import KINDS
from nuttery.season.errors import WrongQuestion
from nuttery.season.planting import Planting
from nuttery.season.telling import words
from nuttery.store import NotKnown


@dataclass(frozen=True)
class NoteRow:
    """One note as it arrived: what it says, who wrote it, on what, when, and its photo's file."""

    id: str
    kind: str
    title: str
    shrub: str | None
    seen: date
    words: str
    by: str
    device: str
    recorded: datetime
    photo: str | None


def latest_notes(
    planting: Planting, *, at_most: int = 200, before: UUID | None = None, kind: str = ""
) -> tuple[NoteRow, ...]:
    """Return the notes seen last, the newest first; withdrawn ones are left out.

    Parameters
    ----------
    at_most : rows to return
    before : a note; only those older than it
    kind : only notes of this kind; empty for all

    Raises
    ------
    WrongQuestion
        If there is no such kind, or no such note to come before.
    """
    if kind and kind not in KINDS:
        raise WrongQuestion(f"kind: found {kind!r}, expected one of {', '.join(sorted(KINDS))}")
    try:
        found = planting.register.newest(
            planting.about.planting,
            kinds=kind or None,
            before=before,
            at_most=at_most,
            seen_until=planting.on,
            recorded_until=planting.known,
        )
    except NotKnown as problem:
        raise WrongQuestion(str(problem)) from None
    return tuple(
        NoteRow(
            id=str(note.id),
            kind=note.kind,
            title=note.title,
            shrub=note.shrub,
            seen=note.seen,
            words=words(note, planting.about.units),
            by=note.by,
            device=note.device,
            recorded=note.recorded,
            photo=note.photo,
        )
        for note in found
    )
