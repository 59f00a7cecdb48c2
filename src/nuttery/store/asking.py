"""Questions to the register: notes, plantings and shrubs, as of a day and as known at a moment."""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from difflib import get_close_matches
from typing import Any
from uuid import UUID

from sqlalchemy import ColumnElement, Connection, Select, or_, select

from nuttery.records import KINDS, LayerMade, Note, ParentsKnown, PlantingDescribed
from nuttery.store import tables as t
from nuttery.store.chunks import chunks
from nuttery.store.deriving import derived
from nuttery.store.digest import Digest, digest_from
from nuttery.store.errors import NotKnown
from nuttery.store.rows import DAY, moment, note_of, seen_key
from nuttery.store.standing import holds
from nuttery.store.states import ShrubState, Telling, keys_needed


@dataclass(frozen=True)
class AsOf:
    """A day up to which notes were seen, and a moment up to which they were recorded."""

    on: date | None = None
    recorded_until: datetime | None = None

    @property
    def now(self) -> bool:
        """Whether everything that is known counts."""
        return self.on is None and self.recorded_until is None

    @property
    def seen_before(self) -> int | None:
        """Place in the order of notes before which notes count."""
        return None if self.on is None else seen_key(self.on) + DAY

    @property
    def known(self) -> int | None:
        """Moment up to which notes count."""
        return None if self.recorded_until is None else moment(self.recorded_until)

    def conditions(self) -> list[ColumnElement[bool]]:
        """Conditions on the table of notes."""
        found = []
        if self.seen_before is not None:
            found.append(t.note.c.seen < self.seen_before)
        if self.known is not None:
            found.append(t.note.c.recorded <= self.known)
        return found


def planting_number(connection: Connection, planting: UUID) -> int:
    """Return the number of a planting in this register.

    Raises
    ------
    NotKnown
        If the register holds no such planting.
    """
    query = select(t.planting.c.no).where(t.planting.c.id == planting.bytes)
    number = connection.execute(query).scalar()
    if number is None:
        raise NotKnown(f"planting: found {planting}, expected one that the register holds")
    return int(number)


def known_kinds(kinds: Iterable[str] | str | None) -> list[str] | None:
    """Names of kinds of note, each of which there is.

    Raises
    ------
    ValueError
        Naming the unknown one and those that are near.
    """
    if kinds is None:
        return None
    names = [kinds] if isinstance(kinds, str) else sorted(set(kinds))
    for name in names:
        if name not in KINDS:
            near = get_close_matches(name, KINDS, n=3) or sorted(KINDS)
            raise ValueError(f"kinds: found {name!r}, expected a kind such as {', '.join(near)}")
    return names


def notes_query(
    *,
    planting: UUID | None,
    shrub: str | None,
    kinds: Iterable[str] | str | None,
    seen_from: date | None,
    as_of: AsOf,
    standing: bool,
) -> Select[Any]:
    """Return the query for the bodies of notes, in the order of notes."""
    names = known_kinds(kinds)
    query = select(t.note.c.body).where(*as_of.conditions())
    if planting is not None and shrub is None:
        number = select(t.planting.c.no).where(t.planting.c.id == planting.bytes)
        query = query.where(t.note.c.planting == number.scalar_subquery())
    if shrub is not None:
        # A shrub is of one planting: naming that again would lead SQLite past the shrub's index.
        query = query.where(t.note.c.shrub.in_(_shrub_numbers(planting, shrub)))
    if names is not None:
        query = query.where(t.note.c.kind.in_(names))
    if seen_from is not None:
        query = query.where(t.note.c.seen >= seen_key(seen_from))
    if standing:
        query = query.where(holds(as_of.known))
    return query.order_by(t.note.c.seen, t.note.c.recorded, t.note.c.id)


def _shrub_numbers(planting: UUID | None, tag: str) -> Select[Any]:
    numbers = select(t.shrub.c.no).where(t.shrub.c.tag == tag)
    if planting is None:
        return numbers
    return numbers.join(t.planting).where(t.planting.c.id == planting.bytes)


def told_notes(connection: Connection, query: Select[Any]) -> Iterator[Note]:
    """Notes that a query for bodies finds, one at a time."""
    for (body,) in connection.execute(query, execution_options={"yield_per": 1000}):
        yield note_of(body)


def note_by_id(connection: Connection, id_: UUID) -> Note:
    """Return the note with an id, whether it holds or not."""
    query = select(t.note.c.body).where(t.note.c.id == id_.bytes)
    body = connection.execute(query).scalar()
    if body is None:
        raise NotKnown(f"note: found {id_}, expected the id of a note that the register holds")
    return note_of(body)


def thread_of(connection: Connection, id_: UUID) -> tuple[Note, ...]:
    """Return the note, those it stands in for and those that stand in for it, the first first."""
    number = select(t.note.c.n).where(t.note.c.id == id_.bytes).scalar_subquery()
    thread = select(t.stand_in.c.thread).where(t.stand_in.c.note == number)
    first = connection.execute(thread).scalar() or connection.execute(select(number)).scalar()
    if first is None:
        raise NotKnown(f"note: found {id_}, expected the id of a note that the register holds")
    query = (
        select(t.note.c.body)
        .outerjoin(t.stand_in, t.stand_in.c.note == t.note.c.n)
        .where(or_(t.note.c.n == first, t.stand_in.c.thread == first))
        .order_by(t.stand_in.c.depth.nulls_first(), t.note.c.recorded, t.note.c.id)
    )
    return tuple(told_notes(connection, query))


def plantings(connection: Connection, as_of: AsOf) -> tuple[PlantingDescribed, ...]:
    """Return the last description of each planting that holds, in order of name."""
    query = notes_query(
        planting=None,
        shrub=None,
        kinds="planting_described",
        seen_from=None,
        as_of=as_of,
        standing=True,
    )
    last = {
        note.planting: note
        for note in told_notes(connection, query)
        if isinstance(note, PlantingDescribed)
    }
    return tuple(sorted(last.values(), key=lambda note: (note.name, note.planting)))


def all_shrubs(connection: Connection, planting: UUID, as_of: AsOf) -> tuple[ShrubState, ...]:
    """State of every shrub planted by then, in order of tag."""
    number = planting_number(connection, planting)
    digests = _digests(connection, number, None, as_of)
    telling = _telling(connection, planting, digests, as_of)
    return tuple(telling.state(tag) for tag in sorted(digests, key=by_number))


def by_number(tag: str) -> tuple[tuple[str, int], ...]:
    """Return a key that puts A-2 before A-10.

    Examples
    --------
    >>> sorted(["A-10", "A-2"], key=by_number)
    ['A-2', 'A-10']
    """
    import re

    return tuple((text, int(digits or 0)) for text, digits in re.findall(r"(\D*)(\d*)", tag))


def one_shrub(connection: Connection, planting: UUID, tag: str, as_of: AsOf) -> ShrubState:
    """State of one shrub."""
    number = planting_number(connection, planting)
    digests: dict[str, Digest] = {}
    wanted: str | None = tag
    while wanted is not None and wanted not in digests:
        digests |= _digests(connection, number, wanted, as_of)
        wanted = _original(connection, digests.get(wanted))
    if tag not in digests:
        raise NotKnown(_no_such_shrub(connection, number, tag))
    return _telling(connection, planting, digests, as_of).state(tag)


def _no_such_shrub(connection: Connection, planting: int, tag: str) -> str:
    query = select(t.shrub.c.tag).where(t.shrub.c.planting == planting)
    near = get_close_matches(tag, connection.execute(query).scalars(), n=3)
    hint = f" (did you mean {' or '.join(near)}?)" if near else ""
    return f"shrub: found {tag!r}, expected a tag planted by then{hint}"


def _original(connection: Connection, digest: Digest | None) -> str | None:
    if digest is None:
        return None
    id_ = UUID(hex=digest.planted[-1][2])
    planted = note_by_id(connection, id_)
    return planted.copy_of if isinstance(planted, LayerMade) else None


def _digests(
    connection: Connection, planting: int, tag: str | None, as_of: AsOf
) -> dict[str, Digest]:
    """Digests of planted shrubs by tag: as kept if all that is known counts, else worked out."""
    query = select(t.shrub.c.no, t.shrub.c.tag).where(t.shrub.c.planting == planting)
    if tag is not None:
        query = query.where(t.shrub.c.tag == tag)
    if as_of.now:
        kept = query.join(t.shrub_now).add_columns(t.shrub_now.c.digest)
        found = {tag: digest_from(text) for _, tag, text in connection.execute(kept)}
    else:
        tags = dict(map(tuple, connection.execute(query)))
        among = None if tag is None else tags
        digests = _worked_out(connection, planting, among, as_of)
        found = {tags[number]: digest for number, digest in digests.items()}
    return {tag: digest for tag, digest in found.items() if digest.planted}


def _worked_out(
    connection: Connection, planting: int, shrubs: Collection[int] | None, as_of: AsOf
) -> dict[int, Digest]:
    return derived(
        connection,
        planting=planting,
        shrubs=shrubs,
        seen_before=as_of.seen_before,
        recorded_until=as_of.known,
    )


def _telling(
    connection: Connection, planting: UUID, digests: dict[str, Digest], as_of: AsOf
) -> Telling:
    needed = {key[2] for digest in digests.values() for key in keys_needed(digest)}
    return Telling(digests, _bodies(connection, needed), _lots(connection, planting, as_of))


def _bodies(connection: Connection, ids: Collection[str]) -> dict[str, Note]:
    found: dict[str, Note] = {}
    for some in chunks(sorted(ids)):
        query = select(t.note.c.body).where(t.note.c.id.in_([bytes.fromhex(i) for i in some]))
        found |= {note.id.hex: note for note in told_notes(connection, query)}
    return found


def _lots(connection: Connection, planting: UUID, as_of: AsOf) -> dict[str, ParentsKnown]:
    query = notes_query(
        planting=planting,
        shrub=None,
        kinds="parents_known",
        seen_from=None,
        as_of=as_of,
        standing=True,
    )
    notes = told_notes(connection, query)
    return {
        note.seed_lot: note
        for note in notes
        if isinstance(note, ParentsKnown) and note.seed_lot is not None
    }
