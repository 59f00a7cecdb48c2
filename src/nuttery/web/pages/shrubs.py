"""Every shrub in one table."""

import math
from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse

from nuttery.season.shrub_table import shrub_table
from nuttery.web.api.answers import OnDay
from nuttery.web.rendering import Link, page
from nuttery.web.site import site_of

LINK = Link("/shrubs", "Shrubs", 30)
AT_ONCE = 240
"""Rows on one page; a planting of usual size has one page."""
router = APIRouter(include_in_schema=False)


@router.get("/shrubs")
def shrubs(
    request: Request, on: OnDay = None, part: Annotated[int, Query(ge=1, le=9999)] = 1
) -> HTMLResponse:
    """Return one part of the table of shrubs, in walking order."""
    planting = site_of(request).served.planting(on)
    rows = shrub_table(planting)
    shown = rows[(part - 1) * AT_ONCE : part * AT_ONCE]
    parts = [
        (k + 1, rows[k * AT_ONCE].tag, rows[min((k + 1) * AT_ONCE, len(rows)) - 1].tag)
        for k in range(math.ceil(len(rows) / AT_ONCE))
    ]
    return page(
        request, "shrubs.html", rows=shown, n=len(rows), day=planting.on, part=part, parts=parts
    )
