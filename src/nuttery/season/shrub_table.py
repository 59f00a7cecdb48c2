"""Every shrub in one table, and the latest notes in another."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from nuttery.records import CanesCounted, Note
from nuttery.season.cards import lineage
from nuttery.season.planting import Planting
from nuttery.season.telling import words

LOOK_BACK_DAYS = (3, 14, 60, 400, 36_500)
"""How far to look back for the latest notes: ever further, until there are enough."""


@dataclass(frozen=True)
class ShrubRow:
    """One shrub of the table.

    Attributes
    ----------
    tag, row, number : its name and place
    lineage : where it comes from, in words
    planted : day it was set
    notes : how many hold
    last : day of its last note, None without any
    canes : canes that stood at the last count, None if never counted
    """

    tag: str
    row: int | None
    number: int | None
    lineage: str
    planted: date
    notes: int
    last: date | None
    canes: int | None


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


def shrub_table(planting: Planting) -> tuple[ShrubRow, ...]:
    """Return a row for every standing shrub, in walking order."""
    return tuple(
        ShrubRow(
            tag=shrub.tag,
            row=shrub.row,
            number=shrub.number,
            lineage=lineage(shrub),
            planted=shrub.planted,
            notes=shrub.n_notes,
            last=max(shrub.last_seen.values(), default=None),
            canes=_standing(shrub.counted),
        )
        for shrub in planting.shrubs
    )


def _standing(count: CanesCounted | None) -> int | None:
    if count is None:
        return None
    if count.standing is not None:
        return count.standing
    parts = count.by_age or count.by_year or count.by_size
    return sum(parts.values()) if parts else None


def latest_notes(planting: Planting, *, at_most: int = 200) -> tuple[NoteRow, ...]:
    """Return the notes seen last, the newest first; withdrawn ones are left out.

    Parameters
    ----------
    at_most : rows to return
    """
    system = planting.about.units
    found: list[Note] = []
    for days in LOOK_BACK_DAYS:
        found = list(planting.notes(since=planting.on - timedelta(days=days)))
        if len(found) >= at_most:
            break
    return tuple(
        NoteRow(
            id=str(note.id),
            kind=note.kind,
            title=note.title,
            shrub=note.shrub,
            seen=note.seen,
            words=words(note, system),
            by=note.by,
            device=note.device,
            recorded=note.recorded,
            photo=note.photo,
        )
        for note in reversed(found[-at_most:])
    )
