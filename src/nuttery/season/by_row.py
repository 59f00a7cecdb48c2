"""The season plan as it is told: subject by subject, row by row, what lines share said once."""

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

from nuttery.season.estimate import day_told, span_told
from nuttery.season.line import SUBJECTS, Line, Subject
from nuttery.season.plan import SeasonPlan

HEADINGS: dict[str, str] = {
    "frost": "Frost",
    "picking": "Picking",
    "drying": "Drying",
    "bloom": "Flowers and leaves to look at",
    "pollen": "Pollen",
    "canes": "Canes",
    "counting": "Counting for the crop",
    "weather": "Weather record",
    "notes": "Notes that would sharpen the answers",
}
SHORT: dict[str, str] = {
    "frost": "Frost",
    "picking": "Picking",
    "drying": "Drying",
    "bloom": "Flowers",
    "pollen": "Pollen",
    "canes": "Canes",
    "counting": "Counting",
    "weather": "Weather",
    "notes": "Notes",
}
NAMED = 6
"""Shrubs that are named before what is to be done with them; more are listed below it."""
LISTED = 40
"""Most shrubs that are listed below a line; of more, the rows are told."""
NEARLY_ALL = 0.9
USUAL = 3
"""Lines that must say the same for it to be said once above them, and a third of all lines."""


@dataclass(frozen=True)
class Said:
    """One line as it stands under its heading.

    Attributes
    ----------
    line : what it was made from
    where : shrubs, rows or "all"; "" where it is about no shrub, or the act or the walk tells them
    when : window; "" where it is the usual one
    why : reason, certainty where it is not the usual one, and what happens if only this one waits
    tags : shrubs listed below it, in walking order
    """

    line: Line
    where: str
    when: str
    why: str
    tags: tuple[str, ...]


@dataclass(frozen=True)
class Walk:
    """The lines of one row, in walking order; without a name, those that span several rows."""

    name: str
    lines: tuple[Said, ...]


@dataclass(frozen=True)
class Part:
    """All that is told about one subject.

    Attributes
    ----------
    subject, heading : which
    usual : window and certainty of every line that says nothing else, or ""
    walks : what spans rows first, then row by row
    waits : what happens if it waits, of all lines that share it, or ""
    cautions : each once
    left : lines that are not shown
    """

    subject: Subject
    heading: str
    usual: str
    walks: tuple[Walk, ...]
    waits: str
    cautions: tuple[str, ...]
    left: int


def by_row(plan: SeasonPlan, *, most: int | None = None) -> tuple[Part, ...]:
    """Return the plan as it is told.

    Parameters
    ----------
    plan : the season plan
    most : lines of a subject to show, those on which most hangs; all of them by default
    """
    found = []
    for subject in SUBJECTS:
        lines = plan.of(subject)
        if lines:
            shown = lines if most is None else weightiest(lines, most)
            found.append(_part(plan, subject, shown, len(lines) - len(shown)))
    return tuple(found)


def weightiest(lines: tuple[Line, ...], most: int) -> tuple[Line, ...]:
    """The lines on which most hangs, in the order of the plan."""
    best = {line.key for line in sorted(lines, key=lambda line: -line.weight)[:most]}
    return tuple(line for line in lines if line.key in best)


def when_told(line: Line, on: date) -> str:
    """Window of a line: the days, or up to when if it is open already.

    Examples
    --------
    >>> pick = Line("p", "picking", "Pick", date(2026, 9, 7), date(2026, 9, 9), "ripe")
    >>> when_told(pick, date(2026, 9, 1)), when_told(pick, date(2026, 9, 8))
    ('7–9 Sep', 'until 9 Sep')
    """
    if line.first <= on < line.last:
        return f"until {day_told(line.last)}"
    return "today" if line.first <= on else span_told(line.first, line.last)


def _part(plan: SeasonPlan, subject: Subject, lines: tuple[Line, ...], left: int) -> Part:
    when = _usual(lines, lambda line: when_told(line, plan.on))
    sure = _usual(lines, _sure)
    waits = Counter(line.waits for line in lines if line.waits)
    shared = [words for words, number in waits.items() if number > 1 or len(waits) == 1]
    rows: dict[str, list[Said]] = {}
    for line in lines:
        told = when_told(line, plan.on)
        why = [_sentence(line.why)]
        why += [_sentence(_sure(line))] if _sure(line) != sure else []
        why += [f"If it waits: {line.waits}."] if line.waits and line.waits not in shared else []
        row = "" if line.row is None else f"Row {line.row}"
        where, tags = _where(line, plan.standing)
        said = Said(
            line, "" if where == row else where, "" if told == when else told, " ".join(why), tags
        )
        rows.setdefault(row, []).append(said)
    return Part(
        subject=subject,
        heading=HEADINGS[subject],
        usual=_usually(when, sure),
        walks=tuple(Walk(name, tuple(said)) for name, said in rows.items()),
        waits=_sentence("; ".join(shared)),
        cautions=tuple(dict.fromkeys(line.caution for line in lines if line.caution)),
        left=left,
    )


def _usual(lines: Sequence[Line], tell: Callable[[Line], str]) -> str:
    """What the most of several lines say; "" where there is no such thing."""
    words, number = Counter(tell(line) for line in lines).most_common(1)[0]
    return words if number >= max(USUAL, len(lines) / 3) else ""


def _usually(when: str, sure: str) -> str:
    told = _sentence("; ".join(filter(None, (when, sure))))
    return f"Unless a line says otherwise: {told[:1].lower()}{told[1:]}" if told else ""


def _sure(line: Line) -> str:
    return f"{line.sure}: {line.sure_why}" if line.sure_why else line.sure


def _sentence(words: str) -> str:
    """Words with a capital and a full stop; tags and numbers stay as they are."""
    return f"{words[:1].upper()}{words[1:]}." if words else ""


def _where(line: Line, standing: int) -> tuple[str, tuple[str, ...]]:
    """Where a line's work lies, and the shrubs to list below it."""
    tags = line.shrubs
    if len(tags) <= NAMED:
        return ", ".join(tags), ()
    if len(tags) > NEARLY_ALL * standing:
        return "all", ()
    where = "" if line.place in line.act else line.place[:1].upper() + line.place[1:]
    return where, tags if len(tags) <= LISTED else ()
