"""What a phone carries into the row: every shrub in walking order, what to note, what was seen."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from nuttery.records import CrossMade, Note
from nuttery.season.line import Line
from nuttery.season.planting import Planting
from nuttery.season.sightings import CHAINS
from nuttery.season.telling import words

LAST_NOTES = 3
_PICKED = {"form": "in shell", "state": "fresh"}
Filled = tuple[tuple[str, dict[str, Any]], ...]
_STAGES: dict[str, Filled] = {
    f"bloom:{name}": (("stage_seen", {"organ": organ, "stage": stage}),)
    for organ, chain in CHAINS.items()
    for name, stage in chain
}
WANTED: dict[str, Filled] = _STAGES | {
    "bloom": (("stage_seen", {}),),
    "pollen:short": (("cross_made", {}),),
    "picking:test": (("roll_out", {}),),
    "picking": (("picking", _PICKED), ("roll_out", {})),
    "canes:saw": (("canes_cut", {}), ("suckers_kept", {})),
    "canes:suckers": (("suckers_kept", {}),),
    "counting:catkins": (("catkins_scored", {"twigs": 10}),),
    "notes:canes": (("canes_counted", {}),),
    "notes:stages": (("stage_seen", {}),),
    "notes:pickings": (("picking", _PICKED),),
    "notes:parents": (("parents_known", {}),),
}
"""Kinds of note that a line of the plan asks for, with what is filled in already, by the start of
the line's key; the longest start that fits counts."""


@dataclass(frozen=True)
class Wanted:
    """A note that the plan wants of a shrub: its kind, what is filled in, and why."""

    kind: str
    filled: dict[str, Any]
    why: str


@dataclass(frozen=True)
class LastSeen:
    """One of the last notes of a shrub; `id` lets it be taken back or referred to."""

    id: str
    kind: str
    seen: date
    words: str


@dataclass(frozen=True)
class Stop:
    """One shrub of the round.

    Attributes
    ----------
    tag, row, number : its name and place
    x, y : metres east and north of the planting's origin
    lines : places in `Round.lines` of the lines that name it
    wanted : notes wanted of it now, the most pressing first
    last : its last notes, the newest last
    """

    tag: str
    row: int | None
    number: int | None
    x: float | None
    y: float | None
    lines: tuple[int, ...]
    wanted: tuple[Wanted, ...]
    last: tuple[LastSeen, ...]


@dataclass(frozen=True)
class Round:
    """The planting as a phone carries it.

    Attributes
    ----------
    planting : its name; `units` in which it is told; its origin in degrees; its time zone
    on : the day of the plan
    version : rises when notes are added; a phone that has this one needs no other
    lines : the plan's lines
    stops : every standing shrub, in walking order
    crosses : crosses made in the last year, as (id, shrub, words)
    """

    planting: str
    invented: bool
    units: str
    latitude: float
    longitude: float
    time_zone: str
    on: date
    version: int
    lines: tuple[Line, ...]
    stops: tuple[Stop, ...]
    crosses: tuple[tuple[str, str, str], ...]


def todays_round(planting: Planting, lines: tuple[Line, ...]) -> Round:
    """Return what a phone carries into the row.

    Parameters
    ----------
    planting : the planting as of a day
    lines : lines of its season plan
    """
    last = _last_notes(planting)
    named: dict[str, list[int]] = {}
    for k, line in enumerate(lines):
        for tag in line.shrubs:
            named.setdefault(tag, []).append(k)
    about = planting.about
    return Round(
        planting=about.name,
        invented=about.invented,
        units=about.units,
        latitude=about.latitude,
        longitude=about.longitude,
        time_zone=about.time_zone,
        on=planting.on,
        version=planting.register.version(about.planting),
        lines=lines,
        stops=tuple(
            Stop(
                tag=shrub.tag,
                row=shrub.row,
                number=shrub.number,
                x=shrub.x,
                y=shrub.y,
                lines=tuple(named.get(shrub.tag, ())),
                wanted=_wanted(lines[k] for k in named.get(shrub.tag, ())),
                last=tuple(last.get(shrub.tag, ())),
            )
            for shrub in planting.shrubs
        ),
        crosses=_crosses(planting),
    )


def _wanted(lines: Iterable[Line]) -> tuple[Wanted, ...]:
    """Kinds that the lines ask for, each once, in the order of the lines."""
    found: dict[str, Wanted] = {}
    for line in lines:
        for kind, filled in kinds_for(line.key):
            found.setdefault(kind, Wanted(kind, filled, line.act))
    return tuple(found.values())


def kinds_for(key: str) -> tuple[tuple[str, dict[str, Any]], ...]:
    """Kinds of note that a line of the plan asks for, by its key.

    Examples
    --------
    >>> kinds_for("counting:catkins:3")
    (('catkins_scored', {'twigs': 10}),)
    >>> kinds_for("bloom:pistillate_out")
    (('stage_seen', {'organ': 'pistillate flower', 'stage': 60}),)
    >>> kinds_for("weather:behind")
    ()
    """
    starts = [start for start in WANTED if key == start or key.startswith(f"{start}:")]
    return WANTED[max(starts, key=len)] if starts else ()


def _last_notes(planting: Planting) -> dict[str, list[LastSeen]]:
    found: dict[str, list[LastSeen]] = {}
    note: Note
    for note in planting.notes(since=planting.on - timedelta(days=500)):
        if note.shrub is not None:
            mine = found.setdefault(note.shrub, [])
            told = words(note, planting.about.units)
            mine.append(LastSeen(str(note.id), note.kind, note.seen, told))
            del mine[:-LAST_NOTES]
    return found


def _crosses(planting: Planting) -> tuple[tuple[str, str, str], ...]:
    crosses = planting.notes(CrossMade, since=planting.on - timedelta(days=366))
    return tuple(
        (str(n.id), n.shrub or "", f"{n.seen}: pollen of {n.pollen_from}") for n in crosses
    )
