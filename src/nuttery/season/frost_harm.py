"""Thresholds of frost as the grower's notes of harm move them, each at its stage on that night."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

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
    night : the day whose night it is
    stage : BBCH
    lowest : °C
    share : lost
    reckoned : whether the stage is the clock's, as the note had none
    """

    organ: str
    night: date
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
        nights=[harm.night for harm in harms],
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
    """Notes of harm with their nights, and with their stages, from the clock where one has none.

    Left out are notes without a stage whose likeliest one has less than an even chance, and those
    of seasons without weather on record.
    """
    nights = _nights(planting, notes)
    found = [
        _harm(note, night, note.stage)
        for note, night in zip(notes, nights, strict=True)
        if note.stage is not None
    ]
    bare = [pair for pair in zip(notes, nights, strict=True) if pair[0].stage is None]
    return found + _reckoned(planting, bare)


def _harm(note: FrostHarm, night: date, stage: int, *, reckoned: bool = False) -> Harm:
    return Harm(
        ORGANS[note.organ], night, stage, float(note.lowest or 0.0), note.harmed, reckoned=reckoned
    )


def _reckoned(planting: Planting, notes: Sequence[tuple[FrostHarm, date]]) -> list[Harm]:
    """Harm with the stage that the clock gives each shrub on its night."""
    place = {shrub.tag: k for k, shrub in enumerate(planting.shrubs)}
    mine = [pair for pair in notes if pair[0].shrub in place]
    if not mine:
        return []
    rows = sorted({place[str(note.shrub)] for note, _ in mine})
    row_of = {row: k for k, row in enumerate(rows)}
    dates = _dates(planting, {season_year(note.seen) for note, _ in mine}, np.array(rows))
    found = []
    for note, night in mine:
        year = season_year(note.seen)
        if year not in dates:
            continue
        row = row_of[place[str(note.shrub)]]
        day = doy_of(night, year)
        stage, chance = _likeliest(dates[year], row, ORGANS[note.organ], day)
        if chance >= SURE:
            found.append(_harm(note, night, stage, reckoned=True))
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


def _nights(planting: Planting, notes: Sequence[FrostHarm]) -> list[date]:
    """Night before each note whose lowest on record is nearest to the one noted.

    Without a record it is the note's own day.
    """
    try:
        known = record(planting)
    except NotEnoughKnown:
        return [note.seen for note in notes]
    return [_night(known, note) for note in notes]


def _night(known: Record, note: FrostHarm) -> date:
    last = np.datetime64(note.seen)
    inside = (known.dates > last - LOOK_BACK) & (known.dates <= last) & ~np.isnan(known.tmin)
    if not inside.any():
        return note.seen
    off = np.abs(known.tmin[inside] - float(note.lowest or 0.0))
    found: date = known.dates[inside][int(np.argmin(off))].astype("datetime64[D]").item()
    return found


def _likeliest(dates: StageDates, row: int, organ: str, day: int) -> tuple[int, float]:
    """Likeliest stage of an organ on a day, and its chance."""
    reached = np.zeros(dates.draws.shape[2], dtype=np.int64)
    for stage, shift, number in STEPS[organ]:
        days: Floats = dates.of(stage)[row].astype(np.float64) + shift
        reached = np.where(days <= day, number, reached)
    (stage_now, times), *_ = Counter(reached.tolist()).most_common(1)
    return int(stage_now), times / reached.size
