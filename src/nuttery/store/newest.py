"""The newest notes, some at a time, found by the index of kinds however many notes there are."""

from collections.abc import Iterable
from uuid import UUID

from sqlalchemy import ColumnElement, Connection, and_, or_, select, true

from nuttery.records import KINDS, Note
from nuttery.store import tables as t
from nuttery.store.asking import AsOf, known_kinds, planting_number
from nuttery.store.errors import NotKnown
from nuttery.store.rows import note_of
from nuttery.store.standing import holds

Place = tuple[int, int, bytes]
"""Place in the order of notes: day and time seen, moment recorded, id."""


def newest_notes(
    connection: Connection,
    planting: UUID,
    *,
    kinds: Iterable[str] | str | None,
    before: UUID | None,
    at_most: int,
    as_of: AsOf,
) -> list[Note]:
    """Notes that hold, the newest first; those that come before a note, if it is given."""
    conditions = [
        t.note.c.planting == planting_number(connection, planting),
        holds(as_of.known),
        *as_of.conditions(),
        _before(connection, before),
    ]
    found: list[tuple[Place, str]] = []
    for kind in known_kinds(kinds) or KINDS:
        # What is older than all that was found already need not be looked at.
        since = found[-1][0][0] if len(found) >= at_most else None
        found += _of_kind(connection, kind, conditions, since, at_most)
        found = sorted(found, reverse=True)[:at_most]
    return [note_of(body) for _, body in found]


def _of_kind(
    connection: Connection,
    kind: str,
    conditions: list[ColumnElement[bool]],
    since: int | None,
    at_most: int,
) -> list[tuple[Place, str]]:
    note = t.note.c
    query = (
        select(note.seen, note.recorded, note.id, note.body)
        .where(note.kind == kind, *conditions, true() if since is None else note.seen >= since)
        .order_by(note.seen.desc(), note.recorded.desc(), note.id.desc())
        .limit(at_most)
    )
    return [((seen, told, bytes(id_)), body) for seen, told, id_, body in connection.execute(query)]


def _before(connection: Connection, before: UUID | None) -> ColumnElement[bool]:
    """Condition that a note comes before another in the order of notes."""
    if before is None:
        return true()
    note = t.note.c
    query = select(note.seen, note.recorded, note.id).where(note.id == before.bytes)
    place = connection.execute(query).first()
    if place is None:
        raise NotKnown(f"note: found {before}, expected the id of a note that the register holds")
    seen, recorded, id_ = place
    earlier = or_(
        note.seen < seen,
        note.recorded < recorded,
        and_(note.recorded == recorded, note.id < bytes(id_)),
    )
    return and_(note.seen <= seen, earlier)
