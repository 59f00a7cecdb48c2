"""The notes, the newest first: what was seen, and who wrote it on what."""

from typing import Annotated
from uuid import UUID

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse

from nuttery.records import KINDS
from nuttery.season.note_list import latest_notes
from nuttery.season.shrub_photos import photo_id
from nuttery.web.api.answers import OnDay
from nuttery.web.rendering import Link, page
from nuttery.web.site import site_of

LINK = Link("/notes", "Notes", 40)
AT_ONCE = 100
"""Notes on one page."""
router = APIRouter(include_in_schema=False)
Kind = Annotated[str, Query(max_length=40)]


@router.get("/notes")
def notes(
    request: Request, on: OnDay = None, before: UUID | None = None, kind: Kind = ""
) -> HTMLResponse:
    """Return the newest notes, or those before one of them."""
    planting = site_of(request).served.planting(on)
    found = latest_notes(planting, at_most=AT_ONCE + 1, before=before, kind=kind)
    return page(
        request,
        "notes.html",
        rows=[(row, photo_id(row.photo)) for row in found[:AT_ONCE]],
        more=len(found) > AT_ONCE,
        before=before,
        kind=kind,
        kinds=sorted((title.title, name) for name, title in KINDS.items()),
        day=planting.on,
    )
