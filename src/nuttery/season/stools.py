"""Canes of each stool in the winter at hand, from counts, cuts and suckers kept.

A count tells one winter. Later cuts are taken off it, kept suckers come in, and for each winter
since then every cane is a year older and the usual number of suckers is taken to have come up.
"""

from dataclasses import dataclass, field
from datetime import date

import numpy as np

from nuttery.records import CaneLabelled, CanesCounted, CanesCut, Note, SuckersKept
from nuttery.science.arguments import Floats, Ints
from nuttery.season.planting import Planting

AGES = 16
"""Columns of a count: ages 0 to 14, and 15 and older."""


def winter_of(day: date) -> int:
    """Year of the summer that follows the winter in which a day falls (July begins the next).

    Examples
    --------
    >>> winter_of(date(2027, 2, 1)), winter_of(date(2026, 11, 20))
    (2027, 2027)
    """
    return day.year if day.month < 7 else day.year + 1


@dataclass
class Stool:
    """What is known of one stool while its notes are read, oldest first."""

    tag: str
    canes: Floats = field(default_factory=lambda: np.zeros(AGES))
    winter: int = 0
    counted: int = 0
    known: str = "not counted"
    sawn: int = 0
    born: dict[str, int] = field(default_factory=dict)
    kept: dict[int, Floats] = field(default_factory=dict)

    def reach(self, winter: int, suckers: float) -> None:
        """Grow older until that winter."""
        while 0 < self.winter < winter:
            if self.counted == self.winter:
                self.kept[self.winter] = self.canes.copy()
            older = np.zeros(AGES)
            older[1:] = self.canes[:-1]
            older[-1] += self.canes[-1]
            older[1] = suckers
            self.canes, self.winter = older, self.winter + 1


@dataclass(frozen=True)
class Stools:
    """Canes of every counted stool in one winter before pruning, in walking order.

    Attributes
    ----------
    winter : year of the summer that follows
    tags : (n,)
    counts : (n, AGES) canes of each age, whole numbers
    counted : (n,) winter of the last count; earlier than `winter` where it was grown forward
    known : (n,) "by age", "total only", as it was counted
    sawn : (n,) canes already cut in this winter
    suckers : usual number of suckers of a stool in a summer
    suckers_records : notes behind it
    uncounted : tags of standing shrubs without any count
    past_shrub, past_year : (k,) row and winter of every earlier count
    past_kept : (k, AGES) canes left standing then, cuts taken off
    """

    winter: int
    tags: tuple[str, ...]
    counts: Ints
    counted: Ints
    known: tuple[str, ...]
    sawn: Ints
    suckers: float
    suckers_records: int
    uncounted: tuple[str, ...]
    past_shrub: Ints
    past_year: Ints
    past_kept: Ints


def stools(planting: Planting) -> Stools:
    """Return the canes of every counted stool in the winter of the planting's day."""
    return planting.remembered("stools", lambda: _stools(planting))


def _stools(planting: Planting) -> Stools:
    winter = winter_of(planting.on)
    notes = list(planting.notes(CanesCounted, CanesCut, SuckersKept, CaneLabelled))
    came_up = [n.came_up for n in notes if isinstance(n, SuckersKept) and n.came_up is not None]
    suckers = float(np.median(came_up)) if came_up else planting.value("canes.suckers").value
    profile = _usual_profile(notes)
    known: dict[str, Stool] = {}
    for note in notes:
        if note.shrub in planting.by_tag:
            stool = known.setdefault(str(note.shrub), Stool(str(note.shrub)))
            _take_in(stool, note, suckers, profile)
    for stool in known.values():
        stool.reach(winter, suckers)
    counted = [known[s.tag] for s in planting.shrubs if s.tag in known and known[s.tag].counted]
    told = {stool.tag for stool in counted}
    past = [
        (k, year, canes) for k, stool in enumerate(counted) for year, canes in stool.kept.items()
    ]
    return Stools(
        winter=winter,
        tags=tuple(s.tag for s in counted),
        counts=np.array([s.canes.round() for s in counted]).reshape(-1, AGES).astype(np.int64),
        counted=np.array([s.counted for s in counted], dtype=np.int64),
        known=tuple(s.known for s in counted),
        sawn=np.array([s.sawn if s.winter == winter else 0 for s in counted], dtype=np.int64),
        suckers=suckers,
        suckers_records=len(came_up),
        uncounted=tuple(s.tag for s in planting.shrubs if s.tag not in told),
        past_shrub=np.array([k for k, _, _ in past], dtype=np.int64),
        past_year=np.array([year for _, year, _ in past], dtype=np.int64),
        past_kept=np.array([c.round() for _, _, c in past]).reshape(-1, AGES).astype(np.int64),
    )


def _usual_profile(notes: list[Note]) -> Floats:
    """Shares of the ages over all counts by age, for stools of which only a total is known."""
    total = np.ones(AGES) * 1e-9
    total[1:10] += 1e-3
    for note in notes:
        if isinstance(note, CanesCounted) and note.by_age:
            total += _by_age(note.by_age)
    profile: Floats = total / total.sum()
    return profile


def _by_age(by_age: dict[int, int], shift: int = 0) -> Floats:
    canes = np.zeros(AGES)
    for age, number in by_age.items():
        canes[min(age + shift, AGES - 1)] += number
    return canes


def _take_in(stool: Stool, note: Note, suckers: float, profile: Floats) -> None:
    winter = winter_of(note.seen)
    if stool.winter < winter:
        stool.sawn = 0
    stool.reach(winter, suckers)
    if isinstance(note, CanesCounted):
        _count(stool, note, winter, profile)
    elif isinstance(note, CaneLabelled) and note.cane and note.came_up is not None:
        stool.born[note.cane] = note.came_up
    elif isinstance(note, CanesCut) and stool.winter == winter:
        for cut in note.cuts:
            age = winter - stool.born[cut.cane] if cut.cane in stool.born else cut.age
            _take_off(stool.canes, age, cut.canes)
            stool.sawn += cut.canes
    elif isinstance(note, SuckersKept) and stool.winter == winter:
        stool.canes[1] = note.kept


def _count(stool: Stool, note: CanesCounted, winter: int, profile: Floats) -> None:
    summer = (
        1 if 7 <= note.seen.month <= 9 else 0
    )  # a cane seen in summer is a year older by winter
    if note.by_age is not None:
        stool.canes, stool.known = _by_age(note.by_age, summer), "by age"
    elif note.by_year is not None:
        ages = {winter - year: number for year, number in note.by_year.items()}
        stool.canes, stool.known = _by_age(ages), "by age"
    else:
        total = note.standing if note.standing is not None else sum((note.by_size or {}).values())
        stool.canes, stool.known = _shared_out(total, profile), "total only"
    stool.winter = stool.counted = winter


def _shared_out(total: int, profile: Floats) -> Floats:
    """Whole canes by age that add up to the total and follow the profile (largest remainders)."""
    wanted = total * profile
    canes = np.floor(wanted)
    for age in np.argsort(canes - wanted, kind="stable")[: int(total - canes.sum())]:
        canes[age] += 1
    return canes


def _take_off(canes: Floats, age: int | None, number: int) -> None:
    """Take cut canes off: those of the age told, else the nearest in age; the oldest if untold."""
    for _ in range(number):
        standing = np.flatnonzero(canes > 0)
        if not len(standing):
            return
        nearest = standing[-1] if age is None else standing[np.argmin(np.abs(standing - age))]
        canes[nearest] -= 1
