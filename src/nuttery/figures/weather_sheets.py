"""The season so far among other years, and what frost may take."""

from collections.abc import Sequence

import numpy as np

from nuttery.figures.axes import round_ticks
from nuttery.figures.chart import Chart, Sheet, known
from nuttery.figures.look import ACCENT, FAINT, INK, PAPER, drawing, text
from nuttery.records import System, shown, told
from nuttery.season.frost import FrostRisk
from nuttery.season.weather import SoFar

_WIDTH, _SIDE, _STEP = 760.0, 210.0, 64.0


def so_far_chart(far: SoFar, units: System) -> Chart:
    """Return heat, chill and rain of this season among the years on record.

    Parameters
    ----------
    far : the season so far
    units : of the planting
    """
    parts = _parts(far, units)
    columns = ("year", *(f"{name}, {unit}" for name, unit, _, _ in parts))
    years = [*(str(y) for y in far.years), f"{far.on.year} (this)"]
    rows = tuple(
        (year, *(known([*others, now][k], 1) for _, _, now, others in parts))
        for k, year in enumerate(years)
    )
    title = "The season so far among other years"
    words = (
        f"Up to {far.on.day} {far.on:%b}: this year is the bar with its figure, every earlier "
        "year a ring."
    )
    return Chart("so-far", title, _picture(title, parts, far), Sheet(title, columns, rows), words)


_Part = tuple[str, str, float, list[float]]


def _parts(far: SoFar, units: System) -> list[_Part]:
    warm = 1.8 if units == "US" else 1.0
    degrees, depth = ("°F", "in") if units == "US" else ("°C", "mm")
    heat = [warm * h for h in far.heat_years.tolist()]
    rain = [shown(mm, "depth", units) for mm in far.rain_years.tolist()]
    return [
        ("heat since 1 January", f"degree-days {degrees}", warm * far.heat, heat),
        ("chill since 1 October", "portions", far.chill, far.chill_years.tolist()),
        ("rain since 1 January", depth, shown(far.rain, "depth", units), rain),
    ]


def _picture(title: str, parts: Sequence[_Part], far: SoFar) -> str:
    height = 24 + _STEP * len(parts)
    drawn = [f'<rect width="{_WIDTH:.0f}" height="{height:.0f}" fill="{PAPER}"/>']
    for k, part in enumerate(parts):
        drawn += _strip(part, far, 24 + _STEP * k)
    return drawing(_WIDTH, height, title, drawn)


def _strip(part: _Part, far: SoFar, y: float) -> list[str]:
    name, unit, now, others = part
    values = np.array([v for v in [*others, now] if not np.isnan(v)])
    drawn = [
        text(8, y + 14, name, size=14),
        text(8, y + 31, unit, size=12, extra=f'fill="{FAINT}"'),
    ]
    if not values.size:
        return [*drawn, text(_SIDE, y + 18, "days are missing", size=13, extra=f'fill="{FAINT}"')]
    ticks = round_ticks(float(values.min()), float(values.max()), 4)
    span = ticks[-1] - ticks[0] or 1.0

    def x(value: float) -> float:
        return _SIDE + (value - ticks[0]) / span * (_WIDTH - _SIDE - 40)

    drawn.append(f'<path d="M{_SIDE} {y + 24:.1f}H{_WIDTH - 40:.1f}" stroke="{FAINT}"/>')
    for tick in ticks:
        extra = f'text-anchor="middle" fill="{FAINT}"'
        drawn.append(text(x(tick), y + 42, f"{tick:g}", size=11, extra=extra))
    for year, value in zip(far.years, others, strict=True):
        if not np.isnan(value):
            drawn.append(
                f'<g><title>{year}: {value:.0f} {unit}</title><circle cx="{x(value):.1f}" '
                f'cy="{y + 24:.1f}" r="5" fill="{PAPER}" fill-opacity="0.6" stroke="{INK}"/></g>'
            )
    if not np.isnan(now):
        extra = f'text-anchor="middle" fill="{ACCENT}"'
        drawn.append(text(x(now), y + 6, f"{now:.0f}", size=14, extra=extra))
        drawn.append(
            f'<path d="M{x(now):.1f} {y + 11:.1f}v24" stroke="{ACCENT}" stroke-width="5"/>'
        )
    return drawn


def frost_sheet(risks: Sequence[FrostRisk], units: System) -> Sheet:
    """Return what frost may take of each organ."""
    rows = tuple(
        (
            r.stage,
            told(r.watch, "temperature", units),
            told(r.killing, "temperature", units),
            f"{r.chance:.0%}",
            f"{r.loss.median:.0%} ({r.loss.low:.0%}–{r.loss.high:.0%})",
            int((r.exposed > 0.25).sum()),
            r.threshold.certainty,
        )
        for r in risks
    )
    columns = (
        "what is out", "look after it at", "half are lost at", "chance of such a night",
        "expected loss", "shrubs", "threshold is",
    )  # fmt: skip
    return Sheet("What frost may take", columns, rows)
