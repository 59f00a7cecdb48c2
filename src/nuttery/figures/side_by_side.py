"""Siblings side by side: one dot with its interval for each shrub, trait by trait."""

import html
import textwrap
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from nuttery.figures.axes import GRID, round_ticks
from nuttery.figures.chart import Chart, Sheet, known
from nuttery.figures.look import ACCENT, FAINT, INK, PAPER, drawing, text
from nuttery.season import day_told
from nuttery.season.estimate import day_of
from nuttery.season.siblings import Comparison, Trait

_STEP, _SIDE, _WIDTH, _HEAD = 22.0, 84.0, 1180.0, 62.0
ROWS = 60
"""Shrubs drawn; the sheet holds them all."""


@dataclass(frozen=True)
class _Column:
    """One trait's strip on the paper."""

    trait: Trait
    left: float
    width: float
    low: float
    high: float
    tell: Callable[[float], str]

    def x(self, value: float) -> float:
        span = self.high - self.low or 1.0
        return self.left + (value - self.low) / span * self.width


def siblings_chart(found: Comparison, *, by: str = "") -> Chart:
    """Return the comparison, the shrubs in the order of one trait.

    Parameters
    ----------
    found : siblings as the season room compares them
    by : name of the trait that orders them; walking order if it is none of them
    """
    order = ordered(found, by)
    drawn = order[:ROWS]
    told = "A dot is the middle, the line through it holds four in five; a dot alone has none."
    if len(order) > ROWS:
        told += f" The first {ROWS} of {len(order)} shrubs are drawn; the table holds all."
    title = f"Siblings of {found.lot} side by side"
    return Chart("siblings", title, _picture(found, drawn, by), siblings_sheet(found, order), told)


def ordered(found: Comparison, by: str) -> list[int]:
    """Rows in the order of a trait, the largest first, unknown ones last; walking order without."""
    trait = next((t for t in found.traits if t.name == by), None)
    if trait is None:
        return list(range(len(found.tags)))
    unknown_last = np.nan_to_num(trait.median, nan=-np.inf)
    return [int(k) for k in np.argsort(-unknown_last, kind="stable")]


def siblings_sheet(found: Comparison, order: Sequence[int]) -> Sheet:
    """Return every trait of every shrub with its interval and records."""
    columns = ["shrub"]
    for t in found.traits:
        columns += [f"{t.name}, {t.unit}", "low", "high", "records"]
    rows = tuple((found.tags[k], *(c for t in found.traits for c in _cells(t, k))) for k in order)
    return Sheet(f"Siblings of {found.lot}", tuple(columns), rows, tags=True)


def _cells(trait: Trait, k: int) -> tuple[float | int | None, ...]:
    middle = known(trait.median[k], 2)
    if middle is None:
        return None, None, None, None
    return middle, known(trait.low[k], 2), known(trait.high[k], 2), int(trait.records[k])


def _picture(found: Comparison, rows: Sequence[int], by: str) -> str:
    columns = _columns(found)
    foot = _HEAD + _STEP * len(rows)
    height = foot + 34
    parts = [f'<rect width="{_WIDTH:.0f}" height="{height:.0f}" fill="{PAPER}"/>']
    for r, k in enumerate(rows):
        y = _HEAD + _STEP * r + _STEP / 2
        parts.append(f'<path d="M8 {y + _STEP / 2:.1f}H{_WIDTH - 8:.0f}" stroke="{GRID}"/>')
        parts.append(text(8, y + 5, found.tags[k], size=14))
        parts += [_dot(found, column, k, y) for column in columns]
    for column in columns:
        parts += _head(column, foot, chosen=column.trait.name == by)
    return drawing(_WIDTH, height, f"Siblings of {found.lot}", parts)


def _columns(found: Comparison) -> list[_Column]:
    width = (_WIDTH - _SIDE) / max(len(found.traits), 1)
    made = []
    for c, trait in enumerate(found.traits):
        ends = np.concatenate([trait.median, trait.low, trait.high])
        ends = ends[~np.isnan(ends)]
        low, high = (float(ends.min()), float(ends.max())) if ends.size else (0.0, 1.0)
        if trait.unit != "day":
            ticks = round_ticks(min(low, 0.0 if low < 0.4 * high else low), high, 2)
            low, high = ticks[0], ticks[-1]
        left = _SIDE + c * width + 8
        made.append(_Column(trait, left, width - 22, low, high, _teller(found.year, trait.unit)))
    return made


def _teller(year: int, unit: str) -> Callable[[float], str]:
    if unit == "day":
        return lambda value: day_told(day_of(year, value))
    return lambda value: f"{value:.3g}"


def _head(column: _Column, foot: float, *, chosen: bool) -> list[str]:
    x, trait = column.left, column.trait
    faint = f'fill="{FAINT}"'
    ink = f'fill="{ACCENT if chosen else INK}"'
    name = [*textwrap.wrap(("▾ " if chosen else "") + trait.name, 13)][:2]
    unit = "" if trait.unit == "day" else textwrap.shorten(trait.unit, 16, placeholder=" …")
    far, low, high = x + column.width, column.tell(column.low), column.tell(column.high)
    return [
        f'<path d="M{x - 12:.1f} 12V{foot:.1f}" stroke="{GRID}"/>',
        *(text(x, 20 + 16 * k, line, size=13, extra=ink) for k, line in enumerate(name)),
        text(x, 52, unit, size=11, extra=faint),
        text(x, foot + 18, low, size=11, extra=faint),
        text(far, foot + 18, high, size=11, extra=f'text-anchor="end" {faint}'),
    ]


def _dot(found: Comparison, column: _Column, k: int, y: float) -> str:
    trait = column.trait
    if np.isnan(trait.median[k]):
        return text(column.left, y + 4, "–", size=12, extra=f'fill="{FAINT}"')
    middle = column.x(float(trait.median[k]))
    line, span = "", ""
    if not np.isnan(trait.low[k]):
        a, b = float(trait.low[k]), float(trait.high[k])
        span = f" ({column.tell(a)}–{column.tell(b)})"
        ends = f"M{column.x(a):.1f} {y:.1f}H{column.x(b):.1f}"
        line = f'<path d="{ends}" stroke="{FAINT}" stroke-width="2"/>'
    told = f"{found.tags[k]}, {trait.name}: {column.tell(float(trait.median[k]))}{span}"
    return (
        f"<g><title>{html.escape(told)}</title>{line}"
        f'<circle cx="{middle:.1f}" cy="{y:.1f}" r="5" fill="{INK}"/></g>'
    )
