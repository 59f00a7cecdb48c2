"""What a batch refers to, and whether it is there: plantings, shrubs, originals, crosses.

Each rule looks at the notes as a set, not at the order in which they came, so that notes which
were kept in many batches can be kept again in one.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from uuid import UUID

from sqlalchemy import Connection, select

from nuttery.records import CrossCounted, Fault, LayerMade, Note
from nuttery.store import tables as t
from nuttery.store.chunks import chunks
from nuttery.store.digest import PLANTED, Digest, digest_from
from nuttery.store.errors import BatchFault
from nuttery.store.numbers import Numbers
from nuttery.store.rows import Row, day_of, note_of
from nuttery.store.threads import StandIn, Threads

_REFERRING = PLANTED | {"planting_described", "cross_counted"}


@dataclass(frozen=True)
class Mention:
    """A note of the batch and its position in it, from 1."""

    position: int
    note: Note

    def fault(self, fault: Fault) -> BatchFault:
        """Return a fault of this note."""
        kind = self.note.title or self.note.kind
        about = f"{kind}, shrub {self.note.shrub}" if self.note.shrub else kind
        return BatchFault(self.position, self.note.id, about, fault)


@dataclass
class Batch:
    """What is remembered of a batch to check it as a whole.

    Attributes
    ----------
    described : plantings described in it
    new_plantings, new_shrubs : first mention of those that the register did not hold before
    planted : notes by which each shrub was planted or layered
    stand_ins, mentions : notes that stand in for others, and notes that may be told of, by id
    crosses : counts of crosses
    """

    described: set[int] = field(default_factory=set)
    new_plantings: dict[int, Mention] = field(default_factory=dict)
    new_shrubs: dict[int, Mention] = field(default_factory=dict)
    planted: dict[int, list[Mention]] = field(default_factory=dict)
    stand_ins: dict[bytes, StandIn] = field(default_factory=dict)
    mentions: dict[bytes, Mention] = field(default_factory=dict)
    crosses: list[Mention] = field(default_factory=list)

    def remember(self, position: int, note: Note, row: Row, numbers: Numbers) -> None:
        """Remember what a note of the batch refers to, if it is worth remembering."""
        _n, _id, planting, shrub, kind, *_ = row
        plantings, shrubs = numbers.unmentioned
        if (
            kind in _REFERRING
            or note.stands_in_for is not None
            or shrub in shrubs
            or planting in plantings
        ):
            plantings.discard(planting)
            shrubs.discard(shrub)
            self._remember(Mention(position, note), row, numbers)

    def _remember(self, mention: Mention, row: Row, numbers: Numbers) -> None:
        n, id_, planting, shrub, kind, _seen, recorded, _hash, _body = row
        if kind == "planting_described":
            self.described.add(planting)
        if planting in numbers.new_plantings:
            self.new_plantings.setdefault(planting, mention)
        if shrub in numbers.new_shrubs:
            self.new_shrubs.setdefault(shrub, mention)
        if shrub is not None and kind in PLANTED:
            self.planted.setdefault(shrub, []).append(mention)
            self.mentions[id_] = mention
        if (target := mention.note.stands_in_for) is not None:
            self.stand_ins[id_] = StandIn(n, id_, planting, target.bytes, recorded)
            self.mentions[id_] = mention
        if kind == "cross_counted":
            self.crosses.append(mention)

    def thread_faults(self, threads: Threads) -> list[BatchFault]:
        """Faults of the notes that stand in for others."""
        return [self.mentions[id_].fault(fault) for id_, fault in threads.faults.items()]


def reference_faults(
    connection: Connection, numbers: Numbers, batch: Batch, digests: Mapping[int, Digest]
) -> list[BatchFault]:
    """Everything that the batch refers to and that is not there, or not as it should be."""
    faults = [
        *_planting_faults(batch),
        *_tag_faults(numbers, batch, digests),
        *_original_faults(numbers, batch),
        *_cross_faults(connection, batch),
        *_twice_faults(batch, digests),
    ]
    # A ring can be looked for only where every original is known.
    return faults or list(Rings(connection, numbers, batch, digests).faults())


def _planting_faults(batch: Batch) -> Iterator[BatchFault]:
    for number, mention in batch.new_plantings.items():
        if number not in batch.described:
            told = str(mention.note.planting)
            wanted = "a planting set up by a note that describes it"
            yield mention.fault(Fault("planting", told, wanted))


def _tag_faults(
    numbers: Numbers, batch: Batch, digests: Mapping[int, Digest]
) -> Iterator[BatchFault]:
    for shrub, mention in batch.new_shrubs.items():
        if shrub not in batch.planted:
            notes = digests[shrub].n_notes
            more = f" (in {notes} notes)" if notes > 1 else ""
            tags = _planted_tags(numbers, batch, mention)
            tag = mention.note.shrub or ""
            yield mention.fault(Fault("shrub", f"{tag!r}{more}", _a_tag(tag, tags)))


def _planted_tags(numbers: Numbers, batch: Batch, mention: Mention) -> list[str]:
    tags = numbers.tags(numbers.planting(mention.note.planting))
    known = numbers.new_shrubs - batch.planted.keys()
    return [tag for tag, number in tags.items() if number not in known]


def _a_tag(tag: str, tags: list[str]) -> str:
    near = get_close_matches(tag, tags, n=2)
    hint = f"; did you mean {' or '.join(near)}?" if near else ""
    return f"the tag of a shrub that was planted or layered{hint}"


def _original_faults(numbers: Numbers, batch: Batch) -> Iterator[BatchFault]:
    for mention, layer in layers(batch):
        tags = _planted_tags(numbers, batch, mention)
        if layer.copy_of not in tags:
            told = layer.copy_of
            yield mention.fault(Fault("layer of", repr(told), _a_tag(told, tags)))


def layers(batch: Batch) -> Iterator[tuple[Mention, LayerMade]]:
    """Notes of the batch by which shrubs were layered."""
    for mentions in batch.planted.values():
        for mention in mentions:
            if isinstance(mention.note, LayerMade):
                yield mention, mention.note


def _cross_faults(connection: Connection, batch: Batch) -> Iterator[BatchFault]:
    for some in chunks(batch.crosses):
        wanted = {m: m.note.cross for m in some if isinstance(m.note, CrossCounted)}
        query = (
            select(t.note.c.id, t.planting.c.id)
            .join(t.planting)
            .where(t.note.c.kind == "cross_made")
            .where(t.note.c.id.in_([cross.bytes for cross in wanted.values()]))
        )
        there = {(UUID(bytes=id_), UUID(bytes=p)) for id_, p in connection.execute(query)}
        for mention, cross in wanted.items():
            if (cross, mention.note.planting) not in there:
                expected = "the id of a 'cross made' note of the planting"
                yield mention.fault(Fault("cross", str(cross), expected))


def _twice_faults(batch: Batch, digests: Mapping[int, Digest]) -> Iterator[BatchFault]:
    for shrub, mentions in batch.planted.items():
        places = digests[shrub].planted
        if len(places) < 2:
            continue
        holding = {place[2] for place in places}
        last = max((m for m in mentions if m.note.id.hex in holding), key=lambda m: m.position)
        other = next(place for place in places if place[2] != last.note.id.hex)
        expected = (
            f"a new tag, or a note that stands in for {UUID(hex=other[2])}, "
            f"by which it was planted on {day_of(other[0])}"
        )
        yield last.fault(Fault("shrub", f"{last.note.shrub!r} planted twice", expected))


class Rings:
    """Layers of layers that would come back to where they began."""

    def __init__(
        self, connection: Connection, numbers: Numbers, batch: Batch, digests: Mapping[int, Digest]
    ) -> None:
        self._connection = connection
        self._numbers = numbers
        self._batch = batch
        self._digests = digests

    def faults(self) -> Iterator[BatchFault]:
        """Layers of the batch that are, in the end, layers of themselves."""
        for mention, layer in layers(self._batch):
            if self._holds(layer) and self._comes_back(layer):
                expected = "a shrub that is not, in the end, a layer of this one"
                yield mention.fault(Fault("layer of", repr(layer.copy_of), expected))

    def _number(self, planting: UUID, tag: str | None) -> int:
        return self._numbers.shrub(self._numbers.planting(planting), tag or "")

    def _holds(self, layer: LayerMade) -> bool:
        places = self._digests[self._number(layer.planting, layer.shrub)].planted
        return layer.id.hex in {place[2] for place in places}

    def _comes_back(self, layer: LayerMade) -> bool:
        passed = {layer.shrub}
        tag: str | None = layer.copy_of
        while tag is not None and tag not in passed:
            passed.add(tag)
            tag = self._original(layer.planting, tag)
        return tag is not None

    def _original(self, planting: UUID, tag: str) -> str | None:
        places = self._digest(self._number(planting, tag)).planted
        if not places:
            return None
        planted = self._planting_note(bytes.fromhex(places[0][2]))
        return planted.copy_of if isinstance(planted, LayerMade) else None

    def _digest(self, number: int) -> Digest:
        if number in self._digests:
            return self._digests[number]
        query = select(t.shrub_now.c.digest).where(t.shrub_now.c.shrub == number)
        return digest_from(self._connection.execute(query).scalar_one())

    def _planting_note(self, id_: bytes) -> Note:
        if id_ in self._batch.mentions:
            return self._batch.mentions[id_].note
        query = select(t.note.c.body).where(t.note.c.id == id_)
        return note_of(self._connection.execute(query).scalar_one())
