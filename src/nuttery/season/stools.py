"""Canes of each stool, followed from winter to winter, as a distribution over their ages.

A count tells ages as they were judged, size classes, or a total. What it says is joined to what was
to be expected from the winter before (every cane a year older, some dead, cuts taken off, suckers
come up), so that a stool's ages agree from year to year. Between counts it is reckoned forward.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from nuttery.records import CanesCounted
from nuttery.records.cane_notes import SIZE_CLASS_MM
from nuttery.science.arguments import Floats, Ints
from nuttery.science.canes import next_winter, update_ages
from nuttery.season.cane_diary import CANKER_HOLDS, Diary, Winter, diary
from nuttery.season.cane_looks import AGES, by_size, cane_age, judged, standing, winter_of
from nuttery.season.planting import Planting

__all__ = ["AGES", "Stools", "stools", "whole", "winter_of"]

OVERLOOKED = 0.02
"""Part of a forecast that allows for canes overlooked and cuts not written down."""
STUB_SPREAD = 0.5
"""The age of a cane just sawn is known so much better than of one that stands: its stub shows
rings; assumed."""
SUMMER = (7, 8, 9)
"""Months in which a cane seen is a year older by the winter that follows."""
NURSERY_YEARS, NURSERY_SHARE = 2, 0.1
"""Seedlings are set out at one or two years (common practice), so that few canes are older than
their planting: so many times fewer than younger ones (assumed)."""
OLDER_STILL = 1e-3
"""The same of canes older than that: a date of planting may be wrong."""


@dataclass(frozen=True)
class Stools:
    """Canes of every counted stool in one winter before pruning, in walking order.

    Attributes
    ----------
    winter : year of the summer that follows
    tags : (n,)
    counts : (n, AGES) canes of each age, the whole numbers nearest to `expected`
    counted : (n,) winter of the last count; earlier than `winter` where it was grown forward
    known : (n,) "by age", "by size" or "total only", as it was counted
    sawn : (n,) canes already cut in this winter
    suckers : usual number of suckers of a stool in a summer
    suckers_records : notes behind it
    uncounted : tags of standing shrubs without any count
    past_shrub, past_year : (k,) row and winter of every earlier count
    past_kept : (k, AGES) canes left standing then, cuts taken off; expected numbers
    expected : (n, AGES) canes of each age as a distribution: expected numbers
    dead : (n,) dead canes noted and not cut since; they are not among the counts
    cankered : (n, AGES) of the counts, canes noted as cankered and not cut since
    stood, gone : (AGES,) canes of each age that stood before pruning in all earlier counts, and
        those of them that were cut
    looks_records : canes of known age behind the ages of size classes; 0 for the assumption
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
    past_kept: Floats
    expected: Floats
    dead: Ints
    cankered: Ints
    stood: Floats
    gone: Floats
    looks_records: int


def stools(planting: Planting) -> Stools:
    """Return the canes of every counted stool in the winter of the planting's day."""
    return planting.remembered("stools", lambda: _stools(planting))


def whole(expected: Floats) -> Ints:
    """Whole canes by age whose running totals are nearest to the expected ones.

    Parameters
    ----------
    expected : (..., AGES)

    Examples
    --------
    >>> whole(np.array([0, 3.0, 0.2, 0.6, 0.2, 0.9, 0.1]))
    array([0, 3, 0, 1, 0, 1, 0])
    """
    return np.diff(np.rint(np.cumsum(expected, axis=-1) + 1e-9), axis=-1, prepend=0.0).astype(
        np.int64
    )


def _stools(planting: Planting) -> Stools:
    kept = diary(planting)
    course = _Course(planting, kept)
    course.run(winter_of(planting.on))
    rows = np.flatnonzero(course.counted > 0)
    place = np.full(len(course.counted), -1)
    place[rows] = np.arange(len(rows))
    past = [p for p in course.past if len(p.rows)]
    tags = tuple(shrub.tag for shrub in planting.shrubs)
    counts = whole(course.canes[rows])
    sawn = kept.winters[course.winter].sawn
    return Stools(
        winter=course.winter,
        tags=tuple(tags[k] for k in rows),
        counts=counts,
        counted=course.counted[rows],
        known=tuple(course.known[k] for k in rows.tolist()),
        sawn=np.array([sawn.get(k, 0) for k in rows.tolist()], dtype=np.int64),
        suckers=course.suckers,
        suckers_records=len(kept.suckers),
        uncounted=tuple(tags[k] for k in np.flatnonzero(course.counted == 0)),
        past_shrub=place[_joined([p.rows for p in past], ())].astype(np.int64),
        past_year=np.repeat([p.winter for p in past], [len(p.rows) for p in past]).astype(np.int64),
        past_kept=_joined([p.left for p in past], (AGES,), float).round(2),
        expected=course.canes[rows],
        dead=np.array([kept.dead.get(k, 0) for k in rows.tolist()], dtype=np.int64),
        cankered=_cankered(kept, counts, rows, course.winter),
        stood=_added([p.stood for p in past]),
        gone=_added([p.stood - p.left for p in past]),
        looks_records=course.looks_records,
    )


def _joined(parts: list[np.ndarray], shape: tuple[int, ...], kind: type = int) -> np.ndarray:
    return np.concatenate(parts) if parts else np.zeros((0, *shape), dtype=kind)


def _added(parts: list[Floats]) -> Floats:
    total: Floats = sum((part.sum(axis=0) for part in parts), np.zeros(AGES))
    return total


def _cankered(kept: Diary, counts: Ints, rows: Ints, winter: int) -> Ints:
    """Cankered canes by age: a labelled one of its own, else one of middling age."""
    found = np.zeros_like(counts)
    for k, row in enumerate(rows.tolist()):
        for year, canes, came_up in kept.cankered.get(row, ()):
            if winter - year >= CANKER_HOLDS:
                continue
            for _ in range(canes):
                left = counts[k] - found[k]
                ages = np.repeat(np.arange(AGES), np.maximum(left, 0) * (np.arange(AGES) > 1))
                if len(ages):
                    wanted = np.median(ages) if came_up is None else winter - came_up
                    found[k, ages[np.argmin(np.abs(ages - wanted))]] += 1
    return found


@dataclass(frozen=True)
class _Past:
    """Stools counted in a winter: what stood and what was left of it."""

    winter: int
    rows: Ints
    stood: Floats
    left: Floats


class _Course:
    """All stools of the planting, taken from winter to winter."""

    def __init__(self, planting: Planting, kept: Diary) -> None:
        n = len(planting.shrubs)
        self.kept = kept
        self.canes = np.zeros((n, AGES))
        self.counted = np.zeros(n, dtype=np.int64)
        self.known = ["not counted"] * n
        self.winter = min((w for w, told in kept.winters.items() if told.counts), default=0)
        self.past: list[_Past] = []
        usual = float(np.median(kept.suckers)) if kept.suckers else None
        self.suckers = planting.value("canes.suckers").value if usual is None else usual
        self.kept_as_usual = float(np.median(kept.keeping)) if kept.keeping else None
        self.survival = 1 - planting.value("canes.death").value
        self.spread = planting.value("canes.age_spread").value
        model = cane_age(planting)
        self.looks_records = model.n_records
        self.size_looks = by_size(model, _size_shares(kept))
        self.profile = _profile(kept, self.spread)
        self.planted = np.array([s.planted.year for s in planting.shrubs], dtype=np.int64)

    def run(self, until: int) -> None:
        """Take the stools from the first count to a winter."""
        first = self.winter or until
        for self.winter in range(first, until + 1):
            told = self.kept.winters[self.winter]
            rows = np.array(sorted(told.counts), dtype=np.int64)
            self._forecast(told)
            self._count(told)
            stood = self.canes.copy()
            self._cut(told)
            left = self.canes.copy()
            if self.kept_as_usual is not None:
                over = (
                    np.arange(len(left)) if self.winter < until else np.array(list(told.sawn), int)
                )
                left[over, 1] = np.minimum(left[over, 1], self.kept_as_usual)
            for row, number in told.kept.items():
                left[row, 1] = number if self.counted[row] else 0.0
            if self.winter < until:
                self.past.append(_Past(self.winter, rows, stood[rows], left[rows]))
            self.canes = left

    def _forecast(self, told: Winter) -> None:
        """Every cane a year older; canes labelled and suckers told are known to stand."""
        grown = self.counted > 0
        usual = np.full(len(self.canes), self.suckers)
        risen = next_winter(self.canes, np.zeros_like(self.canes), usual, survival=self.survival)
        self.canes = np.where(grown[:, None], risen, 0.0)
        for row, number in told.came_up.items():
            self.canes[row, 1] = number if grown[row] else 0.0
        labelled = np.zeros_like(self.canes)
        for label in self.kept.labels.values():
            age = min(self.winter - label.came_up, AGES - 1)
            stands = label.first <= self.winter and (
                label.last is None or self.winter <= label.last
            )
            if age > 0 and stands and grown[label.row]:
                labelled[label.row, age] += 1
        self.canes = np.maximum(self.canes, labelled)

    def _count(self, told: Winter) -> None:
        """Join this winter's counts to the forecast, those made in the same way together."""
        alike: dict[tuple[str, float, int | None], list[int]] = {}
        for row, note in told.counts.items():
            alike.setdefault(_way(note, self.spread), []).append(row)
        for (way, spread, oldest), rows in alike.items():
            seen = [_classes(told.counts[row], self.winter) for row in rows]
            numbers = np.array(seen, dtype=np.int64)
            looks = {"by size": self.size_looks, "total only": standing()}.get(way)
            chance = judged(spread, oldest) if looks is None else looks
            usual = within_shrub_age(self.profile, self.winter - self.planted[rows])
            before = np.where(self.counted[rows, None] > 0, self.canes[rows], usual)
            before = before + OVERLOOKED * numbers.sum(axis=1, keepdims=True) * usual
            self.canes[rows] = update_ages(before, numbers, chance)
            self.counted[rows] = self.winter
            for row in rows:
                self.known[row] = way

    def _cut(self, told: Winter) -> None:
        """Take the canes cut since the count off the ages they may have had."""
        gone: dict[tuple[str, int], Floats] = {}
        for row, cuts in told.cuts.items():
            for cut, labelled in cuts:
                if cut.why == "dead" and labelled is None:
                    continue  # dead canes were not among the living ones counted
                age = labelled if labelled is not None else cut.age
                way: str = cut.why
                if age is not None:
                    way = "judged" if labelled is None else "known"
                key = (way, 0 if age is None else min(max(age, 1), AGES - 1))
                gone.setdefault(key, np.zeros(len(self.canes)))[row] += cut.canes
        fuzzy = judged(STUB_SPREAD * self.spread)
        for (way, age), number in sorted(gone.items(), key=lambda item: -item[0][1]):
            if way in {"known", "judged"}:
                likely = (
                    fuzzy[:, age] if way == "judged" else (np.arange(AGES) == age).astype(float)
                )
            else:
                likely = (np.arange(AGES) > 1).astype(float)
                likely = likely * 1e3 ** np.arange(AGES) if way == "age" else likely
            self.canes = taken_off(self.canes, number, likely)


def within_shrub_age(profile: Floats, years: Ints) -> Floats:
    """Shares of the ages on shrubs so many years in the ground: hardly a cane is older than they.

    Parameters
    ----------
    profile : (AGES,) shares over all stools
    years : (n,) years since each was set out

    Examples
    --------
    >>> flat = np.full(AGES, 1 / AGES)
    >>> within_shrub_age(flat, np.array([3]))[0, [3, 5, 9]].round(4).tolist()
    [0.2375, 0.0238, 0.0002]
    """
    over = np.arange(AGES) - years[:, None]
    share = np.select([over <= 0, over <= NURSERY_YEARS], [1.0, NURSERY_SHARE], OLDER_STILL)
    likely = profile * share
    return np.asarray(likely / likely.sum(axis=1, keepdims=True))


def taken_off(canes: Floats, number: Floats, likely: Floats) -> Floats:
    """Canes left once so many of each stool are gone, those of a likely age first.

    Parameters
    ----------
    canes : (n, AGES) expected numbers
    number : (n,) canes gone
    likely : (AGES,) how likely one gone was of each age

    Examples
    --------
    >>> stool = np.zeros((1, AGES)); stool[0, [2, 9]] = 3, 1
    >>> taken_off(stool, np.array([1.0]), judged(1.0)[:, 10])[0, [2, 9]].round(2)
    array([3., 0.])
    """
    left, gone = canes.copy(), np.minimum(number, canes.sum(axis=1))
    near = likely / likely.max() + 1e-12 * np.arange(1, AGES + 1)
    for _ in range(8):
        chance = left * near
        share = chance / np.maximum(chance.sum(axis=1, keepdims=True), 1e-300)
        off = np.minimum(left, share * gone[:, None])
        left, gone = left - off, gone - off.sum(axis=1)
    return left


def _way(note: CanesCounted, spread: float) -> tuple[str, float, int | None]:
    """How a count was made: its kind, the spread of ages judged, and the age that means 'older'."""
    if note.by_age is not None:
        shift = 1 if note.seen.month in SUMMER else 0
        oldest = None if note.and_older is None else note.and_older + shift
        return "by age", spread if note.age_spread is None else note.age_spread, oldest
    if note.by_year is not None:
        return "by age", note.age_spread or 0.0, None
    return ("by size" if note.by_size is not None else "total only"), 0.0, None


def _classes(note: CanesCounted, winter: int) -> Ints:
    """Canes of each class of a count, in the order of the columns of its looks."""
    if note.by_age is not None:
        return _by_age(note.by_age, 1 if note.seen.month in SUMMER else 0)
    if note.by_year is not None:
        return _by_age({winter - year: canes for year, canes in note.by_year.items()})
    if note.by_size is not None:
        return np.array([note.by_size.get(size, 0) for size in SIZE_CLASS_MM], dtype=np.int64)
    return np.array([note.standing or 0], dtype=np.int64)


def _by_age(by_age: Mapping[int, int], shift: int = 0) -> Ints:
    canes = np.zeros(AGES, dtype=np.int64)
    for age, number in by_age.items():
        canes[min(max(age + shift, 1), AGES - 1)] += number
    return canes


def _counts(kept: Diary) -> Iterator[tuple[int, CanesCounted]]:
    for winter, told in kept.winters.items():
        for note in told.counts.values():
            yield winter, note


def _profile(kept: Diary, spread: float) -> Floats:
    """Shares of the ages over all counts by age, before anything is known of a stool itself."""
    total = np.zeros(AGES, dtype=np.int64)
    for winter, note in _counts(kept):
        if note.by_age or note.by_year:
            total += _classes(note, winter)
    flat = ((np.arange(AGES) > 0) & (np.arange(AGES) < 10)).astype(np.float64)
    smooth = total @ judged(spread) + 1e-2 * flat
    smooth[10:] += 1e-3
    profile: Floats = smooth / smooth.sum()
    return profile


def _size_shares(kept: Diary) -> Floats:
    total = np.ones(len(SIZE_CLASS_MM))
    for winter, note in _counts(kept):
        if note.by_size:
            total += _classes(note, winter)
    shares: Floats = total / total.sum()
    return shares
