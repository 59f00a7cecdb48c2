"""Pollen: who feeds whom, who goes short and why, and on whom many depend."""

from typing import Annotated

import numpy as np
from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse

from nuttery.figures.acceptance_grid import acceptance_grid
from nuttery.figures.chart import Sheet
from nuttery.figures.who_feeds_whom import feeding_chart, feeding_sheet
from nuttery.season.feeding import acceptance
from nuttery.season.planting import Planting
from nuttery.season.pollen import PollenOutlook, pollen
from nuttery.web.api.answers import OnDay
from nuttery.web.leaf import Leaf, add_files, asked, gathered, leaf_page
from nuttery.web.rendering import Link

LINK = Link("/pollen", "Pollen", 34)
router = APIRouter(include_in_schema=False)


def leaf(request: Request, on: OnDay = None) -> Leaf:
    """Return who feeds whom."""
    return asked(request, "the page of pollen", _leaf, on)


def _leaf(planting: Planting) -> Leaf:
    outlook = pollen(planting)
    facts = {
        "outlook": outlook,
        "short": feeding_sheet(outlook, outlook.short_rows.tolist()),
        "leant_on": _leant_on(outlook),
        "reasons": _reasons(outlook),
        "expected": int((~np.isnan(outlook.cover)).sum()),
    }
    accepted, lacking = gathered([lambda: acceptance_grid(acceptance(planting))])
    return Leaf((feeding_chart(outlook), *accepted), facts, lacking)


def _leant_on(outlook: PollenOutlook) -> Sheet:
    order = [int(k) for k in np.argsort(-outlook.if_lost, kind="stable")[:10] if outlook.if_lost[k]]
    rows = tuple((outlook.tags[k], int(outlook.if_lost[k])) for k in order)
    columns = ("donor", "shrubs that would go short without it")
    return Sheet("Donors on whom others lean", columns, rows, tags=True)


def _reasons(outlook: PollenOutlook) -> list[tuple[str, int]]:
    count: dict[str, int] = {}
    for reason in outlook.reason:
        if reason:
            count[reason] = count.get(reason, 0) + 1
    return sorted(count.items(), key=lambda pair: -pair[1])


@router.get("/pollen")
def pollen_(request: Request, found: Annotated[Leaf, Depends(leaf)]) -> HTMLResponse:
    """Return the page of pollen."""
    return leaf_page(request, "pollen.html", found)


add_files(router, "/pollen", leaf)
