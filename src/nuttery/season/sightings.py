"""Notes of stages as what a clock is fitted on: the last day not yet, the first day reached."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import cast

import numpy as np

from nuttery.records import RollOut, StageSeen
from nuttery.science.arguments import Floats, Ints
from nuttery.season.estimate import doy_of
from nuttery.season.planting import Planting

ORDER: dict[str, tuple[str, ...]] = {
    "catkin": ("catkin_60", "catkin_65", "catkin_69"),
    "pistillate flower": ("pistillate_out", "pistillate_withered"),
    "leaf bud": ("bud_07", "bud_09", "leaf_11"),
    "husk": ("roll_out_first", "roll_out_main"),
}
"""Stages of each organ in the order in which they come."""

NAMES: dict[tuple[str, int], str] = {
    ("catkin", 60): "catkin_60",
    ("catkin", 65): "catkin_65",
    ("catkin", 69): "catkin_69",
    ("pistillate flower", 60): "pistillate_out",
    ("pistillate flower", 69): "pistillate_withered",
    ("leaf bud", 7): "bud_07",
    ("leaf bud", 9): "bud_09",
    ("leaf bud", 11): "leaf_11",
}
FIRST_SHARE, MAIN_SHARE = 0.25, 0.5
"""Share of pressed nuts that roll out when the first, and when most, are ripe; common practice."""


@dataclass(frozen=True)
class Sightings:
    """What was seen of one stage, one row a shrub and year.

    Attributes
    ----------
    stage : its name
    shrub : (k,) index in walking order
    year : (k,)
    seen : (k, 2) last day of year on which it was not yet so, first on which it was; infinite where
        that side was not seen
    direct : notes of this very stage, those that only bear on it through another left out
    """

    stage: str
    shrub: Ints
    year: Ints
    seen: Floats
    direct: int

    def __len__(self) -> int:
        """Rows."""
        return len(self.year)


Looks = dict[tuple[str, int, int], list[float]]


def sightings(planting: Planting) -> dict[str, Sightings]:
    """Return what was seen of every stage up to the planting's day.

    A stage reached tells that all earlier ones of the organ were reached; one not yet reached, that
    no later one was. Rows whose looks contradict each other are left out.
    """
    place = {shrub.tag: k for k, shrub in enumerate(planting.shrubs)}
    looks: Looks = {}
    direct: Counter[str] = Counter()
    for note in planting.notes(StageSeen, RollOut):
        if note.shrub not in place:
            continue
        year, doy = note.seen.year, float(doy_of(note.seen, note.seen.year))
        for stage, reached, itself in _told(cast("StageSeen | RollOut", note)):
            direct[stage] += itself
            key = (stage, place[note.shrub], year)
            low, high = looks.setdefault(key, [-np.inf, np.inf])
            looks[key] = [low, min(high, doy)] if reached else [max(low, doy), high]
    return {
        stage: _table(stage, looks, direct[stage]) for chain in ORDER.values() for stage in chain
    }


def _told(note: StageSeen | RollOut) -> Iterable[tuple[str, bool, bool]]:
    """Stages on which a note bears, whether they were reached, and whether it names them."""
    if isinstance(note, RollOut):
        share = note.rolled / note.tried
        yield "roll_out_first", share >= FIRST_SHARE, True
        yield "roll_out_main", share >= MAIN_SHARE, True
        return
    name = NAMES.get((note.organ, note.stage))
    if name is None:
        return
    chain = ORDER[note.organ]
    at = chain.index(name)
    for stage in chain[: at + 1] if note.reached else chain[at:]:
        yield stage, note.reached, stage == name


def _table(stage: str, looks: Looks, direct: int) -> Sightings:
    rows = [
        (shrub, year, low, high)
        for (name, shrub, year), (low, high) in looks.items()
        if name == stage and low < high
    ]
    shrub, year, low, high = zip(*rows, strict=True) if rows else ((), (), (), ())
    return Sightings(
        stage,
        np.array(shrub, dtype=np.int64),
        np.array(year, dtype=np.int64),
        np.column_stack([np.array(low, dtype=float), np.array(high, dtype=float)]),
        direct,
    )
