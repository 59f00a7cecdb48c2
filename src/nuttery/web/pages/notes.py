"""The latest notes: what was seen, and who wrote it on what."""

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from nuttery.season.shrub_table import latest_notes
from nuttery.web.api.answers import OnDay
from nuttery.web.rendering import Link, page
from nuttery.web.site import site_of

LINK = Link("/notes", "Notes", 40)
router = APIRouter(include_in_schema=False)


@router.get("/notes")
def notes(request: Request, on: OnDay = None) -> HTMLResponse:
    """Return the latest notes."""
    planting = site_of(request).served.planting(on)
    return page(request, "notes.html", rows=latest_notes(planting), day=planting.on)
