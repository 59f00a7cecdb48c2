"""Photos of a shrub: those that a phone sent with its notes."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from nuttery.records import Note
from nuttery.season.planting import Planting
from nuttery.season.telling import words


@dataclass(frozen=True)
class ShrubPhoto:
    """One photo.

    Attributes
    ----------
    id : under which it is kept
    seen, words, by : day, what the note says, and who wrote it
    """

    id: UUID
    seen: date
    words: str
    by: str


def photo_id(name: str | None) -> UUID | None:
    """Id under which a photo is kept, from the file name that a note tells; None for other names.

    Examples
    --------
    >>> photo_id("018f3b1c-7a2e-7c11-9f00-3a5b6c7d8e9f.jpg")
    UUID('018f3b1c-7a2e-7c11-9f00-3a5b6c7d8e9f')
    >>> photo_id("IMG_0001.jpg") is None
    True
    """
    stem, _, ending = (name or "").rpartition(".")
    try:
        found = UUID(stem)
    except ValueError:
        return None
    return found if ending == "jpg" and str(found) == stem else None


def shrub_photos(planting: Planting, tag: str) -> tuple[ShrubPhoto, ...]:
    """Return the photos of a shrub, the newest first."""
    system = planting.about.units
    notes: Iterator[Note] = planting.notes(shrub=tag)
    found = [
        ShrubPhoto(photo, note.seen, words(note, system), note.by)
        for note in notes
        if (photo := photo_id(note.photo)) is not None
    ]
    return tuple(reversed(found))
