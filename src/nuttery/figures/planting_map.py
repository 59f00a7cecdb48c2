"""The plan of the planting: every shrub in its place, marked by what is asked."""

import html
import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from nuttery.figures.look import FAINT, INK, PAPER, drawing, ink_on, shade, text

Mark = Literal["round", "square", "triangle", "ring", "gap"]
_LABELLED = 400
"""Above so many shrubs, tags would be too small to read and are left to the page's own search."""


@dataclass(frozen=True)
class Place:
    """One shrub on the plan.

    Attributes
    ----------
    tag : its name
    x, y : metres east and north
    value : 0 to 1, drawn as a shade; None is drawn empty
    mark : shape, so that colour is never alone
    words : what a reader is told on asking for it
    """

    tag: str
    x: float
    y: float
    value: float | None = None
    mark: Mark = "round"
    words: str = ""


def planting_map(
    places: Sequence[Place],
    *,
    title: str,
    legend: Sequence[tuple[Mark, float | None, str]] = (),
    width: float = 900,
) -> str:
    """Return the plan as SVG.

    Parameters
    ----------
    places : every shrub that has a place
    title : what it shows
    legend : (mark, value, words) of each kind of mark
    width : of the picture; the height follows from the planting
    """
    if not places:
        return drawing(width, 60, title, [text(20, 34, "No shrub has a place yet.", size=16)])
    west, east = min(p.x for p in places), max(p.x for p in places)
    south, north = min(p.y for p in places), max(p.y for p in places)
    margin, span = 56.0, max(east - west, north - south, 1.0)
    scale = (width - 2 * margin) / max(east - west, 0.35 * span, 1.0)
    height = (north - south) * scale + 2 * margin + 30 + 22 * len(legend)
    radius = min(22.0, max(2.0, 0.47 * _nearest(places) * scale))
    parts = [f'<rect width="{width:.0f}" height="{height:.0f}" fill="{PAPER}"/>']
    for place in places:
        at = (margin + (place.x - west) * scale, margin + (north - place.y) * scale)
        parts.append(_shrub(place, *at, radius=radius, labelled=len(places) <= _LABELLED))
    foot = margin + (north - south) * scale + 44
    parts += _scale_bar(margin, foot, scale) + _north(width - margin, foot)
    for k, (mark, value, words) in enumerate(legend):
        y = foot + 30 + 22 * k
        sample = Place("", 0, 0, value, mark)
        parts.append(_shrub(sample, margin + 8, y, radius=8, labelled=False))
        parts.append(text(margin + 26, y + 4, words, size=13))
    return drawing(width, height, title, parts)


def _nearest(places: Sequence[Place]) -> float:
    """Smallest distance between neighbours in the order given, metres."""
    steps = [((a.x - b.x) ** 2 + (a.y - b.y) ** 2) ** 0.5 for a, b in itertools.pairwise(places)]
    return min((step for step in steps if step > 0), default=2.0)


def _shrub(place: Place, x: float, y: float, *, radius: float, labelled: bool) -> str:
    fill = PAPER if place.value is None else shade(place.value)
    style = f'fill="{fill}" stroke="{INK}" stroke-width="1"'
    r = radius
    shape = {
        "round": f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{r:.1f}" {style}/>',
        "square": f'<rect x="{x - r:.1f}" y="{y - r:.1f}" width="{2 * r:.1f}" '
        f'height="{2 * r:.1f}" {style}/>',
        "triangle": f'<path d="M{x:.1f} {y - 1.15 * r:.1f} L{x + 1.1 * r:.1f} {y + 0.85 * r:.1f} '
        f'L{x - 1.1 * r:.1f} {y + 0.85 * r:.1f} Z" {style}/>',
        "ring": f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{r:.1f}" {style}/>'
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{0.6 * r:.1f}" fill="none" '
        f'stroke="{ink_on(fill)}" stroke-width="1.5"/>',
        "gap": f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{r:.1f}" fill="none" stroke="{FAINT}" '
        'stroke-dasharray="2 2"/>',
    }[place.mark]
    title = f"<title>{html.escape(f'{place.tag}: {place.words}')}</title>" if place.words else ""
    label = ""
    if labelled and place.tag and radius >= 6:
        size = min(12.0, 0.72 * radius)
        extra = f'text-anchor="middle" fill="{ink_on(fill)}" pointer-events="none"'
        label = text(x, y + 0.35 * size, place.tag, size=size, extra=extra)
    return f'<g data-tag="{place.tag}">{title}{shape}{label}</g>'


def _scale_bar(x: float, y: float, scale: float) -> list[str]:
    metres = next((m for m in (50, 20, 10, 5, 2, 1) if m * scale <= 180), 1)
    end = x + metres * scale
    return [
        f'<path d="M{x:.1f} {y - 4:.1f} v4 H{end:.1f} v-4" fill="none" stroke="{FAINT}"/>',
        text(end + 6, y, f"{metres} m", size=12, extra=f'fill="{FAINT}"'),
    ]


def _north(x: float, y: float) -> list[str]:
    return [
        f'<path d="M{x:.1f} {y:.1f} v-22 m-5 8 l5 -8 l5 8" fill="none" stroke="{FAINT}"/>',
        text(x + 9, y - 8, "north", size=12, extra=f'fill="{FAINT}"'),
    ]
