"""A note as a row, and the moments by which notes are put in order."""

from datetime import UTC, date, datetime, time, timedelta
from hashlib import sha256

from nuttery.records import Note, note_text, trusted_note

DAY = 100_000_000_000
"""Step of `seen` from one day to the next: more than a day has microseconds."""
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_EPOCH_DAY = date(1970, 1, 1).toordinal()
_MICROSECOND = timedelta(microseconds=1)

COLUMNS = ("n", "id", "planting", "shrub", "kind", "seen", "recorded", "hash", "body")


# A plain tuple: made for every note, and the collector of cycles lets go of plain tuples.
Row = tuple[int, bytes, int, int | None, str, int, int, bytes, str]
"""A row of the table of notes, in the order of `COLUMNS`."""


def row_of(note: Note, n: int, planting: int, shrub: int | None) -> Row:
    """Return the row of a note under the numbers of this register."""
    body = note_text(note)
    return (
        n,
        note.id.bytes,
        planting,
        shrub,
        note.kind,
        seen_key(note.seen, note.seen_at),
        moment(note.recorded),
        sha256(body.encode()).digest(),
        body,
    )


def note_of(body: str) -> Note:
    """Return the note that a row's body tells."""
    return trusted_note(body)


def seen_key(day: date, at: time | None = None) -> int:
    """Place of a day, or of a moment on it, in the order of notes.

    Examples
    --------
    >>> seen_key(date(1970, 1, 2)), seen_key(date(1970, 1, 2), time(0, 0))
    (100000000000, 100000000001)
    """
    key = (day.toordinal() - _EPOCH_DAY) * DAY
    if at is None:
        return key
    seconds = (at.hour * 60 + at.minute) * 60 + at.second
    return key + seconds * 1_000_000 + at.microsecond + 1


def day_of(key: int) -> date:
    """Return the day of a place in the order of notes.

    Examples
    --------
    >>> day_of(seen_key(date(2027, 4, 12), time(17, 30)))
    datetime.date(2027, 4, 12)
    """
    return date.fromordinal(key // DAY + _EPOCH_DAY)


def moment(when: datetime) -> int:
    """Microseconds from 1970 UTC to a moment.

    Raises
    ------
    ValueError
        If the moment has no time zone.
    """
    if when.tzinfo is None:
        raise ValueError(f"moment: found {when} without a time zone, expected one with it")
    return (when - _EPOCH) // _MICROSECOND
