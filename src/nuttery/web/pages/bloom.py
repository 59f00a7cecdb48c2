"""Flowers, leaves and ripening: when each shrub's season comes."""

from typing import Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse

from nuttery.figures.season_days import season_days_chart
from nuttery.season.bloom import bloom
from nuttery.season.planting import Planting
from nuttery.web.api.answers import OnDay
from nuttery.web.leaf import Leaf, add_files, asked, leaf_page
from nuttery.web.rendering import Link

LINK = Link("/bloom", "Flowers", 32)
router = APIRouter(include_in_schema=False)


def leaf(request: Request, on: OnDay = None) -> Leaf:
    """Return the calendar of all shrubs."""
    return asked(request, "the page of flowers", _leaf, on)


def _leaf(planting: Planting) -> Leaf:
    outlook = bloom(planting)
    return Leaf((season_days_chart(outlook),), {"outlook": outlook})


@router.get("/bloom")
def bloom_(request: Request, found: Annotated[Leaf, Depends(leaf)]) -> HTMLResponse:
    """Return the page of flowers."""
    return leaf_page(request, "bloom.html", found)


add_files(router, "/bloom", leaf)
