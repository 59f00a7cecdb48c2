"""The harvest in rows: rounds of picking, shrubs with nuts to come, batches on the tray."""

from collections.abc import Sequence

import numpy as np

from nuttery.figures.axes import Axes, digits_of, round_ticks
from nuttery.figures.chart import Chart, Sheet, known
from nuttery.figures.look import INK, PAPER, drawing
from nuttery.records import System, shown, told, unit_of
from nuttery.season import day_told, span_told
from nuttery.season.crops import CropHabit
from nuttery.season.drying import DryingBatch, activity_told, hours_told
from nuttery.season.estimate import day_of
from nuttery.season.harvest import Picks


def rounds_sheet(plan: Picks, units: System) -> Sheet:
    """Return the days on which the plan picks."""
    rows = []
    for found in plan.rounds:
        tags = found.shrubs
        some = ", ".join(tags[:12]) + (f" and {len(tags) - 12} more" if len(tags) > 12 else "")
        kg = told(float(np.sum(found.kg)), "mass", units)
        metres = "–" if np.isnan(found.metres) else told(found.metres, "length", units, 0)
        stake = told(found.at_stake, "mass", units)
        minutes = f"{found.minutes:.0f} min"
        rows.append((day_told(found.day), len(tags), kg, minutes, metres, stake, some))
    columns = (
        "day", "shrubs", "loose and there", "work", "walk", "lost if it waits a week",
        "which, in walking order",
    )  # fmt: skip
    return Sheet("Rounds of picking", columns, tuple(rows))


def picks_sheet(plan: Picks, year: int, units: System) -> Sheet:
    """Return the shrubs with nuts to come, the ripest first."""
    unit = unit_of("mass", units).symbol
    order = np.argsort(plan.ripe, kind="stable").tolist()
    masses = (plan.kg, plan.kg_low, plan.kg_high, plan.at_stake)
    rows = tuple(
        (
            plan.tags[k],
            day_told(day_of(year, plan.ripe[k])),
            span_told(day_of(year, plan.ripe_low[k]), day_of(year, plan.ripe_high[k])),
            *(known(shown(float(kg[k]), "mass", units), 2) for kg in masses),
        )
        for k in order
    )
    lost = f"lost in a week, {unit}"
    columns = ("shrub", "half roll out", "four in five", f"crop, {unit}", "low", "high", lost)
    return Sheet("Nuts to come", columns, rows, tags=True)


def batches_sheet(batches: Sequence[DryingBatch], units: System) -> Sheet:
    """Return what is on the trays."""
    rows = tuple(
        (
            b.batch,
            b.status,
            _moisture(b),
            hours_told(b.hours),
            b.ready.told() if b.ready else "–",
            told(b.mass_kg[-1], "mass", units),
            len(b.mass_kg),
            day_told(b.last),
        )
        for b in batches
    )
    columns = (
        "batch", "how it is", "moisture", "to go then", "likely dry", "mass", "weighed",
        "last on",
    )  # fmt: skip
    return Sheet("On the trays", columns, rows)


def _moisture(batch: DryingBatch) -> str:
    if np.isnan(batch.moisture):
        return "–"
    middle, low, high = (
        f"{100 * m:.0f}" for m in (batch.moisture, batch.moisture_low, batch.moisture_high)
    )
    words = f"{middle} % ({low}–{high})"
    if batch.water_activity is not None:
        words += f"; water activity {activity_told(batch.water_activity)}"
    return words


def crop_years_chart(habit: CropHabit, units: System) -> Chart:
    """Return the crop of the whole planting year by year.

    Parameters
    ----------
    habit : crops by shrub and year
    units : of the planting
    """
    unit = unit_of("mass", units).symbol
    parts = (habit.total, habit.total_low, habit.total_high)
    kg, low, high = (np.array([shown(float(v), "mass", units) for v in p]) for p in parts)
    rows = tuple(
        (str(y), known(m, 1), known(a, 1), known(b, 1), int(n), int(h))
        for y, m, a, b, n, h in zip(
            habit.years.tolist(), kg, low, high, habit.shrubs, habit.half_by, strict=True
        )
    )
    columns = (
        "harvest",
        f"{unit} in shell",
        "low",
        "high",
        "shrubs picked",
        "shrubs that bore half",
    )
    title = "Crop of the planting, year by year"
    basis = f"Pickings on one footing ({habit.basis}); the line on a bar is the doubt of that."
    return Chart(
        "crop-years",
        title,
        _bars(title, habit, (kg, low, high), unit),
        Sheet(title, columns, rows),
        basis,
    )


def _bars(title: str, habit: CropHabit, parts: tuple[np.ndarray, ...], unit: str) -> str:
    kg, low, high = parts
    ticks = round_ticks(0, float(max(high.max(), 0.01)), 4)
    years = habit.years.tolist()
    axes = Axes(760, 270, years[0] - 0.6, years[-1] + 0.6, 0, ticks[-1])
    drawn = [
        f'<rect width="760" height="270" fill="{PAPER}"/>',
        *axes.up(ticks, unit, digits_of(ticks)),
    ]
    half = min(30.0, 0.36 * (axes.x(1) - axes.x(0)))
    for k, year in enumerate(years):
        x, top = axes.x(year), axes.y(float(kg[k]))
        span = f"({low[k]:.1f}–{high[k]:.1f})"
        words = f"{year}: {kg[k]:.1f} {unit} {span} of {int(habit.shrubs[k])} shrubs"
        drawn.append(
            f"<g><title>{words}</title>"
            f'<rect x="{x - half:.1f}" y="{top:.1f}" width="{2 * half:.1f}" '
            f'height="{axes.y(0) - top:.1f}" fill="#cab969" stroke="{INK}"/>'
            f'<path d="M{x:.1f} {axes.y(float(low[k])):.1f}V{axes.y(float(high[k])):.1f}" '
            f'stroke="{INK}" stroke-width="2"/></g>'
        )
    drawn += axes.along([(y, str(y)) for y in years], "harvest")
    return drawing(760, 270, title, drawn)
