"""Thresholds of frost as the grower's notes of harm move them, each at its stage on that night."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from nuttery.records import FrostHarm
from nuttery.science.arguments import Floats
from nuttery.science.bloom import StageDates
from nuttery.science.weather import Threshold, frost_thresholds, learn_thresholds
from nuttery.season.bloom_draws import season_draws
from nuttery.season.errors import NotEnoughKnown
from nuttery.season.estimate import doy_of
from nuttery.season.past_bloom import retold
from nuttery.season.planting import Planting
from nuttery.season.weather import Record, record, season_year

ORGANS = {
    "catkin": "catkin",
    "pistillate flower": "pistillate flower",
    "leaf bud": "shoot",
    "green shoot": "shoot",
}
ELONGATING_DAYS = 10
"""Days for which catkins elongate before first pollen; common practice."""
LOOK_BACK = 10
"""Days before a note of harm within which its night is looked for on record; assumed."""
SURE = 0.5
"""Chance of the likeliest stage below which a note without one is left out."""
STEPS: dict[str, tuple[tuple[str, float, int], ...]] = {
    "catkin": (("catkin_60", -ELONGATING_DAYS, 51), ("catkin_60", 0, 60), ("catkin_69", 0, 70)),
    "pistillate flower": (("pistillate_out", 0, 60), ("pistillate_withered", 0, 70)),
    "shoot": (("bud_07", 0, 7), ("leaf_11", 0, 11)),
}
"""Forecast stage, days to add to it, and the BBCH stage that an organ has from then on."""


@dataclass(frozen=True)
class Harm:
    """A note of harm with its stage.

    Attributes
    ----------
    organ : as thresholds name it
    stage : BBCH
    lowest : °C
    share : lost
    reckoned : whether the stage is the clock's, as the note had none
    """

    organ: str
    stage: int
    lowest: float
    share: float
    reckoned: bool = False


def thresholds(planting: Planting) -> tuple[Threshold, ...]:
    """Thresholds as shipped, moved by the grower's own notes of harm."""
    notes = [note for note in planting.notes(FrostHarm) if _tells(note)]
    if not notes:
        return frost_thresholds()
    return planting.remembered("frost thresholds", lambda: _learned(planting, notes))


def _tells(note: FrostHarm) -> bool:
    return note.organ in ORGANS and note.lowest is not None


def _learned(planting: Planting, notes: Sequence[FrostHarm]) -> tuple[Threshold, ...]:
    harms = harms_told(planting, notes)
    found = learn_thresholds(
        frost_thresholds(),
        [harm.organ for harm in harms],
        [harm.stage for harm in harms],
        [harm.lowest for harm in harms],
        [harm.share for harm in harms],
    )
    return tuple(_with_stages(one, harms) for one in found)


def _with_stages(threshold: Threshold, harms: Sequence[Harm]) -> Threshold:
    """The same, saying how many of its notes had no stage of their own."""
    mine = sum(
        harm.reckoned
        and harm.organ == threshold.organ
        and threshold.first_bbch <= harm.stage <= threshold.last_bbch
        for harm in harms
    )
    if not mine:
        return threshold
    told = f"{threshold.source}; the stage of {mine} of these notes is inferred from the clock"
    return replace(threshold, source=told)


def harms_told(planting: Planting, notes: Sequence[FrostHarm]) -> list[Harm]:
    """Notes of harm with their stages, from the clock where a note has none.

    Left out are notes without a stage whose likeliest one has less than an even chance, and those
    of seasons without weather on record.
    """
    found = [
        Harm(ORGANS[note.organ], note.stage, float(note.lowest or 0.0), note.harmed)
        for note in notes
        if note.stage is not None
    ]
    return found + _reckoned(planting, [note for note in notes if note.stage is None])


def _reckoned(planting: Planting, notes: Sequence[FrostHarm]) -> list[Harm]:
    """Harm with the stage that the clock gives each shrub on its night."""
    place = {shrub.tag: k for k, shrub in enumerate(planting.shrubs)}
    mine = [note for note in notes if note.shrub in place]
    if not mine:
        return []
    rows = sorted({place[str(note.shrub)] for note in mine})
    dates = _dates(planting, {season_year(note.seen) for note in mine}, np.array(rows))
    if not dates:
        return []
    known, found = record(planting), []
    for note in mine:
        year = season_year(note.seen)
        if year not in dates:
            continue
        row = rows.index(place[str(note.shrub)])
        stage, chance = _likeliest(dates[year], row, ORGANS[note.organ], _night(known, note))
        if chance >= SURE:
            lowest = float(note.lowest or 0.0)
            found.append(Harm(ORGANS[note.organ], stage, lowest, note.harmed, reckoned=True))
    return found


def _dates(planting: Planting, years: set[int], rows: np.ndarray) -> dict[int, StageDates]:
    """Draws of the stages of some shrubs by season, seasons without weather left out."""
    now = season_year(planting.on)
    try:
        found = dict(retold(planting, years - {now}, rows))
        if now in years:
            whole = season_draws(planting).dates
            found[now] = StageDates(whole.stages, whole.draws[rows], whole.last_doy)
    except NotEnoughKnown:
        return {}
    return found


def _night(known: Record, note: FrostHarm) -> int:
    """Day of year of the night before a note whose lowest on record is nearest to the one noted.

    Without a record it is the note's own day.
    """
    last = np.datetime64(note.seen)
    inside = (known.dates > last - LOOK_BACK) & (known.dates <= last) & ~np.isnan(known.tmin)
    day = note.seen
    if inside.any():
        off = np.abs(known.tmin[inside] - float(note.lowest or 0.0))
        day = known.dates[inside][int(np.argmin(off))].astype("datetime64[D]").item()
    return doy_of(day, season_year(note.seen))


def _likeliest(dates: StageDates, row: int, organ: str, day: int) -> tuple[int, float]:
    """Likeliest stage of an organ on a day, and its chance."""
    reached = np.zeros(dates.draws.shape[2], dtype=np.int64)
    for stage, shift, number in STEPS[organ]:
        days: Floats = dates.of(stage)[row].astype(np.float64) + shift
        reached = np.where(days <= day, number, reached)
    (stage_now, times), *_ = Counter(reached.tolist()).most_common(1)
    return int(stage_now), times / reached.size
