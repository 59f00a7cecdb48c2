"""The plan of the planting: every shrub in its place, marked by what is asked."""

import html
import itertools
import textwrap
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from nuttery.figures.look import FAINT, INK, PAPER, drawing, ink_on, shade, text
from nuttery.figures.marks import Mark, mark

__all__ = ["Mark", "Place", "planting_map"]
_LABELLED = 400
"""Above so many shrubs, tags would be too small to read and are left to the page's own search."""
_SMALLEST = 3.6
"""Half the least distance between neighbours on the paper; a large planting is drawn larger."""
_MARGIN, _TOP, _LEGEND = 64.0, 40.0, 330.0
"""Space left of the rows and above them, and what a legend needs beside them."""


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
    """How metres come onto the paper, and where the legend stands."""

    west: float
    north: float
    scale: float
    radius: float
    width: float
    foot: float
    beside: float | None
    below: bool

    def at(self, place: Place) -> tuple[float, float]:
        """Where a shrub stands on the paper."""
        return (
            _MARGIN + (place.x - self.west) * self.scale,
            _TOP + (self.north - place.y) * self.scale,
        )


def planting_map(
    places: Sequence[Place],
    *,
    title: str,
    legend: Sequence[tuple[Mark, float | None, str]] = (),
    width: float = 900,
    tallest: float = 900,
    linked: str = "",
) -> str:
    """Return the plan as SVG.

    Parameters
    ----------
    places : every shrub that has a place
    title : what it shows
    legend : (mark, value, words) of each kind of mark
    width : of the picture; more where a large planting needs it
    tallest : of the rows of shrubs on the paper, unless marks would become too small
    linked : address of a shrub's page with {} for its tag; every shrub is then a link
    """
    if not places:
        return drawing(width, 60, title, [text(20, 34, "No shrub has a place yet.", size=16)])
    sheet = _sheet(places, width, tallest)
    height = sheet.foot + 24
    if sheet.beside is None:
        height += 14 + 24 * len(legend)
    parts = [f'<rect width="{sheet.width:.0f}" height="{height:.0f}" fill="{PAPER}"/>']
    parts += _row_names(places, sheet)
    parts += _shrubs(places, sheet, linked)
    east = max(sheet.at(place)[0] for place in places)
    parts += _scale_bar(_MARGIN, sheet.foot, sheet.scale) + _north(east, sheet.foot)
    parts += _legend(legend, sheet)
    return drawing(sheet.width, height, title, parts, role="group" if linked else "img")


def _sheet(places: Sequence[Place], width: float, tallest: float) -> _Sheet:
    west, east = min(p.x for p in places), max(p.x for p in places)
    south, north = min(p.y for p in places), max(p.y for p in places)
    nearest = _nearest(places)
    across, down = max(east - west, 4 * nearest), max(north - south, nearest)
    fits = min((width - 2 * _MARGIN) / across, tallest / down)
    scale = max(fits, 2 * _SMALLEST / nearest)
    radius = min(22.0, max(2.0, 0.43 * nearest * scale))
    right = _MARGIN + across * scale + radius + 40
    beside = right if right + _LEGEND <= width else None
    wide = width if beside else max(width, right + 16)
    below = _between_rows(places) * scale > 2.2 * radius + 14
    foot = _TOP + down * scale + radius + 40
    return _Sheet(west, north, scale, radius, wide, foot, beside, below)


def _legend(legend: Sequence[tuple[Mark, float | None, str]], sheet: _Sheet) -> Iterator[str]:
    """Beside the rows where there is room, else below them."""
    x, y = (_MARGIN, sheet.foot + 30) if sheet.beside is None else (sheet.beside, _TOP + 6)
    room = (sheet.width - x - 40) / 8.0
    for kind, value, words in legend:
        yield mark(kind, x + 8, y, 9, value)
        for line in textwrap.wrap(words, int(room)):
            yield text(x + 28, y + 5, line, size=14)
            y += 18
        y += 10 if sheet.beside else 6


def _between_rows(places: Iterable[Place]) -> float:
    """Least distance between lines of shrubs, metres; labels then stand below the marks."""
    lines = sorted({round(place.y, 1) for place in places})
    return min((b - a for a, b in itertools.pairwise(lines) if b - a > 0.5), default=5.0)


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
        inside += _label(place, sheet, x, y)
    if not linked:
        return f'<g data-tag="{tag}">{inside}</g>'
    address = html.escape(linked.format(place.tag))
    return f'<a href="{address}" tabindex="-1" data-tag="{tag}">{inside}</a>'


def _label(place: Place, sheet: _Sheet, x: float, y: float) -> str:
    size = min(12.0, 0.8 * sheet.radius, 3.9 * sheet.radius / len(place.tag))
    fill, down = INK, 1.15 * sheet.radius + size
    if not sheet.below:
        fill = ink_on(PAPER if place.value is None else shade(place.value))
        down = 0.35 * size
    extra = f'text-anchor="middle" fill="{fill}" pointer-events="none"'
    return text(x, y + down, place.tag, size=size, extra=extra)


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
        yield text(x - sheet.radius - 6, y + 4, f"row {names.pop()}", size=11, extra=extra)


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
