"""A stool seen from above: every cane at its place, shaded by age, those to saw out marked."""

import html
import math
from collections.abc import Iterator, Sequence

from nuttery.figures.chart import Sheet
from nuttery.figures.look import ACCENT, FAINT, INK, PAPER, drawing, ink_on, shade, text
from nuttery.season.stool_view import CaneView, Doing, StoolView
from nuttery.season.stools import AGES

SIZE = 420.0
_CENTRE, _RING = 200.0, 100.0
_ROOM = 11
"""Canes that one ring holds without touching; more stand on two."""
LEGEND: tuple[tuple[Doing, str], ...] = (
    ("stays", "cane that stays"),
    ("saw out", "cane to saw out"),
    ("keep", "sucker to keep"),
    ("take away", "sucker to take away"),
)


def stool_picture(stool: StoolView) -> str:
    """Return a stool as SVG; canes of which no place was told fill the gaps, the oldest inside.

    Parameters
    ----------
    stool : as the season room tells it
    """
    used = [(doing, words) for doing, words in LEGEND if _some(stool, doing)]
    height = SIZE - 4 + 26 * len(used)
    parts = [f'<rect width="{SIZE:.0f}" height="{height:.0f}" fill="{PAPER}"/>', *_ground()]
    for cane, (x, y) in zip(stool.canes, _places(stool.canes), strict=True):
        parts += _cane(cane, x, y)
    for k, (doing, words) in enumerate(used):
        y = SIZE + 2 + 26 * k
        sample = CaneView("", 5 if doing in {"stays", "saw out"} else 1, None, 30.0, doing)
        parts += _shape(sample, 34, y, 11)
        count = sum(cane.doing == doing for cane in stool.canes)
        parts.append(text(58, y + 5, f"{words}: {count}", size=15))
    return drawing(SIZE, height, f"Stool {stool.tag} seen from above", parts)


def _some(stool: StoolView, doing: Doing) -> bool:
    return any(cane.doing == doing for cane in stool.canes)


def _ground() -> Iterator[str]:
    c = _CENTRE
    yield f'<circle cx="{c}" cy="{c}" r="160" fill="none" stroke="{FAINT}" stroke-dasharray="2 5"/>'
    for words, degrees in (("N", 0), ("E", 90), ("S", 180), ("W", 270)):
        x, y = _at(degrees, 178)
        extra = f'text-anchor="middle" fill="{FAINT}"'
        yield text(x, y + 6, words, size=16, extra=extra)


def _at(degrees: float, reach: float) -> tuple[float, float]:
    turn = math.radians(degrees)
    return _CENTRE + reach * math.sin(turn), _CENTRE - reach * math.cos(turn)


def _places(canes: Sequence[CaneView]) -> list[tuple[float, float]]:
    """Labelled canes stand where the compass says; the rest share what is free around them.

    Old canes stand towards the middle, suckers at the rim: where many stand, this keeps them apart.
    """
    crowded = sum(cane.age > 1 for cane in canes) > _ROOM
    rings = [_ring(cane, crowded=crowded) for cane in canes]
    found: dict[int, float] = {}
    for ring in sorted(set(rings)):
        mine = [k for k, r in enumerate(rings) if r == ring]
        told = {k: c for k in mine if (c := canes[k].compass) is not None}
        free = [k for k in mine if k not in told]
        found |= told
        found |= dict(zip(free, _gaps(sorted(told.values()), len(free), ring), strict=True))
    return [_at(found[k], reach) for k, reach in enumerate(rings)]


def _ring(cane: CaneView, *, crowded: bool) -> float:
    if cane.age == 1:
        return 148.0
    return 52.0 if crowded and cane.age >= 7 and cane.compass is None else _RING


def _gaps(taken: list[float], wanted: int, ring: float) -> list[float]:
    """Directions spread evenly over the widest gaps between those taken."""
    spots = list(taken)
    added: list[float] = []
    if not spots and wanted:
        return [(ring + 360 * k / wanted) % 360 for k in range(wanted)]
    for _ in range(wanted):
        order = sorted(spots)
        around = [*order[1:], order[0] + 360]
        width, start = max((b - a, a) for a, b in zip(order, around, strict=True))
        added.append((start + width / 2) % 360)
        spots.append(added[-1])
    return added


def _cane(cane: CaneView, x: float, y: float) -> Iterator[str]:
    """The shape with its age on it, and a few words on asking."""
    radius = _radius(cane)
    yield f"<g><title>{html.escape(_words(cane))}</title>"
    yield from _shape(cane, x, y, radius)
    if cane.age > 1:
        fill = ink_on(_fill(cane))
        size = min(16.0, 1.05 * radius)
        extra = f'text-anchor="middle" fill="{fill}" pointer-events="none"'
        yield text(x, y + 0.35 * size, _age_told(cane.age), size=size, extra=extra)
    yield "</g>"


def _radius(cane: CaneView) -> float:
    """Grows with the diameter, or with the age where none was measured."""
    if cane.age == 1:
        return 8.0
    thick = cane.diameter_mm if cane.diameter_mm is not None else 8.0 + 4.0 * cane.age
    return min(24.0, max(11.0, 6.0 + 0.32 * thick))


def _fill(cane: CaneView) -> str:
    return shade(1 - (cane.age - 1) / (AGES - 2))


def _shape(cane: CaneView, x: float, y: float, r: float) -> Iterator[str]:
    """Round for a cane that stays, a crossed square for one to go; triangles for suckers."""
    fill = _fill(cane)
    if cane.doing == "stays":
        yield f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{r:.1f}" fill="{fill}" stroke="{INK}"/>'
    elif cane.doing == "saw out":
        a, b, s = x - r, y - r, 2 * r
        yield (
            f'<rect x="{a:.1f}" y="{b:.1f}" width="{s:.1f}" height="{s:.1f}" fill="{fill}" '
            f'stroke="{ACCENT}" stroke-width="3"/>'
            f'<path d="M{a - 5:.1f} {b + s + 5:.1f} l{s + 10:.1f} {-s - 10:.1f}" stroke="{ACCENT}" '
            f'stroke-width="3"/>'
        )
    else:
        inside = PAPER if cane.doing == "take away" else fill
        dash = ' stroke-dasharray="2 2"' if cane.doing == "take away" else ""
        yield (
            f'<path d="M{x:.1f} {y - 1.1 * r:.1f}l{r:.1f} {1.9 * r:.1f}h{-2 * r:.1f}Z" '
            f'fill="{inside}" stroke="{INK}"{dash}/>'
        )


def _age_told(age: int) -> str:
    return f"{age}+" if age == AGES - 1 else str(age)


def _words(cane: CaneView) -> str:
    name = f"cane {cane.label}" if cane.label else "a cane without a label"
    years = "a winter" if cane.age == 1 else f"{_age_told(cane.age)} winters"
    thick = f", {cane.diameter_mm:.0f} mm at the base" if cane.diameter_mm is not None else ""
    where = "" if cane.compass is not None else "; its place on the stool was not told"
    return f"{name}, {years}{thick}: {cane.doing}{where}"


def stool_sheet(stool: StoolView) -> Sheet:
    """Return every cane with its age, place, thickness, and what the plan wants of it."""
    rows = tuple(
        (c.label or "–", _age_told(c.age), c.compass, c.diameter_mm, c.doing) for c in stool.canes
    )
    columns = ("cane", "age, winters", "degrees from north", "mm at the base", "what to do")
    return Sheet(f"Canes of {stool.tag}", columns, rows)
