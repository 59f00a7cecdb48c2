"""Heat and chill so far, against the earlier years on record, as a Vega-Lite chart."""

from datetime import timedelta
from typing import TYPE_CHECKING, Any

import numpy as np

from nuttery.figures.look import ACCENT, INK
from nuttery.figures.vega import dressed
from nuttery.records import System
from nuttery.season.weather_curves import Curve

if TYPE_CHECKING:
    import altair as alt

_WIDTH, _HEIGHT = 620, 220


def heat_and_chill(curves: tuple[Curve, Curve], units: System = "metric") -> dict[str, Any]:
    """Return the specification: this season's line over the span and middle of earlier years.

    Parameters
    ----------
    curves : heat and chill, day by day
    units : of the planting; degree-days are told in its degrees
    """
    import altair as alt

    panels = [_panel(alt, curve, units) for curve in curves]
    return dict(dressed(alt.vconcat(*panels, spacing=26)).to_dict())


def _panel(alt: Any, curve: Curve, units: System) -> "alt.LayerChart":  # noqa: ANN401 - the module
    factor, unit = _unit(curve, units)
    rows = list(_rows(curve, factor))
    x = alt.X("day:T", title=None, scale=alt.Scale(type="utc"), axis=alt.Axis(format="%-d %b"))
    title = f"{curve.name}, {unit}"
    y = alt.Y("now:Q", title=unit)
    base = alt.Chart(alt.InlineData(values=rows)).encode(x=x)
    layers = [
        base.mark_area(color=INK, opacity=0.13).encode(
            y=alt.Y("low:Q", title=unit), y2=alt.Y2("high:Q")
        ),
        base.mark_line(color=INK, strokeDash=[5, 4], strokeWidth=1.2).encode(y="middle:Q"),
        base.mark_line(color=ACCENT, strokeWidth=2.8).encode(y=y),
    ]
    subtitle = (
        f"Solid: this season. Dashed: middle of {len(curve.years)} earlier years; "
        "band: 8 of 10 of them."
    )
    heading = alt.TitleParams(title[0].upper() + title[1:], subtitle=subtitle)
    return alt.layer(*layers).properties(width=_WIDTH, height=_HEIGHT, title=heading)


def _unit(curve: Curve, units: System) -> tuple[float, str]:
    if "degree-days" in curve.unit and units == "US":
        return 1.8, "degree-days °F"
    return 1.0, curve.unit


def _rows(curve: Curve, factor: float) -> Any:  # noqa: ANN401 - rows of a chart
    spread = np.full((3, len(curve.now)), np.nan)
    if len(curve.years) > 1:
        spread = np.quantile(curve.then, [0.1, 0.5, 0.9], axis=0)
    for k, now in enumerate(curve.now.tolist()):
        row: dict[str, Any] = {"day": (curve.first + timedelta(days=k)).isoformat()}
        values = {"now": now, "low": spread[0, k], "middle": spread[1, k], "high": spread[2, k]}
        yield row | {
            name: round(float(value) * factor, 1)
            for name, value in values.items()
            if not np.isnan(value)
        }
