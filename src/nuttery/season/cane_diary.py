"""The notes about canes, winter by winter, as the following of the stools needs them."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field

from nuttery.records import (
    CaneLabelled,
    CanesCounted,
    CanesCut,
    Cut,
    Note,
    PestSeen,
    SuckersKept,
)
from nuttery.season.cane_looks import SURE_OF, winter_of
from nuttery.season.planting import Planting

CANKER_HOLDS = 2
"""Winters after which a cankered cane that nobody cut is no longer taken to stand."""


@dataclass
class Winter:
    """What was noted of the stools in one winter, by row of the planting."""

    counts: dict[int, CanesCounted] = field(default_factory=dict)
    cuts: dict[int, list[tuple[Cut, int | None]]] = field(default_factory=dict)
    kept: dict[int, int] = field(default_factory=dict)
    came_up: dict[int, int] = field(default_factory=dict)
    sawn: dict[int, int] = field(default_factory=dict)


@dataclass(frozen=True)
class Label:
    """A labelled cane of known age: row, year it came up, first and last winter it stands in."""

    row: int
    came_up: int
    first: int
    last: int | None = None


@dataclass
class Diary:
    """All notes about canes.

    Attributes
    ----------
    winters : by year of the summer that follows
    labels : labelled canes of known age by row and label
    dead : row → dead canes noted and not cut since
    cankered : row → (winter, canes, age if a labelled one)
    suckers, keeping : how many came up, and how many were kept, each time it was noted
    """

    winters: defaultdict[int, Winter] = field(default_factory=lambda: defaultdict(Winter))
    labels: dict[tuple[int, str], Label] = field(default_factory=dict)
    dead: dict[int, int] = field(default_factory=dict)
    cankered: dict[int, list[tuple[int, int, int | None]]] = field(default_factory=dict)
    suckers: list[int] = field(default_factory=list)
    keeping: list[int] = field(default_factory=list)


def diary(planting: Planting) -> Diary:
    """Read the notes about canes of all standing shrubs."""
    rows = {shrub.tag: k for k, shrub in enumerate(planting.shrubs)}
    kept = Diary()
    kinds = (CanesCounted, CanesCut, SuckersKept, CaneLabelled, PestSeen)
    notes: Iterable[Note] = planting.notes(*kinds)
    for note in notes:
        if note.shrub in rows:
            _enter(kept, rows[str(note.shrub)], note)
    return kept


def _enter(kept: Diary, row: int, note: Note) -> None:
    year = winter_of(note.seen)
    winter = kept.winters[year]
    if isinstance(note, CanesCounted):
        winter.counts[row] = note
        winter.cuts.pop(row, None)  # the count was made after them
        if note.dead is not None:
            kept.dead[row] = note.dead
    elif isinstance(note, CanesCut):
        _enter_cuts(kept, row, year, note)
    elif isinstance(note, SuckersKept):
        winter.kept[row] = note.kept
        kept.keeping.append(note.kept)
        if note.came_up is not None:
            winter.came_up[row] = note.came_up
            kept.suckers.append(note.came_up)
    elif isinstance(note, CaneLabelled):
        if note.cane and note.came_up is not None and (note.spread or 0) <= SURE_OF:
            kept.labels[row, note.cane] = Label(row, note.came_up, year)
    elif isinstance(note, PestSeen):
        _enter_canker(kept, row, year, note)


def _enter_cuts(kept: Diary, row: int, year: int, note: CanesCut) -> None:
    winter = kept.winters[year]
    for cut in note.cuts:
        label = kept.labels.get((row, cut.cane or ""))
        if label is not None:
            kept.labels[row, str(cut.cane)] = Label(row, label.came_up, label.first, year - 1)
        age = year - label.came_up if label is not None else None
        winter.cuts.setdefault(row, []).append((cut, age))
        winter.sawn[row] = winter.sawn.get(row, 0) + cut.canes
        if cut.why == "dead" and row in kept.dead:
            kept.dead[row] = max(0, kept.dead[row] - cut.canes)
        if cut.why == "canker":
            kept.cankered.pop(row, None)


def _enter_canker(kept: Diary, row: int, year: int, note: PestSeen) -> None:
    if note.sign.casefold() == "none":
        kept.cankered.pop(row, None)
    elif "canker" in note.sign.casefold() and note.organ in {None, "cane", "crown"}:
        label = kept.labels.get((row, note.cane or ""))
        came_up = label.came_up if label is not None else None
        kept.cankered.setdefault(row, []).append((year, max(1, note.count or 1), came_up))
