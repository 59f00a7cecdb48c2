"""Digests of shrubs worked out from their notes, as of a day and as known at a moment."""

from collections.abc import Collection, Iterator
from typing import Any

from sqlalchemy import ColumnElement, Connection, Select, case, func, select

from nuttery.store.chunks import chunks
from nuttery.store.digest import CANES, LOOKED_INTO, Digest
from nuttery.store.rows import note_of
from nuttery.store.standing import holds
from nuttery.store.tables import note

Conditions = list[ColumnElement[bool]]


def derived(
    connection: Connection,
    *,
    planting: int | None = None,
    shrubs: Collection[int] | None = None,
    seen_before: int | None = None,
    recorded_until: int | None = None,
) -> dict[int, Digest]:
    """Digest of each shrub of which a note holds, by the shrub's number.

    Memory goes by the number of shrubs, not of notes.
    """
    conditions = [holds(recorded_until), note.c.shrub.is_not(None)]
    if planting is not None:
        conditions.append(note.c.planting == planting)
    if seen_before is not None:
        conditions.append(note.c.seen < seen_before)
    if recorded_until is not None:
        conditions.append(note.c.recorded <= recorded_until)
    digests: dict[int, Digest] = {}
    for among in _parts(shrubs):
        _count(connection, conditions + among, digests)
        _look(connection, conditions + among, digests)
    return digests


def _parts(shrubs: Collection[int] | None) -> Iterator[Conditions]:
    if shrubs is None:
        yield []
        return
    for some in chunks(sorted(shrubs)):
        yield [note.c.shrub.in_(some)]


def _count(connection: Connection, conditions: Conditions, digests: dict[int, Digest]) -> None:
    query = (
        select(note.c.shrub, note.c.kind, func.max(note.c.seen), func.count())
        .where(*conditions)
        .group_by(note.c.shrub, note.c.kind)
    )
    for shrub, kind, seen, notes in _streamed(connection, query):
        digests.setdefault(shrub, Digest()).count(kind, seen, notes)


def _look(connection: Connection, conditions: Conditions, digests: dict[int, Digest]) -> None:
    body = case((note.c.kind.in_(sorted(CANES)), note.c.body))
    query = select(note.c.shrub, note.c.kind, note.c.seen, note.c.recorded, note.c.id, body).where(
        *conditions, note.c.kind.in_(sorted(LOOKED_INTO))
    )
    for shrub, kind, seen, recorded, id_, text in _streamed(connection, query):
        told = None if text is None else note_of(text)
        digests[shrub].look_into(kind, (seen, recorded, id_.hex()), told)


def _streamed(connection: Connection, query: Select[Any]) -> Iterator[Any]:
    return iter(connection.execute(query, execution_options={"yield_per": 2000}))
