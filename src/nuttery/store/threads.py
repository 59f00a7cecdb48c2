"""Notes that stand in for others: each one's place in its thread, worked out when it is kept."""

from collections.abc import Iterator, Mapping
from typing import NamedTuple
from uuid import UUID

from sqlalchemy import Connection, or_, select

from nuttery.records import Fault
from nuttery.store import tables as t
from nuttery.store.chunks import chunks
from nuttery.store.inserting import insert

COLUMNS = ("note", "id", "instead_of", "thread", "depth", "recorded")
ENTRY = "stands in for"


class StandIn(NamedTuple):
    """A note of the batch that stands in for another."""

    n: int
    id: bytes
    planting: int
    instead_of: bytes
    recorded: int


class Place(NamedTuple):
    """Where a note is in its thread: the thread's first note, and how many steps from it."""

    thread: int
    depth: int


class Known(NamedTuple):
    """A note that others stand in for."""

    n: int
    planting: int


class Threads:
    """The stand-ins of a batch, of which the notes are in the table already."""

    def __init__(self, connection: Connection, stand_ins: Mapping[bytes, StandIn]) -> None:
        self.stand_ins = stand_ins
        self.faults: dict[bytes, Fault] = {}
        self._known = dict(_known(connection, stand_ins))
        self._places = dict(_places(connection, self._known, stand_ins))
        for id_ in stand_ins:
            self._place(id_)

    def threads(self) -> set[int]:
        """First notes of the threads that the batch added to."""
        return {self._places[id_].thread for id_ in self.stand_ins if id_ in self._places}

    def rows(self) -> list[tuple[int, bytes, int, int, int, int]]:
        """Rows of the stand-ins that have a place."""
        return [
            (s.n, s.id, self._known[s.instead_of].n, *self._places[s.id], s.recorded)
            for s in self.stand_ins.values()
            if s.id in self._places
        ]

    def keep(self, connection: Connection) -> None:
        """Write down each stand-in's place."""
        insert(connection, t.stand_in, COLUMNS, self.rows())

    def _place(self, id_: bytes) -> None:
        """Place a stand-in, and before it those that it stands in for."""
        path: list[StandIn] = []
        while id_ in self.stand_ins and id_ not in self._places:
            path.append(self.stand_ins[id_])
            id_ = path[-1].instead_of
            if id_ in self.faults:
                return
            if len(path) > len(self.stand_ins):
                self._fault(path[0], "another note, not in the end itself")
                return
        for stand_in in reversed(path):
            if not self._place_next(stand_in):
                return

    def _place_next(self, stand_in: StandIn) -> bool:
        known = self._known.get(stand_in.instead_of)
        if known is None:
            return self._fault(stand_in, "a note that the register holds")
        if known.planting != stand_in.planting:
            return self._fault(stand_in, "a note of the same planting")
        before = self._places.get(stand_in.instead_of, Place(known.n, 0))
        self._places[stand_in.id] = Place(before.thread, before.depth + 1)
        return True

    def _fault(self, stand_in: StandIn, expected: str) -> bool:
        self.faults[stand_in.id] = Fault(ENTRY, str(UUID(bytes=stand_in.instead_of)), expected)
        return False


def _known(
    connection: Connection, stand_ins: Mapping[bytes, StandIn]
) -> Iterator[tuple[bytes, Known]]:
    for some in chunks({s.instead_of for s in stand_ins.values()}):
        query = select(t.note.c.id, t.note.c.n, t.note.c.planting).where(t.note.c.id.in_(some))
        for id_, n, planting in connection.execute(query):
            yield id_, Known(n, planting)


def _places(
    connection: Connection, known: Mapping[bytes, Known], stand_ins: Mapping[bytes, StandIn]
) -> Iterator[tuple[bytes, Place]]:
    """Places of notes that were stand-ins before this batch."""
    numbers = {k.n: id_ for id_, k in known.items() if id_ not in stand_ins}
    for some in chunks(numbers):
        query = select(t.stand_in.c.note, t.stand_in.c.thread, t.stand_in.c.depth)
        for n, thread, depth in connection.execute(query.where(t.stand_in.c.note.in_(some))):
            yield numbers[n], Place(thread, depth)


def shrubs_of_threads(connection: Connection, threads: set[int]) -> set[int]:
    """Shrubs of which any note is part of one of the threads."""
    found: set[int] = set()
    for some in chunks(threads):
        inside = select(t.stand_in.c.note).where(t.stand_in.c.thread.in_(some))
        query = select(t.note.c.shrub).where(
            or_(t.note.c.n.in_(some), t.note.c.n.in_(inside)), t.note.c.shrub.is_not(None)
        )
        found |= set(connection.execute(query).scalars())
    return found
