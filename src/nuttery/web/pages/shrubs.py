"""Every shrub in one table."""

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from nuttery.season.shrub_table import shrub_table
from nuttery.web.api.answers import OnDay
from nuttery.web.rendering import Link, page
from nuttery.web.site import site_of

LINK = Link("/shrubs", "Shrubs", 30)
router = APIRouter(include_in_schema=False)


@router.get("/shrubs")
def shrubs(request: Request, on: OnDay = None) -> HTMLResponse:
    """Return the table of shrubs, in walking order."""
    planting = site_of(request).served.planting(on)
    return page(request, "shrubs.html", rows=shrub_table(planting), day=planting.on)
