"""Picking and drying: whose nuts come when, the rounds of the coming weeks, and what is drying."""

from typing import Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse

from nuttery.figures.harvest_sheets import (
    batches_sheet,
    crop_years_chart,
    picks_sheet,
    rounds_sheet,
)
from nuttery.season import NotEnoughKnown
from nuttery.season.crops import crop_habit
from nuttery.season.drying import drying
from nuttery.season.harvest import Picks, picks
from nuttery.season.planting import Planting
from nuttery.web.api.answers import OnDay
from nuttery.web.leaf import Leaf, add_files, asked, gathered, leaf_page
from nuttery.web.rendering import Link

LINK = Link("/picking", "Picking", 38)
router = APIRouter(include_in_schema=False)


def leaf(request: Request, on: OnDay = None) -> Leaf:
    """Return what there is to pick and to dry."""
    return asked(request, "the page of picking", _leaf, on)


def _leaf(planting: Planting) -> Leaf:
    units = planting.about.units
    charts, lacking = gathered([lambda: crop_years_chart(crop_habit(planting), units)])
    plan, lack = _picks(planting)
    facts = {
        "plan": plan,
        "rounds": rounds_sheet(plan, units) if plan else None,
        "trees": picks_sheet(plan, planting.on.year, units) if plan else None,
        "batches": batches_sheet(drying(planting), units),
        "day": planting.on,
    }
    return Leaf(charts, facts, lacking + lack)


def _picks(planting: Planting) -> tuple[Picks | None, tuple[str, ...]]:
    try:
        return picks(planting), ()
    except NotEnoughKnown as lack:
        return None, (str(lack),)


@router.get("/picking")
def picking(request: Request, found: Annotated[Leaf, Depends(leaf)]) -> HTMLResponse:
    """Return the page of picking and drying."""
    return leaf_page(request, "picking.html", found)


add_files(router, "/picking", leaf)
