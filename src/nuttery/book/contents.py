"""What stands in the season book, as plain values for the typesetter."""

from collections import Counter
from typing import Any

from nuttery.figures.planting_map import Mark, Place, planting_map
from nuttery.season import SUBJECTS, Line, day_told, span_told
from nuttery.season.cards import Card, cards, window_words
from nuttery.season.plan import SeasonPlan, season_plan
from nuttery.season.planting import Planting

HEADINGS = {
    "frost": "Frost watch",
    "picking": "Picking",
    "drying": "Drying",
    "bloom": "Flowers to look at",
    "pollen": "Pollen",
    "canes": "Canes",
    "counting": "Counting for next year",
    "weather": "Weather record",
    "notes": "Notes that would sharpen the answers",
}
OF_ITS_OWN = 12
"""A line that names more shrubs stands in the plan and not on each one's card."""
LARGEST_WITH_CARDS = 600
"""Above so many shrubs, cards are printed only for the shrubs that the plan names."""


def book_contents(planting: Planting, *, ahead: int) -> dict[str, Any]:
    """Return the season book of a planting as plain values.

    Parameters
    ----------
    planting : the planting as of a day
    ahead : days to look ahead
    """
    plan = season_plan(planting, ahead=ahead)
    told = cards(planting, plan.lines)
    if len(told) > LARGEST_WITH_CARDS:
        told = tuple(card for card in told if card.work)
    on = plan.on
    return {
        "title": f"{plan.planting}: season book",
        "year": on.year,
        "month": on.month,
        "day": on.day,
        "paper": "us-letter" if planting.about.units == "US" else "a4",
        "span": f"{span_told(on, plan.until)} {plan.until.year}",
        "footer": f"{plan.planting}, as known on {on.day} {on:%B %Y}",
        "invented": plan.invented,
        "opening": _opening(plan, planting),
        "map": planting_map(_places(planting, plan), title=plan.planting, legend=LEGEND, width=560),
        "map_alt": f"Plan of {plan.planting}: shrubs with work in these weeks are squares",
        "left_out": list(plan.left_out),
        "subjects": [_subject(planting, plan, subject) for subject in SUBJECTS if plan.of(subject)],
        "cards": [_card(card) for card in told],
    }


LEGEND: tuple[tuple[Mark, float | None, str], ...] = (
    ("square", 0.9, "work in these weeks, the lighter the more of it"),
    ("round", None, "nothing presses"),
)


def _opening(plan: SeasonPlan, planting: Planting) -> list[str]:
    count = len(plan.lines)
    first = (
        f"{len(planting.shrubs)} shrubs stand. {count} things ask for a hand between "
        f"{day_told(plan.on)} and {day_told(plan.until)}, told by subject and then row by row."
    )
    how = (
        "Days stand with the span in which they fall four times in five. "
        "Tick what is done, and write it down: each note moves the next plan."
    )
    return [first, how]


def _places(planting: Planting, plan: SeasonPlan) -> list[Place]:
    busy: dict[str, int] = {}
    for line in plan.lines:
        if line.subject not in {"notes", "weather"}:
            for tag in line.shrubs:
                busy[tag] = busy.get(tag, 0) + 1
    most = max(busy.values(), default=1)
    return [
        Place(
            shrub.tag,
            shrub.x,
            shrub.y,
            0.35 + 0.6 * busy[shrub.tag] / most if shrub.tag in busy else None,
            "square" if shrub.tag in busy else "round",
        )
        for shrub in planting.shrubs
        if shrub.x is not None and shrub.y is not None
    ]


def _subject(planting: Planting, plan: SeasonPlan, subject: Any) -> dict[str, Any]:  # noqa: ANN401 - a Subject
    lines = plan.of(subject)
    waits = Counter(line.waits for line in lines if line.waits)
    shared = [words for words, number in waits.items() if number > 1]
    groups: dict[str, list[dict[str, str]]] = {}
    for line in lines:
        told = _line(line, waits=line.waits not in shared)
        groups.setdefault(_row_name(planting, line), []).append(told)
    return {
        "heading": HEADINGS[subject],
        "shared": shared,
        "cautions": list(dict.fromkeys(line.caution for line in lines if line.caution)),
        "groups": [{"name": name, "lines": told} for name, told in groups.items()],
    }


def _row_name(planting: Planting, line: Line) -> str:
    rows = {planting.by_tag[tag].row for tag in line.shrubs if tag in planting.by_tag}
    if len(rows) != 1 or None in rows:
        return "The whole planting" if not line.shrubs else "Several rows"
    return f"Row {next(iter(rows))}"


def _line(line: Line, *, waits: bool) -> dict[str, str]:
    where = ", ".join(line.shrubs[:4]) + (" ..." if len(line.shrubs) > 4 else "")
    why = f"{line.why} ({line.sure}{': ' + line.sure_why if line.sure_why else ''})."
    if line.waits and waits:
        why += f" If it waits: {line.waits}."
    return {"where": where, "act": line.act, "why": why, "window": span_told(line.first, line.last)}


def _card(card: Card) -> dict[str, Any]:
    place = f"row {card.row}, number {card.number}" if card.row is not None else ""
    return {
        "tag": card.tag,
        "place": place,
        "lineage": card.lineage,
        "canes": _canes(card),
        "stool": None,
        "windows": [window_words(label, window) for label, window in card.windows],
        "facts": [],
        "work": [
            {"act": line.act, "window": span_told(line.first, line.last)}
            for line in card.work
            if line.subject != "notes" and len(line.shrubs) <= OF_ITS_OWN
        ],
        "told": [{"seen": day_told(day), "words": said} for day, said in card.told],
    }


def _canes(card: Card) -> str:
    if card.canes is None:
        return "never counted"
    total = sum(card.canes.values())
    ages = ", ".join(f"{number} of age {age}" for age, number in card.canes.items())
    return f"{total} stand, counted in winter {card.canes_from}: {ages or 'none'}"
