"""Reading a whole register again: is every note as it was kept, and what is worked out, right."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from hashlib import sha256
from uuid import UUID

from pydantic import ValidationError
from sqlalchemy import Connection, select

from nuttery.records import Note
from nuttery.store import tables as t
from nuttery.store.deriving import derived
from nuttery.store.digest import Digest
from nuttery.store.errors import BatchFault
from nuttery.store.numbers import Numbers
from nuttery.store.references import Batch, reference_faults
from nuttery.store.rows import COLUMNS, Row, moment, note_of, seen_key
from nuttery.store.threads import COLUMNS as STAND_IN
from nuttery.store.threads import Threads


@dataclass(frozen=True)
class Trouble:
    """One thing wrong with a register.

    Attributes
    ----------
    what : in plain words
    note : the note it is about, if it is about one
    """

    what: str
    note: UUID | None = None

    def __str__(self) -> str:
        """One line for a person."""
        return self.what


def troubles(connection: Connection) -> Iterator[Trouble]:
    """Everything wrong with the register behind a connection; see `check_register`."""
    damage = list(_file_troubles(connection))
    yield from damage
    # What is read from a damaged file would only be noise.
    if not damage:
        yield from Check(connection).troubles()


def _file_troubles(connection: Connection) -> Iterator[Trouble]:
    if connection.dialect.name != "sqlite":
        return
    for (told,) in connection.exec_driver_sql("PRAGMA integrity_check"):
        if told != "ok":
            yield Trouble(f"the file is damaged: {told}; restore it from an archive")
    for table, row, other, _ in connection.exec_driver_sql("PRAGMA foreign_key_check"):
        yield Trouble(f"row {row} of the table {table} refers to a row of {other} that is gone")


class Check:
    """One pass over all notes, then over what is worked out from them."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._numbers = Numbers(connection)
        self._batch = Batch()
        # To check what all notes refer to, they are taken as one batch for an empty register.
        self._numbers.forget()

    def troubles(self) -> Iterator[Trouble]:
        """Everything wrong, note by note and then as a whole."""
        yield from self._notes()
        threads = Threads(self._connection, self._batch.stand_ins)
        yield from self._threads(threads)
        digests = derived(self._connection)
        yield from self._shrubs(digests)
        faults = self._batch.thread_faults(threads)
        everyone = {number: digests.get(number, Digest()) for number in self._numbers.new_shrubs}
        faults += reference_faults(self._connection, self._numbers, self._batch, everyone)
        yield from map(_fault_told, faults)

    def _notes(self) -> Iterator[Trouble]:
        query = select(*(t.note.c[name] for name in COLUMNS)).order_by(t.note.c.n)
        rows = self._connection.execute(query, execution_options={"yield_per": 1000})
        for position, values in enumerate(rows, start=1):
            row: Row = tuple(values)
            trouble, note = self._note(row)
            if trouble is not None:
                id_ = UUID(bytes=row[1])
                yield Trouble(f"note {id_} {trouble}", id_)
            if note is not None:
                self._batch.remember(position, note, row, self._numbers)

    def _note(self, row: Row) -> tuple[str | None, Note | None]:
        """Return what is wrong with a row, and the note that it tells."""
        *_, hash_, body = row
        if sha256(body.encode()).digest() != hash_:
            return "is not as it was kept: its text and its hash do not match", None
        try:
            note = note_of(body)
        except ValidationError as problem:
            return f"cannot be read: {problem.errors()[0]['msg']}", None
        found = dict(zip(COLUMNS, row, strict=True))
        wrong = [name for name, value in self._expected(note).items() if found[name] != value]
        if wrong:
            return f"is filed wrongly: its {', '.join(wrong)} and its text do not match", None
        return None, note

    def _expected(self, note: Note) -> dict[str, object]:
        planting = self._numbers.planting(note.planting)
        tags = self._numbers.tags(planting)
        return {
            "id": note.id.bytes,
            "planting": planting,
            "shrub": None if note.shrub is None else tags.get(note.shrub),
            "kind": note.kind,
            "seen": seen_key(note.seen, note.seen_at),
            "recorded": moment(note.recorded),
        }

    def _threads(self, threads: Threads) -> Iterator[Trouble]:
        query = select(*(t.stand_in.c[name] for name in STAND_IN))
        kept = {row[0]: tuple(row) for row in self._connection.execute(query)}
        fresh = {row[0]: row for row in threads.rows()}
        for n in sorted(kept.keys() | fresh.keys()):
            if kept.get(n) != fresh.get(n):
                id_ = UUID(bytes=bytes((kept.get(n) or fresh[n])[1]))
                told = "what was worked out about it standing in for another is wrong"
                yield Trouble(f"note {id_}: {told}", id_)

    def _shrubs(self, digests: Mapping[int, Digest]) -> Iterator[Trouble]:
        query = select(t.shrub_now.c.shrub, t.shrub_now.c.digest)
        kept = dict(map(tuple, self._connection.execute(query)))
        nothing = Digest().text()
        for number, name in sorted(self._names().items()):
            fresh = digests[number].text() if number in digests else nothing
            if kept.get(number) != fresh:
                yield Trouble(f"shrub {name}: what was worked out from its notes is wrong")

    def _names(self) -> dict[int, str]:
        query = select(t.shrub.c.no, t.shrub.c.tag)
        return dict(map(tuple, self._connection.execute(query)))


def _fault_told(fault: BatchFault) -> Trouble:
    return Trouble(f"note {fault.note} ({fault.about}), {fault.fault}", fault.note)
