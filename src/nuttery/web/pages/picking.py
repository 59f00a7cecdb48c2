"""Picking and drying: whose nuts come when, the rounds of the coming weeks, and what is drying."""

from typing import Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse

from nuttery.figures.drying_curve import drying_curve
from nuttery.figures.harvest_sheets import (
    batches_sheet,
    crop_years_chart,
    picks_sheet,
    rounds_sheet,
)
from nuttery.figures.picking_strip import picking_strips
from nuttery.season import NotEnoughKnown
from nuttery.season.crops import crop_habit
from nuttery.season.drying import caution as drying_caution
from nuttery.season.drying import drying
from nuttery.season.harvest import CAUTION, left_out_told, loss_told, outings_told, pace_told
from nuttery.season.next_crop import expected_crop, expected_told, shows_next
from nuttery.season.picking_plan import Picks, picks
from nuttery.season.planting import Planting
from nuttery.season.words import plural
from nuttery.web.api.answers import OnDay
from nuttery.web.leaf import Leaf, add_files, asked, gathered, leaf_page
from nuttery.web.rendering import Link

LINK = Link("/picking", "Picking", 38)
STRIPS, CURVES = 4, 12
"""Strips of shrubs and drying curves drawn on the page."""
router = APIRouter(include_in_schema=False)


def leaf(request: Request, on: OnDay = None) -> Leaf:
    """Return what there is to pick and to dry."""
    return asked(request, "the page of picking", _leaf, on)


def _leaf(planting: Planting) -> Leaf:
    units, batches = planting.about.units, drying(planting)
    years, lacking = gathered([lambda: crop_years_chart(crop_habit(planting), units)])
    plan, lack = _picks(planting)
    strips = picking_strips(plan, units)[:STRIPS] if plan and plan.tags else ()
    curves = tuple(drying_curve(batch, units) for batch in batches[-CURVES:])
    expected = expected_crop(planting)
    after = expected_crop(planting, year=expected.year + 1) if shows_next(planting.on) else None
    facts = {
        "several": plural,
        "year": expected.year,
        "expected": expected_told(expected, units),
        "after": expected_told(after, units) if after else "",
        "plan": plan,
        "strips": strips,
        "curves": curves,
        "years": years,
        "pace": pace_told(plan) if plan else "",
        "outings": outings_told(plan, units) if plan and plan.tags else "",
        "loss": loss_told(plan) if plan else "",
        "left_out": left_out_told(plan, units) if plan else "",
        "rounds": rounds_sheet(plan, units) if plan else None,
        "shrubs": picks_sheet(plan, planting.on.year, units) if plan else None,
        "batches": batches_sheet(batches, units),
        "day": planting.on,
        "caution": CAUTION,
        "drying_caution": drying_caution(planting),
    }
    return Leaf((*strips, *curves, *years), facts, lacking + lack)


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
