"""Notes of stages as what a clock is fitted on: the last day not yet, the first day reached."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import cast

import numpy as np
from numpy.typing import NDArray

from nuttery.records import RollOut, StageSeen
from nuttery.science.arguments import Floats, Ints
from nuttery.season.planting import Planting

CHAINS: dict[str, tuple[tuple[str, int], ...]] = {
    "catkin": (("catkin_60", 60), ("catkin_65", 65), ("catkin_69", 69)),
    "pistillate flower": (("pistillate_out", 60), ("pistillate_withered", 69)),
    "leaf bud": (("bud_07", 7), ("bud_09", 9), ("leaf_11", 11)),
}
"""Stages of each organ in the order in which they come, with their BBCH numbers."""
BLOOM_STAGES = tuple(stage for chain in CHAINS.values() for stage, _ in chain)
ROLL_OUT = ("roll_out_first", "roll_out_main")
STAGES = (*BLOOM_STAGES, *ROLL_OUT)


@dataclass(frozen=True)
class Sightings:
    """What was seen of the stages of flower and leaf, and of roll-out, up to the planting's day.

    Attributes
    ----------
    years : (y,) years with notes, rising
    seen : (n, y, 8, 2) by shrub in walking order, year and `BLOOM_STAGES`: last day of year on
        which it was not yet so, first on which it was; infinite where that side was not seen
    own : (n, y, 8) looks at that very stage, those that bear on it through another left out
    test_shrub, test_year, test_day : (k,) roll-out tests: shrub, year, day of year
    tried, rolled : (k,) nuts pressed, and of those rolled out of the husk
    """

    years: Ints
    seen: Floats
    own: Ints
    test_shrub: Ints
    test_year: Ints
    test_day: Ints
    tried: Ints
    rolled: Ints

    def of_year(self, year: int) -> Floats:
        """What was seen in one year, (n, 8, 2); all open where there is no note of it."""
        at = np.flatnonzero(self.years == year)
        if at.size:
            return np.asarray(self.seen[:, at[0]], dtype=np.float64)
        return np.full((len(self.seen), len(BLOOM_STAGES), 2), [-np.inf, np.inf])

    def looks(self) -> Ints:
        """Looks at each stage by shrub, roll-out tests for both roll-out stages, (n, 10)."""
        tests = np.bincount(self.test_shrub, minlength=len(self.own))
        return np.column_stack([self.own.sum(axis=1), tests, tests])


def sightings(planting: Planting) -> Sightings:
    """Return what was seen of every stage up to the planting's day.

    A stage reached tells that all earlier ones of the organ were reached; one not yet reached, that
    no later one was. Looks at a stage that contradict each other within a season are left out.
    """
    return planting.remembered("sightings", lambda: _sightings(planting))


def _sightings(planting: Planting) -> Sightings:
    place = {shrub.tag: k for k, shrub in enumerate(planting.shrubs)}
    organs = {organ: k for k, organ in enumerate(CHAINS)}
    looks: list[tuple[int, int, int, int, bool]] = []
    tests: list[tuple[int, int, int, int]] = []
    found = cast("Iterator[StageSeen | RollOut]", planting.notes(StageSeen, RollOut))
    for note in found:
        shrub = place.get(note.shrub or "")
        if shrub is None:
            continue
        day = note.seen.toordinal()
        if isinstance(note, RollOut):
            tests.append((shrub, day, note.tried, note.rolled))
        elif note.organ in organs:
            looks.append((shrub, day, organs[note.organ], note.stage, note.reached))
    shrubs, days, tried, rolled = _columns(tests, 4)
    test_years, test_days = _year_and_day(days)
    years, seen, own = _bounds(_columns(looks, 5), len(place))
    return Sightings(years, seen, own, shrubs, test_years, test_days, tried, rolled)


def _columns(rows: Sequence[tuple[int, ...]], width: int) -> Ints:
    return np.array(rows, dtype=np.int64).reshape(-1, width).T


def _year_and_day(ordinals: Ints) -> tuple[Ints, Ints]:
    """Season and its day of year of Python's day numbers; from November on the next season's."""
    days = (ordinals - 719163).astype("datetime64[D]")  # day 719163 is 1 January 1970
    years = (days.astype("datetime64[M]") + 2).astype("datetime64[Y]")
    doy = (days - years.astype("datetime64[D]")).astype(np.int64) + 1
    return years.astype(np.int64) + 1970, doy


def _bounds(looks: Ints, n: int) -> tuple[Ints, Floats, Ints]:
    """Years, bounds of every stage, and looks at that very stage."""
    shrub, days, organ, number, reached = looks
    year, doy = _year_and_day(days)
    years = np.unique(year)
    column = np.searchsorted(years, year)
    shape = (n, len(years), len(BLOOM_STAGES))
    low, high = np.full(shape, -np.inf), np.full(shape, np.inf)
    own = np.zeros(shape, dtype=np.int64)
    for k, (stage, bbch) in enumerate(
        (stage, bbch) for chain in CHAINS.values() for stage, bbch in chain
    ):
        mine = organ == _organ_of(stage)
        yes = mine & (reached == 1) & (number >= bbch)
        no = mine & (reached == 0) & (number <= bbch)
        np.minimum.at(high[:, :, k], (shrub[yes], column[yes]), doy[yes])
        np.maximum.at(low[:, :, k], (shrub[no], column[no]), doy[no])
        exact = mine & (number == bbch)
        np.add.at(own[:, :, k], (shrub[exact], column[exact]), 1)
    crossed: NDArray[np.bool_] = low >= high
    low[crossed], high[crossed] = -np.inf, np.inf
    return years, np.stack([low, high], axis=-1), own


def _organ_of(stage: str) -> int:
    return next(k for k, chain in enumerate(CHAINS.values()) if stage in dict(chain))


def neighbours(stage: str) -> tuple[str, str] | None:
    """The stages just before and after one in the chain of its organ, if it has both."""
    for chain in CHAINS.values():
        names = [name for name, _ in chain]
        for (before, middle), (_, after) in pairwise(pairwise(names)):
            if middle == stage:
                return before, after
    return None
