"""One card a shrub: what a person wants to know standing in front of it."""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import TypeVar

from nuttery.records import Note
from nuttery.season.bloom import BloomOutlook, bloom
from nuttery.season.cane_words import age_told
from nuttery.season.canes import canes
from nuttery.season.card_facts import card_facts
from nuttery.season.errors import NotEnoughKnown
from nuttery.season.estimate import Window, day_told, span_told
from nuttery.season.line import Line
from nuttery.season.planting import Planting
from nuttery.season.stool_view import StoolView, stool_view
from nuttery.season.stools import stools
from nuttery.season.telling import words
from nuttery.season.words import plural

Answer = TypeVar("Answer")

LAST_NOTES = 3
LABELS = {
    "pistillate_out": "stigmas out",
    "catkin_60": "first pollen",
    "catkin_65": "half shedding",
    "catkin_69": "shedding over",
    "bud_07": "bud break",
    "leaf_11": "first leaves",
    "roll_out_first": "first nuts roll out",
    "roll_out_main": "half roll out",
}
"""Stages told on a card, in the order of the season."""


@dataclass(frozen=True)
class Card:
    """What is told of one shrub.

    Attributes
    ----------
    tag, row, number : its name and place
    lineage : where it comes from, in words
    canes : what stands this winter by age, and the count it rests on, in words
    facts : (what, words): its crop, its pollen, its bearing canes to come
    stool : seen from above; None if never counted
    windows : (label, window) of the stages to come or just past
    work : lines of the season plan that name the shrub
    told : (day, words) of its last notes
    """

    tag: str
    row: int | None
    number: int | None
    lineage: str
    canes: str
    facts: tuple[tuple[str, str], ...]
    stool: StoolView | None
    windows: tuple[tuple[str, Window], ...]
    work: tuple[Line, ...]
    told: tuple[tuple[date, str], ...]


def cards(planting: Planting, plan: tuple[Line, ...]) -> tuple[Card, ...]:
    """Return a card for every standing shrub, in walking order.

    Parameters
    ----------
    planting : the planting as of a day
    plan : lines of the season plan
    """
    outlook = _or_none(bloom, planting)
    notes = _last_notes(planting)
    seen, facts = _stools_seen(planting), card_facts(planting)
    work: dict[str, list[Line]] = {}
    for line in plan:
        for tag in line.shrubs:
            work.setdefault(tag, []).append(line)
    return tuple(
        Card(
            tag=shrub.tag,
            row=shrub.row,
            number=shrub.number,
            lineage=lineage(shrub),
            canes=_canes(seen.get(shrub.tag)),
            facts=facts[k],
            stool=seen.get(shrub.tag),
            windows=_windows(outlook, k),
            work=tuple(work.get(shrub.tag, ())),
            told=tuple(notes.get(shrub.tag, ())),
        )
        for k, shrub in enumerate(planting.shrubs)
    )


def lineage(shrub: object) -> str:
    """Where a shrub comes from, in a few words."""
    copy_of, lot = getattr(shrub, "copy_of", None), getattr(shrub, "seed_lot", None)
    mother, fathers = getattr(shrub, "mother", None), getattr(shrub, "fathers", ())
    if copy_of:
        return f"layer of {copy_of}"
    parents = f"{mother or 'mother unknown'} × {' or '.join(fathers) or 'unknown'}"
    return f"{lot}: {parents}" if lot else parents


def _or_none(question: Callable[[Planting], Answer], planting: Planting) -> Answer | None:
    try:
        return question(planting)
    except NotEnoughKnown:
        return None  # the plan tells what is lacking; cards then leave it out


def _stools_seen(planting: Planting) -> dict[str, StoolView]:
    plan = _or_none(canes, planting)
    if plan is None:
        return {}
    known = stools(planting)
    found = (stool_view(planting, tag, known, plan) for tag in known.tags)
    return {stool.tag: stool for stool in found if stool is not None}


def _canes(stool: StoolView | None) -> str:
    """What stands, from the oldest: "9 stand: 2 of 10, 3 of 6, 4 suckers; counted this winter"."""
    if stool is None:
        return "never counted"
    ages = Counter(cane.age for cane in stool.canes)
    parts = [f"{number} of {age_told(age)}" for age, number in ages.items() if age > 1]
    parts += [plural(ages[1], "sucker")] if ages[1] else []
    when = "this winter" if stool.counted == stool.winter else f"in winter {stool.counted}"
    return f"{len(stool.canes)} stand{': ' * bool(parts)}{', '.join(parts)}; counted {when}"


def _windows(outlook: BloomOutlook | None, k: int) -> tuple[tuple[str, Window], ...]:
    if outlook is None:
        return ()
    windows = ((label, outlook.window(stage, k)) for stage, label in LABELS.items())
    return tuple((label, window) for label, window in windows if window is not None)


def _last_notes(planting: Planting) -> dict[str, list[tuple[date, str]]]:
    since = planting.on.replace(year=planting.on.year - 1, day=min(planting.on.day, 28))
    found: dict[str, list[tuple[date, str]]] = {}
    note: Note
    for note in planting.notes(since=since):
        if note.shrub is not None:
            mine = found.setdefault(note.shrub, [])
            mine.append((note.seen, words(note, planting.about.units)))
            del mine[:-LAST_NOTES]
    return found


def window_words(label: str, window: Window) -> str:
    """One window in words: past ones say so.

    Examples
    --------
    >>> day = date(2026, 4, 2)
    >>> window_words("first pollen", Window(day, day, day, chance_past=1.0))
    'first pollen: past (about 2 Apr)'
    """
    if window.chance_past > 0.95:
        return f"{label}: past (about {day_told(window.median)})"
    return f"{label}: {day_told(window.median)} ({span_told(window.low, window.high)})"
