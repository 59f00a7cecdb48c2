"""The picking strip: each shrub's window of roll-out as a bar, its visits as marks on days."""

import html
from collections.abc import Iterable
from datetime import date, timedelta

import numpy as np

from nuttery.figures.chart import Chart, Sheet, known
from nuttery.figures.look import ACCENT, FAINT, INK, PAPER, drawing, shade, text
from nuttery.records import System, shown, told, unit_of
from nuttery.season.estimate import day_of, day_told, span_told
from nuttery.season.harvest import Picks

WIDTH, LEFT, RIGHT, TOP = 760.0, 84.0, 70.0, 66.0
MOST = 60
"""More shrubs than so are drawn a page each of so many, in walking order."""
GRID = "#d9d5c7"


def picking_strips(plan: Picks, units: System) -> tuple[Chart, ...]:
    """Return the strip of the shrubs with nuts to come, in walking order, a page of them each.

    Parameters
    ----------
    plan : the picking plan
    units : of the planting
    """
    pages = max(1, -(-len(plan.tags) // MOST))
    parts = np.array_split(np.arange(len(plan.tags)), pages)
    return tuple(
        _strip(plan, rows.tolist(), units, f" ({k} of {pages})" if pages > 1 else "", k)
        for k, rows in enumerate(parts, start=1)
    )


def _strip(plan: Picks, rows: list[int], units: System, page: str, number: int) -> Chart:
    title = f"When to pick which shrub, from {day_told(plan.first)}{page}"
    unit = unit_of("mass", units).symbol
    tall = 16.0 if len(rows) <= 30 else 11.0
    height = TOP + tall * len(rows) + 26
    most = max((float(plan.kg[k]) for k in rows), default=1.0)
    drawn = [f'<rect width="{WIDTH:.0f}" height="{height:.0f}" fill="{PAPER}"/>', *_head(unit)]
    drawn += _days(plan, TOP + tall * len(rows))
    for place, k in enumerate(rows):
        drawn += _shrub(plan, k, TOP + tall * place, tall=tall, units=units, most=most)
    if not rows:
        drawn.append(text(LEFT, TOP + 16, "No nuts are expected within the days planned.", size=13))
    told_by = (
        "A bar is the span in which half of a shrub's nuts roll out (four times in five), its tick "
        "the middle, left out where that is past; darker bars carry more. A ringed dot is a visit; "
        "a bar without one gets none."
    )
    name = f"picking-strip-{number}" if page else "picking-strip"
    return Chart(
        name, title, drawing(WIDTH, height, title, drawn), _sheet(plan, rows, unit), told_by
    )


def _x(plan: Picks, day: float) -> float:
    """Place of a day counted from the plan's first."""
    return LEFT + (min(max(day, 0.0), _span(plan)) / _span(plan)) * (WIDTH - LEFT - RIGHT)


def _span(plan: Picks) -> float:
    return float(plan.visits.shape[1]) or 1.0


def _head(unit: str) -> list[str]:
    y, faint = 18.0, f'fill="{FAINT}"'
    mark = f'<circle cx="{LEFT + 246:.0f}" cy="{y - 4:.0f}" r="4" fill="{PAPER}" stroke="{ACCENT}" '
    bar = f'<rect x="{LEFT:.0f}" y="{y - 9:.0f}" width="34" height="9" fill="{shade(0.75)}" '
    return [
        f'{bar}stroke="{INK}" stroke-width="0.6"/>',
        text(LEFT + 40, y, "half roll out, middle ticked", size=12, extra=faint),
        f'{mark}stroke-width="2"/>',
        text(LEFT + 256, y, "visit", size=12, extra=faint),
        text(WIDTH - 8, TOP - 8, unit, size=12, extra=f'text-anchor="end" {faint}'),
    ]


def _days(plan: Picks, foot: float) -> Iterable[str]:
    """A line each Monday with its date, and the first day."""
    for ahead in range(plan.visits.shape[1]):
        day = plan.first + timedelta(days=ahead)
        if day.weekday() == 0 or ahead == 0:
            x = _x(plan, ahead + 0.5)
            yield f'<path d="M{x:.1f} {TOP - 4:.1f}V{foot:.1f}" stroke="{GRID}"/>'
            next_monday = (7 - plan.first.weekday()) % 7
            if ahead or next_monday > 3 or next_monday == 0:
                extra = f'text-anchor="middle" fill="{FAINT}"'
                yield text(x, TOP - 8, day_told(day), size=12, extra=extra)


def _shrub(
    plan: Picks, k: int, top: float, *, tall: float, units: System, most: float
) -> Iterable[str]:
    middle_y, size = top + tall / 2, min(12.0, tall)
    low, middle, high = (
        _x(plan, _ahead(plan, float(day[k])) + 0.5)
        for day in (plan.ripe_low, plan.ripe, plan.ripe_high)
    )
    kg = told(float(plan.kg[k]), "mass", units)
    days = [plan.first + timedelta(days=int(d)) for d in np.flatnonzero(plan.visits[k])]
    visits = ", ".join(map(day_told, days)) or "no round of its own"
    words = html.escape(f"{plan.tags[k]}: {kg}, {_window(plan, k)}; {visits}")
    colour = shade(0.95 - 0.75 * float(plan.kg[k]) / max(most, 1e-9))
    yield text(LEFT - 8, middle_y + 4, plan.tags[k], size=size, extra='text-anchor="end"')
    yield (
        f"<g><title>{words}</title>"
        f'<rect x="{low:.1f}" y="{middle_y - tall * 0.3:.1f}" width="{max(high - low, 2):.1f}" '
        f'height="{tall * 0.6:.1f}" fill="{colour}" stroke="{INK}" stroke-width="0.6"/>'
        f"{_tick(middle, middle_y, tall) if _ahead(plan, float(plan.ripe[k])) >= 0 else ''}</g>"
    )
    for day in np.flatnonzero(plan.visits[k]).tolist():
        yield (
            f'<circle cx="{_x(plan, day + 0.5):.1f}" cy="{middle_y:.1f}" r="{tall * 0.32:.1f}" '
            f'fill="{PAPER}" stroke="{ACCENT}" stroke-width="2"/>'
        )
    number = f"{shown(float(plan.kg[k]), 'mass', units):.2f}"
    yield text(WIDTH - 8, middle_y + 4, number, size=size, extra='text-anchor="end"')


def _tick(x: float, y: float, tall: float) -> str:
    top = y - tall * 0.45
    return f'<path d="M{x:.1f} {top:.1f}v{tall * 0.9:.1f}" stroke="{INK}" stroke-width="2.2"/>'


def _ahead(plan: Picks, day_of_year: float) -> float:
    """Days from the plan's first to a day of year."""
    return float(day_of_year - (plan.first - date(plan.first.year, 1, 1)).days - 1)


def _window(plan: Picks, k: int) -> str:
    year = plan.first.year
    middle, low, high = (
        day_of(year, float(day[k])) for day in (plan.ripe, plan.ripe_low, plan.ripe_high)
    )
    return f"{day_told(middle)} ({span_told(low, high)})"


def _sheet(plan: Picks, rows: list[int], unit: str) -> Sheet:
    cells = tuple(
        (
            plan.tags[k],
            _window(plan, k),
            known(shown(float(plan.kg[k]), "mass", "US" if unit == "lb" else "metric"), 2),
            ", ".join(
                day_told(plan.first + timedelta(days=int(d)))
                for d in np.flatnonzero(plan.visits[k])
            )
            or "–",
        )
        for k in rows
    )
    columns = ("shrub", "half roll out", f"hangs there, {unit}", "visits")
    return Sheet("When to pick which shrub", columns, cells, tags=True)
