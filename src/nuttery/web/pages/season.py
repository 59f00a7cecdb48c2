"""The first page: what to do now and in the coming weeks, the reasons one tap away."""

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from nuttery.season import SUBJECTS
from nuttery.web.api.answers import Ahead, OnDay, plan_for, plan_is_behind
from nuttery.web.rendering import Link, page

LINK = Link("/", "Now", 10)
HEADINGS = {
    "frost": "Frost",
    "picking": "Picking",
    "drying": "Drying",
    "bloom": "Flowers to look at",
    "pollen": "Pollen",
    "canes": "Canes",
    "counting": "Counting for next year",
    "weather": "Weather record",
    "notes": "Notes that would sharpen the answers",
}
router = APIRouter(include_in_schema=False)


@router.get("/")
def season(request: Request, on: OnDay = None, ahead: Ahead = 28) -> HTMLResponse:
    """Return the season plan."""
    plan = plan_for(request, on, ahead)
    parts = [(HEADINGS[subject], plan.of(subject)) for subject in SUBJECTS if plan.of(subject)]
    behind = plan_is_behind(request, on, ahead)
    return page(request, "season.html", plan=plan, parts=parts, behind=behind)
