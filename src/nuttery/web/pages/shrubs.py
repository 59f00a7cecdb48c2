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
    all_ = planting.shrubs
    parts = [
        (k + 1, all_[k * AT_ONCE].tag, all_[min((k + 1) * AT_ONCE, len(all_)) - 1].tag)
        for k in range(math.ceil(len(all_) / AT_ONCE))
    ]
    return page(
        request,
        "shrubs.html",
        rows=shrub_table(planting, (part - 1) * AT_ONCE, part * AT_ONCE),
        n=len(all_),
        day=planting.on,
        part=part,
        parts=parts,
    )
