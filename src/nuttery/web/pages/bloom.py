"""Flowers, leaves and ripening: when each shrub's season comes."""

from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import HTMLResponse

from nuttery.figures.season_charts import calendar_of
from nuttery.figures.season_days import season_days_chart
from nuttery.season.bloom import bloom
from nuttery.season.frost import frost_nights
from nuttery.season.planting import Planting
from nuttery.web.api.answers import OnDay
from nuttery.web.leaf import Leaf, add_files, asked, gathered, leaf_page
from nuttery.web.rendering import Link

LINK = Link("/bloom", "Flowers", 32)
MOST = 80
"""Shrubs of a row whose calendar is drawn; the table above holds all."""
router = APIRouter(include_in_schema=False)
Row = Annotated[int | None, Query(ge=0, le=9999)]


def leaf(request: Request, on: OnDay = None, row: Row = None) -> Leaf:
    """Return the season of all shrubs, and the calendar of one row of them."""

    def drawn(planting: Planting) -> Leaf:
        outlook, rows = bloom(planting), _rows(planting)
        chosen = row if row in rows else next(iter(rows))
        frosts, _ = gathered([lambda: frost_nights(planting)])
        calendar = calendar_of(outlook, rows[chosen][:MOST], frosts[0] if frosts else ())
        facts = {"outlook": outlook, "rows": sorted(rows), "row": chosen}
        return Leaf((season_days_chart(outlook), calendar), facts)

    return asked(request, "the page of flowers", drawn, on, row=row or 0)


def _rows(planting: Planting) -> dict[int, list[int]]:
    """Shrubs of each row of the planting, in walking order; 0 for those without one."""
    rows: dict[int, list[int]] = {}
    for k, shrub in enumerate(planting.shrubs):
        rows.setdefault(shrub.row or 0, []).append(k)
    return rows


@router.get("/bloom")
def bloom_(request: Request, found: Annotated[Leaf, Depends(leaf)]) -> HTMLResponse:
    """Return the page of flowers."""
    return leaf_page(request, "bloom.html", found)


add_files(router, "/bloom", leaf)
