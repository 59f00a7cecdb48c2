"""Keeping a batch of notes: all of them, once each, or none."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Final

from sqlalchemy import Connection, func, select

from nuttery.records import Fault, Note
from nuttery.store import tables as t
from nuttery.store.chunks import chunks
from nuttery.store.deriving import derived
from nuttery.store.digest import Digest, digest_from
from nuttery.store.errors import BatchFault, ConflictingNote, RegisterRefused
from nuttery.store.inserting import insert, put
from nuttery.store.numbers import Numbers
from nuttery.store.references import Batch, Mention, reference_faults
from nuttery.store.rows import COLUMNS, Row, row_of
from nuttery.store.threads import Threads, shrubs_of_threads
from nuttery.store.versions import raise_version

CHUNK = 5000
"""Notes handed to the database at once."""

# Places in a row.
ID: Final = 1
PLANTING: Final = 2
SHRUB: Final = 3
BODY: Final = 8

Progress = Callable[[int], object]


@dataclass(frozen=True)
class Kept:
    """What came of a batch: notes that are new, and notes that were there already."""

    added: int
    already: int


def keep_notes(connection: Connection, notes: Iterable[Note], progress: Progress | None) -> Kept:
    """Keep a batch within the transaction that is open; see `Register.keep`."""
    keeper = Keeper(connection)
    for some in chunks(notes, CHUNK):
        keeper.take(some)
        if progress is not None:
            progress(keeper.taken)
    keeper.finish()
    return Kept(keeper.added, keeper.taken - keeper.added)


class Keeper:
    """A batch on its way into the register."""

    def __init__(self, connection: Connection) -> None:
        self.connection = connection
        self.numbers = Numbers(connection)
        self.batch = Batch()
        self.digests: dict[int, Digest] = {}
        self.plantings: set[int] = set()
        self.taken = 0
        self.added = 0
        self._next = (connection.execute(select(func.max(t.note.c.n))).scalar() or 0) + 1
        self._conflicts: list[tuple[BatchFault, tuple[str, str]]] = []

    def take(self, notes: list[Note]) -> None:
        """Write the notes' rows; what depends on the whole batch waits for `finish`."""
        rows = [self._row(n, note) for n, note in enumerate(notes, start=self._next)]
        self.numbers.write()
        new = insert(self.connection, t.note, COLUMNS, rows)
        fresh = None if new == len(rows) else self._fresh(rows, notes)
        self._load_digests({shrub for row in rows if (shrub := row[SHRUB]) is not None})
        for position, (row, note) in enumerate(zip(rows, notes, strict=True), self.taken + 1):
            if fresh is None or row[0] in fresh:
                self._remember(position, note, row)
        self._next += len(rows)
        self.taken += len(rows)
        self.added += new

    def _row(self, n: int, note: Note) -> Row:
        planting = self.numbers.planting(note.planting)
        shrub = None if note.shrub is None else self.numbers.shrub(planting, note.shrub)
        return row_of(note, n, planting, shrub)

    def _fresh(self, rows: list[Row], notes: list[Note]) -> set[int]:
        """Numbers of the rows that are new; of the others, those that conflict are noted."""
        kept = _kept(self.connection, [row[ID] for row in rows])
        for position, (row, note) in enumerate(zip(rows, notes, strict=True), self.taken + 1):
            n, body = kept[row[ID]]
            if n != row[0] and body != row[BODY]:
                fault = Fault("id", "a note with other content", f"the note as it is kept: {body}")
                conflict = Mention(position, note).fault(fault)
                self._conflicts.append((conflict, (body, row[BODY])))
        return {n for n, _ in kept.values()}

    def _load_digests(self, shrubs: set[int]) -> None:
        """Have at hand what is known of shrubs."""
        missing = shrubs - self.digests.keys()
        self.digests |= {no: Digest() for no in missing & self.numbers.new_shrubs}
        for some in chunks(missing - self.numbers.new_shrubs):
            query = select(t.shrub_now).where(t.shrub_now.c.shrub.in_(some))
            self.digests |= {no: digest_from(text) for no, text in self.connection.execute(query)}

    def _remember(self, position: int, note: Note, row: Row) -> None:
        self.plantings.add(row[PLANTING])
        self.batch.remember(position, note, row, self.numbers)
        shrub = row[SHRUB]
        if shrub is not None and note.kind != "withdrawn":
            self.digests[shrub].add(row, note)

    def finish(self) -> None:
        """Check the batch as a whole, and write down what is worked out from it.

        Raises
        ------
        ConflictingNote, RegisterRefused
            With everything that is wrong with the batch.
        """
        threads = Threads(self.connection, self.batch.stand_ins)
        threads.keep(self.connection)
        self._work_out_again(shrubs_of_threads(self.connection, threads.threads()))
        faults = self.batch.thread_faults(threads)
        faults += reference_faults(self.connection, self.numbers, self.batch, self.digests)
        self._refuse(faults)
        rows = [(no, digest.text()) for no, digest in sorted(self.digests.items())]
        put(self.connection, t.shrub_now, ("shrub", "digest"), rows)
        if self.added:
            raise_version(self.connection, self.plantings)

    def _work_out_again(self, shrubs: set[int]) -> None:
        if shrubs:
            self.digests |= {no: Digest() for no in shrubs}
            self.digests |= derived(self.connection, shrubs=shrubs)

    def _refuse(self, faults: list[BatchFault]) -> None:
        faults = sorted(
            [*faults, *(fault for fault, _ in self._conflicts)], key=lambda f: f.position
        )
        if self._conflicts:
            raise ConflictingNote(faults, [pair for _, pair in self._conflicts])
        if faults:
            raise RegisterRefused(faults)


def _kept(connection: Connection, ids: list[bytes]) -> dict[bytes, tuple[int, str]]:
    found = {}
    for some in chunks(ids):
        query = select(t.note.c.id, t.note.c.n, t.note.c.body)
        for id_, n, body in connection.execute(query.where(t.note.c.id.in_(some))):
            found[id_] = (n, body)
    return found
