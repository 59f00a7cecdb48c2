"""The plan of the planting: every shrub in its place, marked by what is asked."""

import html
import itertools
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from nuttery.figures.look import FAINT, PAPER, drawing, ink_on, shade, text
from nuttery.figures.marks import Mark, mark

__all__ = ["Mark", "Place", "planting_map"]
_LABELLED = 400
"""Above so many shrubs, tags would be too small to read and are left to the page's own search."""
_SMALLEST = 3.6
"""Half the least distance between neighbours on the paper; a large planting is drawn larger."""
_MARGIN = 56.0


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


@dataclass(frozen=True)
class _Sheet:
    """How metres come onto the paper."""

    west: float
    north: float
    scale: float
    width: float
    radius: float

    def at(self, place: Place) -> tuple[float, float]:
        return (
            _MARGIN + (place.x - self.west) * self.scale,
            _MARGIN + (self.north - place.y) * self.scale,
        )


def planting_map(
    places: Sequence[Place],
    *,
    title: str,
    legend: Sequence[tuple[Mark, float | None, str]] = (),
    width: float = 900,
    linked: str = "",
) -> str:
    """Return the plan as SVG.

    Parameters
    ----------
    places : every shrub that has a place
    title : what it shows
    legend : (mark, value, words) of each kind of mark
    width : of the picture; more where a large planting needs it, the height follows
    linked : address of a shrub's page with {} for its tag; every shrub is then a link
    """
    if not places:
        return drawing(width, 60, title, [text(20, 34, "No shrub has a place yet.", size=16)])
    sheet = _sheet(places, width)
    foot = max(sheet.at(place)[1] for place in places) + 44
    height = foot + 42 + 22 * len(legend)
    parts = [f'<rect width="{sheet.width:.0f}" height="{height:.0f}" fill="{PAPER}"/>']
    parts += _row_names(places, sheet)
    parts += _shrubs(places, sheet, linked)
    parts += _scale_bar(_MARGIN, foot, sheet.scale) + _north(sheet.width - _MARGIN, foot)
    for k, (kind, value, words) in enumerate(legend):
        y = foot + 30 + 22 * k
        parts.append(mark(kind, _MARGIN + 8, y, 8, value))
        parts.append(text(_MARGIN + 26, y + 4, words, size=13))
    return drawing(sheet.width, height, title, parts)


def _sheet(places: Sequence[Place], width: float) -> _Sheet:
    west, east = min(p.x for p in places), max(p.x for p in places)
    south, north = min(p.y for p in places), max(p.y for p in places)
    span = max(east - west, north - south, 1.0)
    across = max(east - west, 0.35 * span, 1.0)
    nearest = _nearest(places)
    scale = max((width - 2 * _MARGIN) / across, 2 * _SMALLEST / nearest)
    radius = min(22.0, max(2.0, 0.47 * nearest * scale))
    return _Sheet(west, north, scale, max(width, across * scale + 2 * _MARGIN), radius)


def _nearest(places: Sequence[Place]) -> float:
    """Usual distance between neighbours in the order given, metres; lone ones far off aside."""
    steps = [((a.x - b.x) ** 2 + (a.y - b.y) ** 2) ** 0.5 for a, b in itertools.pairwise(places)]
    apart = sorted(step for step in steps if step > 0.05)
    return apart[len(apart) // 10] if apart else 2.0


def _shrubs(places: Sequence[Place], sheet: _Sheet, linked: str) -> Iterator[str]:
    """Marks, each shape and shade drawn once and used again: a large plan stays small to send."""
    shapes: dict[tuple[Mark, float | None], str] = {}
    for place in places:
        shapes.setdefault((place.mark, place.value), f"m{len(shapes)}")
    yield "<defs>"
    for (kind, value), name in shapes.items():
        yield f'<g id="{name}">{mark(kind, 0, 0, sheet.radius, value)}</g>'
    yield "</defs>"
    labelled = len(places) <= _LABELLED and sheet.radius >= 6
    for place in places:
        yield _shrub(place, sheet, shapes[place.mark, place.value], linked, labelled=labelled)


def _shrub(place: Place, sheet: _Sheet, shape: str, linked: str, *, labelled: bool) -> str:
    x, y = sheet.at(place)
    tag = html.escape(place.tag)
    told = f"{place.tag}: {place.words}" if place.words else place.tag
    inside = f'<title>{html.escape(told)}</title><use href="#{shape}" x="{x:.1f}" y="{y:.1f}"/>'
    if labelled and place.tag:
        size = min(12.0, 0.72 * sheet.radius)
        fill = ink_on(PAPER if place.value is None else shade(place.value))
        extra = f'text-anchor="middle" fill="{fill}" pointer-events="none"'
        inside += text(x, y + 0.35 * size, place.tag, size=size, extra=extra)
    if not linked:
        return f'<g data-tag="{tag}">{inside}</g>'
    address = html.escape(linked.format(place.tag))
    return f'<a href="{address}" tabindex="-1" data-tag="{tag}">{inside}</a>'


def _row_names(places: Iterable[Place], sheet: _Sheet) -> Iterator[str]:
    """What stands before the first dash of the tags, at the end of each line of shrubs."""
    lines: dict[float, list[Place]] = {}
    for place in places:
        lines.setdefault(round(place.y, 1), []).append(place)
    for members in lines.values():
        names = {place.tag.partition("-")[0] for place in members if "-" in place.tag}
        if len(members) < 2 or len(names) != 1:
            continue
        x, y = sheet.at(min(members, key=lambda place: place.x))
        extra = f'text-anchor="end" fill="{FAINT}"'
        yield text(x - sheet.radius - 8, y + 4, f"row {names.pop()}", size=11, extra=extra)


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
