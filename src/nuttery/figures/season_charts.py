"""The bloom calendar and the running heat and chill, each with the figures behind it."""

import html
from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

import numpy as np

from nuttery.figures.bloom_calendar import PHONE_WIDTH, bloom_calendar, how_to_read
from nuttery.figures.chart import Chart, Sheet, known
from nuttery.figures.heat_and_chill import heat_and_chill
from nuttery.figures.season_days import season_sheet
from nuttery.figures.vega import as_svg
from nuttery.records import System
from nuttery.season.bloom import BloomOutlook
from nuttery.season.weather_curves import Curve


def calendar_of(
    outlook: BloomOutlook,
    rows: Sequence[int],
    frosts: Sequence[tuple[date, float]],
    *,
    width: int = PHONE_WIDTH,
) -> Chart:
    """Return the bloom calendar of some shrubs.

    Parameters
    ----------
    outlook : the season of every shrub
    rows : which shrubs
    frosts : nights of frost so far, each with its lowest temperature in °C
    width : pixels of the days
    """
    title = f"Bloom calendar of {outlook.year}"
    whole = season_sheet(outlook)
    sheet = Sheet(title, whole.columns, tuple(whole.rows[k] for k in rows), tags=True)
    picture = _named(bloom_calendar(outlook, rows, frosts, width=width), title)
    return Chart("calendar", title, picture, sheet, how_to_read(outlook, rows))


def heat_and_chill_chart(curves: tuple[Curve, Curve], units: System) -> Chart:
    """Return heat and chill day by day, this season among earlier ones.

    Parameters
    ----------
    curves : heat and chill
    units : of the planting
    """
    title = "Heat and chill, day by day"
    columns = ["day of the season", *(f"{c.name}, {c.unit}" for c in curves)]
    columns += [f"middle of earlier years, {c.name}" for c in curves]
    days = max(len(c.now) for c in curves)
    rows = tuple((_days(curves, k), *_at(curves, k)) for k in range(0, days, 7))
    sheet = Sheet(title, tuple(columns), rows)
    return Chart("heat-and-chill", title, _named(heat_and_chill(curves, units), title), sheet)


def _days(curves: Sequence[Curve], k: int) -> str:
    return " / ".join(dict.fromkeys((c.first + timedelta(days=k)).isoformat() for c in curves))


def _at(curves: Sequence[Curve], k: int) -> list[float | None]:
    now = [known(c.now[k], 1) if k < len(c.now) else None for c in curves]
    then = [
        known(float(np.median(c.then[:, k])), 1) if k < c.then.shape[1] and len(c.years) else None
        for c in curves
    ]
    return now + then


def _named(specification: dict[str, Any], title: str) -> str:
    """Drawn, with a name for those who cannot see it."""
    head, _, rest = as_svg(specification).partition(">")
    return f'{head} role="img"><title>{html.escape(title)}</title>{rest}'
