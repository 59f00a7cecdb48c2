"""Pollen: who feeds whom, who goes short and why, and on whom many depend."""

from collections import Counter
from typing import Annotated, Any

import numpy as np
from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import HTMLResponse

from nuttery.figures.acceptance_grid import acceptance_grid
from nuttery.figures.chart import Chart, Sheet
from nuttery.figures.overlap import overlap_chart
from nuttery.figures.pollen_map import pollen_map
from nuttery.figures.who_feeds_whom import feeding_chart, feeding_sheet
from nuttery.season import WrongQuestion
from nuttery.season.feeding import acceptance, overlap
from nuttery.season.planting import Planting
from nuttery.season.pollen import REASONS, PollenOutlook, pollen
from nuttery.season.words import first_of
from nuttery.web.api.answers import OnDay
from nuttery.web.leaf import Leaf, add_files, asked, leaf_page
from nuttery.web.rendering import Link

LINK = Link("/pollen", "Pollen", 34)
router = APIRouter(include_in_schema=False)
To = Annotated[str, Query(max_length=40)]


def leaf(request: Request, on: OnDay = None, to: To = "") -> Leaf:
    """Return who feeds whom, and whom one shrub is fed by: the shortest, if none is chosen."""
    every = asked(request, "the page of pollen", _everyone, on)

    def one(planting: Planting) -> tuple[str, tuple[Chart, ...]]:
        return _one(planting, to.strip())

    tag, charts = asked(request, "the donors of one shrub", one, on, to=to.strip())
    return Leaf((*charts, *every.charts), every.facts | {"to": tag}, every.lacking)


def _everyone(planting: Planting) -> Leaf:
    outlook = pollen(planting)
    facts: dict[str, Any] = {
        "outlook": outlook,
        "short": feeding_sheet(outlook, outlook.short_rows.tolist(), "Shrubs short of pollen"),
        "leant_on": _leant_on(outlook),
        "reasons": [(REASONS[name], count) for name, count in _reasons(outlook)],
        "expected": int((~np.isnan(outlook.cover)).sum()),
        "wind": outlook.wind.told(),
    }
    return Leaf((feeding_chart(outlook), acceptance_grid(acceptance(planting))), facts)


def _one(planting: Planting, tag: str) -> tuple[str, tuple[Chart, ...]]:
    """The plan with the flow to one shrub, and its overlap with its donors."""
    outlook, units = pollen(planting), planting.about.units
    if tag and tag not in outlook.tags:
        raise WrongQuestion(f"shrub: found {tag!r}, expected the tag of a shrub with a place")
    if not tag and not np.isfinite(outlook.cover).any():
        return "", (pollen_map(outlook, units=units),)
    chosen = tag or outlook.tags[int(np.nanargmin(outlook.cover))]
    found = overlap(planting, chosen)
    return chosen, (pollen_map(outlook, found, units=units), overlap_chart(found))


def _leant_on(outlook: PollenOutlook) -> Sheet:
    order = [int(k) for k in np.argsort(-outlook.if_lost, kind="stable")[:10] if outlook.if_lost[k]]
    rows = tuple(
        (outlook.tags[k], int(outlook.if_lost[k]), first_of(outlook.without(k))) for k in order
    )
    columns = ("donor", "shrubs that would go short without it", "which")
    return Sheet("Donors on whom others lean", columns, rows, tags=True)


def _reasons(outlook: PollenOutlook) -> list[tuple[str, int]]:
    return Counter(reason for reason in outlook.reason if reason).most_common()


@router.get("/pollen")
def pollen_(request: Request, found: Annotated[Leaf, Depends(leaf)]) -> HTMLResponse:
    """Return the page of pollen."""
    return leaf_page(request, "pollen.html", found)


add_files(router, "/pollen", leaf)
