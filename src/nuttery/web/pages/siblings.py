"""Siblings side by side: the shrubs of one seed lot, trait by trait."""

from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import HTMLResponse

from nuttery.figures.side_by_side import siblings_chart
from nuttery.season.planting import Planting
from nuttery.season.siblings import siblings
from nuttery.web.api.answers import OnDay
from nuttery.web.leaf import Leaf, add_files, asked, leaf_page
from nuttery.web.rendering import Link

LINK = Link("/siblings", "Siblings", 40)
router = APIRouter(include_in_schema=False)
Lot = Annotated[str, Query(max_length=80)]
By = Annotated[str, Query(max_length=40)]


def leaf(request: Request, on: OnDay = None, lot: Lot = "", by: By = "crop") -> Leaf:
    """Return one seed lot side by side, ordered by one trait."""

    def compare(planting: Planting) -> Leaf:
        found = siblings(planting, lot or None)
        return Leaf((siblings_chart(found, by=by),), {"found": found, "by": by}, found.lacking)

    return asked(request, "siblings side by side", compare, on, lot=lot, by=by)


@router.get("/siblings")
def siblings_(request: Request, found: Annotated[Leaf, Depends(leaf)]) -> HTMLResponse:
    """Return the page of siblings."""
    return leaf_page(request, "siblings.html", found)


add_files(router, "/siblings", leaf)
