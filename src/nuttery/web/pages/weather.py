"""Weather and frost: the season so far against other years, and what cold nights may take."""

from datetime import timedelta
from typing import Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse

from nuttery.figures.season_charts import heat_and_chill_chart
from nuttery.figures.weather_sheets import frost_sheet, so_far_chart
from nuttery.season.frost import frost_risks
from nuttery.season.planting import Planting
from nuttery.season.weather import so_far
from nuttery.season.weather_curves import season_curves
from nuttery.web.api.answers import OnDay
from nuttery.web.leaf import Leaf, add_files, asked, gathered, leaf_page
from nuttery.web.rendering import Link

LINK = Link("/weather", "Weather", 44)
AHEAD = 60
"""Days ahead for which cold nights are reckoned."""
router = APIRouter(include_in_schema=False)


def leaf(request: Request, on: OnDay = None) -> Leaf:
    """Return the season so far and the frosts ahead."""
    return asked(request, "the page of weather", _leaf, on)


def _leaf(planting: Planting) -> Leaf:
    units, until = planting.about.units, planting.on + timedelta(days=AHEAD)
    far, lacking = gathered([lambda: so_far(planting)])
    frost, more = gathered([lambda: frost_sheet(frost_risks(planting, until), units)])
    facts = {
        "frost": frost[0] if frost else None,
        "far": far[0] if far else None,
        "until": until,
        "day": planting.on,
    }
    curves, none = gathered([lambda: heat_and_chill_chart(season_curves(planting), units)])
    charts = (*(so_far_chart(f, units) for f in far), *curves)
    return Leaf(charts, facts, tuple(dict.fromkeys((*lacking, *more, *none))))


@router.get("/weather")
def weather(request: Request, found: Annotated[Leaf, Depends(leaf)]) -> HTMLResponse:
    """Return the page of weather and frost."""
    return leaf_page(request, "weather.html", found)


add_files(router, "/weather", leaf)
