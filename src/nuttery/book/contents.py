"""What stands in the season book, as plain values for the typesetter."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np

from nuttery.figures.bloom_calendar import PAGE_WIDTH
from nuttery.figures.cane_years import ages_ahead_chart
from nuttery.figures.chart import Chart
from nuttery.figures.crop_ahead import ahead_chart
from nuttery.figures.planting_map import Mark, Place, planting_map
from nuttery.figures.season_charts import calendar_of
from nuttery.figures.season_days import season_days_chart
from nuttery.figures.stool import stool_key, stool_on_card
from nuttery.season import NotEnoughKnown, day_told, span_told
from nuttery.season.bloom import BloomOutlook, bloom
from nuttery.season.by_row import Part, Said, by_row, when_told
from nuttery.season.canes import canes
from nuttery.season.cards import Card, cards, window_words
from nuttery.season.estimate import doy_of
from nuttery.season.frost import frost_nights
from nuttery.season.outlook import outlook
from nuttery.season.plan import SeasonPlan, season_plan
from nuttery.season.planting import Planting

OF_ITS_OWN = 12
"""A line that names more shrubs stands in the plan and not on each one's card."""
BY_NAME = 30
"""A line that names more shrubs is no work on each one, and does not mark them on the plan."""
ON_A_PAGE = 42
"""Shrubs whose calendar fits on a page."""
LARGEST_WITH_CARDS = 600
"""Above so many shrubs, cards are printed only for the shrubs that the plan names, and flowers are
told for the planting as a whole."""


def book_contents(
    planting: Planting, *, ahead: int, progress: Callable[[str], None] = lambda _: None
) -> dict[str, Any]:
    """Return the season book of a planting as plain values.

    Parameters
    ----------
    planting : the planting as of a day
    ahead : days to look ahead
    progress : told what is worked out as it starts
    """
    plan = season_plan(planting, ahead=ahead, progress=progress)
    progress("the cards of the shrubs")
    told = cards(planting, plan.lines)
    progress("the flowers")
    flowers = _flowers(planting)
    progress("the years ahead")
    charts = _charts(planting)
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
        "subjects": [_subject(part) for part in by_row(plan)],
        "flowers": [_chart(chart) for chart in flowers],
        "charts": [_chart(chart) for chart in charts],
        "key": stool_key(),
        "cards": [_card(card, plan) for card in told],
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
        if line.subject not in {"notes", "weather"} and len(line.shrubs) <= BY_NAME:
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


def _flowers(planting: Planting) -> list[Chart]:
    """The season stage by stage and each shrub's bloom, while some of it is still to come."""
    try:
        season, frosts = bloom(planting), frost_nights(planting)
    except NotEnoughKnown:
        return []  # the plan tells what is lacking
    if not _still_to_come(season):
        return []
    charts = [season_days_chart(season)]
    many = len(season.tags)
    if many <= LARGEST_WITH_CARDS:
        for first in range(0, many, ON_A_PAGE):
            rows = range(first, min(first + ON_A_PAGE, many))
            chart = calendar_of(season, rows, frosts, width=PAGE_WIDTH)
            title = f"Bloom of {season.tags[rows[0]]} to {season.tags[rows[-1]]}, in walking order"
            charts.append(replace(chart, title=title))
    return charts


def _still_to_come(season: BloomOutlook) -> bool:
    last = [season.of(stage).high for stage in ("catkin_69", "pistillate_withered")]
    return bool((np.array(last) >= doy_of(season.on, season.year)).any())


def _charts(planting: Planting) -> tuple[Chart, ...]:
    """The ages of the canes and the crop ahead, where stools were counted."""
    try:
        plan, ahead = canes(planting), outlook(planting)
    except NotEnoughKnown:
        return ()  # the plan tells what is lacking
    young = int(planting.value("canes.bearing_from").value)
    return ages_ahead_chart(plan, bearing_from=young), ahead_chart(ahead, planting.about.units)


def _chart(chart: Chart) -> dict[str, str]:
    return {"title": chart.title, "picture": chart.picture, "told": chart.told}


def _subject(part: Part) -> dict[str, Any]:
    return {
        "heading": part.heading,
        "usual": part.usual,
        "waits": part.waits,
        "cautions": list(part.cautions),
        "groups": [
            {"name": walk.name, "lines": [_line(said) for said in walk.lines]}
            for walk in part.walks
        ],
    }


def _line(said: Said) -> dict[str, str]:
    return {
        "where": said.where,
        "act": said.line.act,
        "why": said.why,
        "tags": ", ".join(said.tags),
        "window": said.when,
    }


def _card(card: Card, plan: SeasonPlan) -> dict[str, Any]:
    place = f"row {card.row}, number {card.number}" if card.row is not None else ""
    return {
        "tag": card.tag,
        "place": place,
        "lineage": card.lineage,
        "stool": None if card.stool is None else stool_on_card(card.stool),
        "facts": [
            {"what": what, "words": words} for what, words in (("Canes", card.canes), *card.facts)
        ],
        "windows": [window_words(label, window) for label, window in card.windows],
        "work": [
            {"act": line.act, "window": when_told(line, plan.on)}
            for line in card.work
            if line.subject != "notes" and len(line.shrubs) <= OF_ITS_OWN
        ],
        "told": [{"seen": day_told(day), "words": said} for day, said in card.told],
    }
