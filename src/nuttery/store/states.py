"""What is known of a shrub: the result type, and how it is put together from its notes."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from types import MappingProxyType
from typing import TypeVar

from nuttery.records import (
    AllelesKnown,
    CaneLabelled,
    CanesCounted,
    LayerMade,
    Note,
    ParentsKnown,
    ShrubPlanted,
)
from nuttery.store.digest import Digest, Key
from nuttery.store.rows import DAY, day_of

N = TypeVar("N", bound=Note)

Bodies = Mapping[str, Note]
"""Notes by their id in hexadecimal."""


@dataclass(frozen=True, kw_only=True)
class ShrubState:
    """A shrub as its notes tell it, as of a day and as known at a moment.

    Attributes
    ----------
    tag : the tag on the shrub
    x, y : place, metres east and north of the planting's origin; None if not told
    row, number : row, and number in the row; None if not told
    seed_lot : seed lot it is of (of a layer: the original's); None if not told
    planted : day on which it was set in its place
    lost : day on which its loss was first seen, None if it stands
    copy_of : tag of the shrub that it is a layer of, None for a seedling
    mother, fathers : parents told of the shrub itself, else of its original, else of its seed lot
    alleles : its S-alleles (of a layer: the original's), None without a test report
    alleles_note : that report
    counted : the last count of its canes
    canes : labelled canes not cut since, each as its last label note tells, in order of label
    last_seen : day of the last note of each kind
    n_notes : notes of the shrub that hold
    """

    tag: str
    x: float | None = None
    y: float | None = None
    row: int | None = None
    number: int | None = None
    seed_lot: str | None = None
    planted: date
    lost: date | None = None
    copy_of: str | None = None
    mother: str | None = None
    fathers: tuple[str, ...] = ()
    alleles: tuple[int, int] | None = None
    alleles_note: AllelesKnown | None = None
    counted: CanesCounted | None = None
    canes: tuple[CaneLabelled, ...] = ()
    last_seen: Mapping[str, date] = field(default_factory=dict)
    n_notes: int = 0


def keys_needed(digest: Digest) -> Iterable[Key]:
    """Places of the notes that have to be read to tell a shrub's state."""
    yield from digest.planted[-1:]
    yield from digest.latest.values()
    yield from digest.canes_standing().values()


@dataclass(frozen=True)
class Telling:
    """All that is needed to tell the states of a planting's shrubs.

    Attributes
    ----------
    digests : digest of each shrub, by tag
    bodies : the notes that `keys_needed` names, by id
    lots : what is known of the parents of each seed lot
    """

    digests: Mapping[str, Digest]
    bodies: Bodies
    lots: Mapping[str, ParentsKnown]

    def state(self, tag: str) -> ShrubState:
        """State of a shrub that was planted."""
        digest = self.digests[tag]
        planting = self._planting(tag)
        family = self._family(tag)
        lot = _lot(self._planting(family[-1]))
        parents = self._parents(family, lot)
        report = self._first(family, "alleles_known", AllelesKnown)
        return ShrubState(
            tag=tag,
            x=planting.x,
            y=planting.y,
            row=planting.row,
            number=planting.number,
            seed_lot=lot,
            planted=planting.seen,
            lost=None if digest.lost is None else day_of(digest.lost[0]),
            copy_of=planting.copy_of if isinstance(planting, LayerMade) else None,
            mother=parents.mother if parents else None,
            fathers=parents.fathers if parents else (),
            alleles=(report.first, report.second) if report else None,
            alleles_note=report,
            counted=self._first([tag], "canes_counted", CanesCounted),
            canes=self._canes(digest),
            last_seen=_days(digest),
            n_notes=digest.n_notes,
        )

    def _planting(self, tag: str) -> ShrubPlanted | LayerMade:
        note = self.bodies[self.digests[tag].planted[-1][2]]
        if not isinstance(note, ShrubPlanted | LayerMade):
            raise TypeError(f"planting of {tag}: found a note of kind {note.kind}")
        return note

    def _family(self, tag: str) -> list[str]:
        """Return the shrub, the one it is a layer of, and so on."""
        family = [tag]
        while isinstance(planting := self._planting(family[-1]), LayerMade):
            original = self.digests.get(planting.copy_of)
            if original is None or not original.planted or planting.copy_of in family:
                break
            family.append(planting.copy_of)
        return family

    def _first(self, family: list[str], kind: str, wanted: type[N]) -> N | None:
        """Return the latest note of a kind, of the first one in the family that has one."""
        for tag in family:
            place = self.digests[tag].latest.get(kind)
            if place is not None and isinstance(note := self.bodies[place[2]], wanted):
                return note
        return None

    def _parents(self, family: list[str], lot: str | None) -> ParentsKnown | None:
        return self._first(family, "parents_known", ParentsKnown) or self.lots.get(lot or "")

    def _canes(self, digest: Digest) -> tuple[CaneLabelled, ...]:
        notes = (self.bodies[place[2]] for place in digest.canes_standing().values())
        return tuple(note for note in notes if isinstance(note, CaneLabelled))


def _lot(planting: ShrubPlanted | LayerMade) -> str | None:
    return planting.seed_lot if isinstance(planting, ShrubPlanted) else None


def _days(digest: Digest) -> Mapping[str, date]:
    return MappingProxyType({kind: day_of(d * DAY) for kind, d in sorted(digest.last.items())})
