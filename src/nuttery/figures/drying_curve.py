"""The drying curve of one batch: its weighings, the curve through them, and the mass to reach."""

import math
from datetime import timedelta

from nuttery.figures.axes import Axes, digits_of, round_ticks
from nuttery.figures.chart import Chart, Sheet, known
from nuttery.figures.look import ACCENT, FAINT, INK, PAPER, drawing, text
from nuttery.records import System, shown, unit_of
from nuttery.season.drying import DryingBatch
from nuttery.season.estimate import day_told

WIDTH, HEIGHT = 760.0, 300.0
BAND = "#efe6d2"


def drying_curve(batch: DryingBatch, units: System) -> Chart:
    """Return the curve of a batch; without a fit, its weighings alone.

    Parameters
    ----------
    batch : what is drying
    units : of the planting
    """
    unit = unit_of("mass", units).symbol
    title = f"Drying of {batch.batch}"

    def mass(kg: float) -> float:
        return shown(kg, "mass", units)

    heights = [mass(kg) for kg in (*batch.mass_kg, *batch.curve_kg)]
    if not math.isnan(batch.target_kg):
        heights.append(mass(batch.target_kg))
    ticks = round_ticks(min(heights) * 0.97, max(heights) * 1.01, 5)
    last = max((*batch.days, *batch.curve_days, 1.0))
    axes = Axes(WIDTH, HEIGHT, 0.0, last, ticks[0], ticks[-1])
    drawn = [f'<rect width="{WIDTH:.0f}" height="{HEIGHT:.0f}" fill="{PAPER}"/>']
    drawn += _ready(batch, axes)
    drawn += axes.up(ticks, unit, digits_of(ticks))
    drawn += axes.along(_dates(batch, last), "day of weighing")
    if not math.isnan(batch.target_kg):
        drawn += _target(axes, mass(batch.target_kg), batch.target)
    curve = [mass(kg) for kg in batch.curve_kg]
    drawn.append(
        f'<path d="{axes.path(batch.curve_days, curve)}" fill="none" stroke="{INK}" '
        'stroke-width="2"/>'
    )
    for day, kg in zip(batch.days, batch.mass_kg, strict=True):
        words = f"{day_told(batch.first + timedelta(days=day))}: {mass(kg):.2f} {unit}"
        drawn.append(
            f"<g><title>{words}</title>"
            f'<circle cx="{axes.x(day):.1f}" cy="{axes.y(mass(kg)):.1f}" r="5" fill="{PAPER}" '
            f'stroke="{INK}" stroke-width="2.4"/></g>'
        )
    sheet = Sheet(
        title,
        ("day", f"mass, {unit}"),
        tuple(
            (day_told(batch.first + timedelta(days=day)), known(mass(kg), 3))
            for day, kg in zip(batch.days, batch.mass_kg, strict=True)
        ),
    )
    return Chart("drying-curve", title, drawing(WIDTH, HEIGHT, title, drawn), sheet, _told(batch))


def _dates(batch: DryingBatch, last: float) -> list[tuple[float, str]]:
    """Days to write along the axis, none so near to its end that the word would be cut off."""
    step = max(1, math.ceil(last / 8))
    return [
        (float(day), day_told(batch.first + timedelta(days=day)))
        for day in range(0, int(0.97 * last) + 1, step)
    ]


def _target(axes: Axes, mass: float, moisture: float) -> list[str]:
    y = axes.y(mass)
    words = f"target, {100 * moisture:.0f} % moisture"
    line = f'<path d="M{axes.left:.1f} {y:.1f}H{axes.width - axes.right:.1f}" stroke="{ACCENT}"'
    return [
        f'{line} stroke-width="1.6" stroke-dasharray="7 4"/>',
        text(axes.left + 6, y - 6, words, size=13, extra=f'fill="{ACCENT}"'),
    ]


def _ready(batch: DryingBatch, axes: Axes) -> list[str]:
    """Band over the days in which it is likely dry, open to the right where it may never be."""
    if batch.ready is None:
        return []

    def place(day: float) -> float:
        return axes.x(min(max(day, 0.0), axes.x1))

    low = place((batch.ready.low - batch.first).days)
    high = axes.x(axes.x1)
    if batch.ready.high is not None:
        high = place((batch.ready.high - batch.first).days)
    foot = axes.height - axes.bottom
    middle = place((batch.ready.median - batch.first).days)
    box = f'x="{low:.1f}" y="{axes.top:.1f}" width="{max(high - low, 2):.1f}"'
    return [
        f'<rect {box} height="{foot - axes.top:.1f}" fill="{BAND}"/>',
        f'<path d="M{middle:.1f} {axes.top:.1f}V{foot:.1f}" stroke="{FAINT}" stroke-width="1.4"/>',
        _beside(middle, axes),
    ]


def _beside(x: float, axes: Axes) -> str:
    """The words of the likely day, on the side of its line that has room."""
    left = x > axes.width - axes.right - 70
    extra = f'fill="{FAINT}"' + (' text-anchor="end"' if left else "")
    return text(x + (-5 if left else 5), axes.top + 13, "likely dry", size=13, extra=extra)


def _told(batch: DryingBatch) -> str:
    parts = [f"{len(batch.mass_kg)} weighings. Moisture at the start: {batch.start_basis}."]
    if batch.ready is not None:
        parts.append(
            f"Likely dry {batch.ready.told()}: the shaded days, four times in five. Beyond the last"
            " weighing the curve is a forecast for the same air."
        )
    elif batch.status == "unreachable in this air":
        parts.append("The curve levels out above the target: this air cannot dry the batch to it.")
    return " ".join(parts)
