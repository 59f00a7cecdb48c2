"""Canes: what stands, what goes, what the planting will bear, and the what-ifs side by side."""

from typing import Annotated, Any

import numpy as np
from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import HTMLResponse
from pydantic import BeforeValidator, Field

from nuttery.figures.cane_ages import ages_chart, bearing_chart
from nuttery.figures.cane_sheets import saw_sheet, side_by_side, thin_sheet
from nuttery.figures.cane_years import ages_ahead_chart
from nuttery.figures.crop_ahead import ahead_chart, beside_chart
from nuttery.season.cane_work import cane_work, cap_told, nearness_told, times_told
from nuttery.season.canes import CAUTION, canes, gaps_told
from nuttery.season.outlook import outlook
from nuttery.season.planting import Planting
from nuttery.season.renewal import canes_wanted
from nuttery.season.words import plural
from nuttery.web.api.answers import OnDay
from nuttery.web.leaf import Leaf, add_files, asked, leaf_page
from nuttery.web.rendering import Link
from nuttery.web.site import site_of

LINK = Link("/canes", "Canes", 36)
router = APIRouter(include_in_schema=False)
Blank = BeforeValidator(lambda text: None if text == "" else text)
"""A field left empty asks for nothing."""
Target = Annotated[Annotated[float, Field(ge=1, le=40)] | None, Query(), Blank]
Oldest = Annotated[Annotated[int, Field(ge=2, le=14)] | None, Query(), Blank]
Cuts = Annotated[Annotated[int, Field(ge=0, le=100_000)] | None, Query(), Blank]


def leaf(request: Request, on: OnDay = None) -> Leaf:
    """Return the cane plan."""
    return asked(request, "the page of canes", _leaf, on)


def _leaf(planting: Planting) -> Leaf:
    plan, units = canes(planting), planting.about.units
    work, young = cane_work(plan), int(planting.value("canes.bearing_from").value)
    charts = (
        ages_chart(plan),
        ages_ahead_chart(plan, bearing_from=young),
        ahead_chart(outlook(planting), units),
        bearing_chart(plan, units),
    )
    facts = {
        "plan": plan,
        "saw": saw_sheet(plan),
        "thin": thin_sheet(plan),
        "several": plural,
        "work": work,
        "times": times_told(planting, plan),
        "only_suckers": int((plan.open & ~work.rows).sum()),
        "gaps": gaps_told(plan),
        "nearness": nearness_told(plan),
        "caution": CAUTION,
        "done": int((plan.sawn > 0).sum()),
        "estimated": int(np.sum(plan.counted < plan.winter)),
    }
    return Leaf(charts, facts)


@router.get("/canes")
def canes_(request: Request, found: Annotated[Leaf, Depends(leaf)]) -> HTMLResponse:
    """Return the page of canes."""
    return leaf_page(request, "canes.html", found)


def tried(
    request: Request,
    on: OnDay = None,
    target: Target = None,
    max_age: Oldest = None,
    cuts: Cuts = None,
) -> Leaf:
    """Return the plan as it is and as it would be, side by side."""

    def compare(planting: Planting) -> Leaf:
        usual = canes(planting)
        other = canes(planting, target=target, max_age=max_age, cuts=cuts)
        plans = [("as planned", usual), ("what if", other)]
        found = (
            outlook(planting),
            outlook(planting, target=target, max_age=max_age, cuts=cuts),
        )
        chart = beside_chart(found, planting.about.units)
        return Leaf(
            (chart,), {"beside": side_by_side(plans, planting.about.units), "cap": cap_told(other)}
        )

    terms: dict[str, Any] = {"target": target, "max_age": max_age, "cuts": cuts}
    if not any(value is not None for value in terms.values()):
        return Leaf()
    return asked(request, "the canes, what if", compare, on, **terms)


@router.get("/canes/what-if")
def what_if(
    request: Request,
    *,
    found: Annotated[Leaf, Depends(tried)],
    on: OnDay = None,
    target: Target = None,
    max_age: Oldest = None,
    cuts: Cuts = None,
) -> HTMLResponse:
    """Return the page of what-ifs."""
    planting = site_of(request).served.planting(on)
    usual = (canes_wanted(planting).canes, int(planting.value("canes.overdue").value))
    asked_for = {"target": target, "max_age": max_age, "cuts": cuts}
    return leaf_page(request, "what_if.html", found, usual=usual, asked_for=asked_for)


add_files(router, "/canes", leaf)
add_files(router, "/canes/what-if", tried)
