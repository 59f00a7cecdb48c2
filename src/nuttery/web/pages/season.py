"""The first page: what to do now and in the coming weeks, the reasons one tap away."""

from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import HTMLResponse

from nuttery.figures.weeks_ahead import weeks_chart
from nuttery.season import SUBJECTS, Line, WrongQuestion
from nuttery.season.by_row import HEADINGS, SHORT
from nuttery.season.plan import SeasonPlan
from nuttery.web.api.answers import Ahead, OnDay, plan_for, plan_is_behind
from nuttery.web.leaf import Leaf, add_files, asked, leaf_page
from nuttery.web.rendering import Link

LINK = Link("/", "Now", 10)
SHOWN, FOLDED, PAGED = 6, 30, 60
"""Lines of a subject shown at once, more on opening, and lines of a page of one subject alone."""
router = APIRouter(include_in_schema=False)
Subject = Annotated[str, Query(max_length=20)]
Page = Annotated[int, Query(ge=1, le=100_000)]


@dataclass(frozen=True)
class Part:
    """The lines of one subject on the page.

    Attributes
    ----------
    subject, heading, short : which
    lines, folded : shown at once, and on opening
    count : all of them
    cautions : each told once
    """

    subject: str
    heading: str
    short: str
    lines: tuple[Line, ...]
    folded: tuple[Line, ...]
    count: int
    cautions: tuple[str, ...]


def _part(subject: str, lines: tuple[Line, ...]) -> Part:
    shown = SHOWN if len(lines) > SHOWN + 2 else len(lines)
    cautions = tuple(dict.fromkeys(line.caution for line in lines if line.caution))
    folded = lines[shown : shown + FOLDED]
    return Part(
        subject, HEADINGS[subject], SHORT[subject], lines[:shown], folded, len(lines), cautions
    )


def leaf(request: Request, on: OnDay = None, ahead: Ahead = 28) -> Leaf:
    """Return the season plan and the weeks ahead."""
    plan = plan_for(request, on, ahead)

    def drawn(_planting: object) -> Leaf:
        chart = weeks_chart(plan, SHORT)
        parts = [_part(s, plan.of(s)) for s in SUBJECTS if plan.of(s)]
        return Leaf((chart,) if chart else (), {"plan": plan, "parts": parts}, plan.left_out)

    found = asked(request, "the weeks ahead", drawn, on, ahead=ahead)
    return found if found.facts["plan"] is plan else drawn(None)


@router.get("/")
def season(
    request: Request,
    found: Annotated[Leaf, Depends(leaf)],
    *,
    on: OnDay = None,
    ahead: Ahead = 28,
    subject: Subject = "",
    page: Page = 1,
) -> HTMLResponse:
    """Return the season plan; with `subject`, every line about one thing."""
    behind = plan_is_behind(request, on, ahead)
    if not subject:
        return leaf_page(request, "season.html", found, behind=behind)
    lines = _about(found.facts["plan"], subject)
    pages = max(1, -(-len(lines) // PAGED))
    at = min(page, pages)
    mine = lines[PAGED * (at - 1) : PAGED * at]
    cautions = _part(subject, mine).cautions
    whole = Part(subject, HEADINGS[subject], SHORT[subject], mine, (), len(lines), cautions)
    return leaf_page(
        request, "season_subject.html", found, part=whole, at=at, pages=pages, behind=behind
    )


def _about(plan: SeasonPlan, subject: str) -> tuple[Line, ...]:
    if subject not in HEADINGS:
        raise WrongQuestion(f"subject: found {subject!r}, expected one of {', '.join(HEADINGS)}")
    return tuple(line for line in plan.lines if line.subject == subject)


add_files(router, "/ahead", leaf)
