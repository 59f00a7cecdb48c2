"""One shrub: its place and lineage, what to do with it, its dates, and its story."""

from collections.abc import Sequence

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from nuttery.season.cards import lineage
from nuttery.season.story import Told, story
from nuttery.web.api.answers import OnDay, plan_for
from nuttery.web.rendering import page
from nuttery.web.site import site_of

router = APIRouter(include_in_schema=False)


@router.get("/shrubs/{tag}")
def shrub(request: Request, tag: str, on: OnDay = None) -> HTMLResponse:
    """Return one shrub's page."""
    planting = site_of(request).served.planting(on)
    found = story(planting, tag)
    lines = [line for line in plan_for(request, on).lines if tag in line.shrubs]
    tags = [s.tag for s in planting.shrubs]
    at = tags.index(tag)
    return page(
        request,
        "shrub.html",
        shrub=found,
        lineage=lineage(found),
        lines=lines,
        before=tags[at - 1] if at else None,
        after=tags[at + 1] if at + 1 < len(tags) else None,
        years=_by_year(found.told),
    )


def _by_year(told: Sequence[Told]) -> list[tuple[int, list[Told]]]:
    """Notes year by year, the newest first."""
    years: dict[int, list[Told]] = {}
    for note in reversed(told):
        years.setdefault(note.seen.year, []).append(note)
    return list(years.items())
