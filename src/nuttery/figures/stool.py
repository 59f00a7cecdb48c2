"""A stool seen from above: every cane at its place, shaded by age, those to saw out marked."""

import html
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from nuttery.figures.chart import Sheet
from nuttery.figures.look import ACCENT, FAINT, INK, PAPER, drawing, ink_on, shade, text
from nuttery.season.stool_view import CaneView, Doing, StoolView
from nuttery.season.stools import AGES

SIZE = 420.0
_CENTRE, _RING = 200.0, 100.0
_ROOM = 11
"""Canes that one ring holds without touching; more stand on two, the oldest inside."""
_INNER, _OUTER, _RIM = 52.0, 112.0, 148.0
_INSIDE = 0.3
"""Share of a crowded stool's canes that stands on the inner ring."""
_CARD = 176.0
"""Half the width of a card's picture."""
LEGEND: tuple[tuple[Doing, str], ...] = (
    ("stays", "cane that stays"),
    ("saw out", "cane to saw out"),
    ("keep", "sucker to keep"),
    ("take away", "sucker to take away"),
)


@dataclass(frozen=True)
class _Hand:
    """How large shapes, figures and letters are drawn, and which letters, how far out."""

    least: float
    most: float
    sucker: float
    figures: float
    letters: float
    winds: str
    rim: float


_ON_SCREEN = _Hand(11.0, 24.0, 8.0, 16.0, 16.0, "NESW", 178.0)
_ON_A_CARD = _Hand(21.0, 26.0, 14.0, 27.0, 26.0, "N", 161.0)


def stool_picture(stool: StoolView) -> str:
    """Return a stool as SVG; canes of which no place was told fill the gaps, the oldest inside.

    Parameters
    ----------
    stool : as the season room tells it
    """
    used = [(doing, words) for doing, words in LEGEND if _some(stool, doing)]
    height = SIZE + 20 + 26 * len(used)
    parts = [f'<rect width="{SIZE:.0f}" height="{height:.0f}" fill="{PAPER}"/>']
    parts += _seen(stool, _ON_SCREEN)
    for k, (doing, words) in enumerate(used):
        y = SIZE + 2 + 26 * k
        parts += _shape(_sample(doing), 34, y, 11)
        count = sum(cane.doing == doing for cane in stool.canes)
        parts.append(text(58, y + 5, f"{words}: {count}", size=15))
    y = SIZE + 5 + 26 * len(used)
    parts.append(text(22, y, "In a shape: its age in winters; darker is older.", size=15))
    return drawing(SIZE, height, f"Stool {stool.tag} seen from above", parts)


def stool_on_card(stool: StoolView) -> str:
    """Return a stool as SVG to be printed some 30 mm wide, without a key.

    Parameters
    ----------
    stool : as the season room tells it
    """
    parts = _seen(stool, _ON_A_CARD)
    off = _CENTRE - _CARD
    moved = [f'<g transform="translate({-off:g} {-off:g})">', *parts, "</g>"]
    return drawing(2 * _CARD, 2 * _CARD, f"Stool {stool.tag} seen from above", moved)


def stool_key() -> str:
    """Return the key to stools on cards, as SVG: what each shape means."""
    parts: list[str] = []
    for k, (doing, words) in enumerate(LEGEND):
        x = 16.0 + 180 * k
        parts += _shape(_sample(doing), x, 15, 9)
        parts.append(text(x + 20, 20, words, size=14))
    return drawing(740, 30, "What the shapes of canes mean", parts)


def _sample(doing: Doing) -> CaneView:
    return CaneView("", 5 if doing in {"stays", "saw out"} else 1, None, 30.0, doing)


def _seen(stool: StoolView, hand: _Hand) -> list[str]:
    parts = [*_ground(hand)]
    rings = _rings(stool.canes)
    fits = _largest(rings)
    radii = [min(_radius(c, hand), fits[ring]) for c, ring in zip(stool.canes, rings, strict=True)]
    places = _places(stool.canes, rings, radii)
    for cane, radius, (x, y) in zip(stool.canes, radii, places, strict=True):
        parts += _cane(cane, x, y, radius, hand)
    return parts


def _some(stool: StoolView, doing: Doing) -> bool:
    return any(cane.doing == doing for cane in stool.canes)


def _ground(hand: _Hand) -> Iterator[str]:
    c = _CENTRE
    yield f'<circle cx="{c}" cy="{c}" r="160" fill="none" stroke="{FAINT}" stroke-dasharray="2 5"/>'
    for words in hand.winds:
        x, y = _at(90.0 * "NESW".index(words), hand.rim)
        extra = f'text-anchor="middle" fill="{FAINT}"'
        yield text(x, y + 0.36 * hand.letters, words, size=hand.letters, extra=extra)


def _at(degrees: float, reach: float) -> tuple[float, float]:
    turn = math.radians(degrees)
    return _CENTRE + reach * math.sin(turn), _CENTRE - reach * math.cos(turn)


def _places(
    canes: Sequence[CaneView], rings: Sequence[float], radii: Sequence[float]
) -> list[tuple[float, float]]:
    """Labelled canes stand where the compass says; the rest share what is free around them.

    Canes that would hide each other are moved apart along their ring.
    """
    found: dict[int, float] = {}
    for ring in sorted(set(rings)):
        mine = [k for k, r in enumerate(rings) if r == ring]
        told = {k: c for k in mine if (c := canes[k].compass) is not None}
        free = [k for k in mine if k not in told]
        free_at = _gaps(sorted(told.values()), len(free), ring)
        at = told | dict(zip(free, free_at, strict=True))
        found |= _apart(at, {k: 1.04 * radii[k] for k in mine}, ring)
    return [_at(found[k], reach) for k, reach in enumerate(rings)]


def _apart(at: dict[int, float], radii: dict[int, float], ring: float) -> dict[int, float]:
    """Directions pushed apart until no two neighbours on a ring overlap."""
    order = sorted(at, key=at.__getitem__)
    spots = [at[k] for k in order]
    wide = [2 * math.degrees(math.asin(min(1.0, radii[k] / ring))) for k in order]
    if len(order) < 2 or sum(wide) > 360:
        return at
    for _ in range(200):
        most = 0.0
        for k in range(len(order)):
            nxt, turn = (k + 1) % len(order), 360 * (k + 1 == len(order))
            short = (wide[k] + wide[nxt]) / 2 - (spots[nxt] + turn - spots[k])
            most = max(most, short)
            if short > 0:
                spots[k] -= short / 2
                spots[nxt] += short / 2
        if most < 0.1:
            break
    return dict(zip(order, spots, strict=True))


def _rings(canes: Sequence[CaneView]) -> list[float]:
    """How far out each cane is drawn: suckers at the rim, of many canes the oldest inside."""
    old = sum(cane.age > 1 for cane in canes)
    outer = _OUTER if old > _ROOM else _RING
    rings = [_RIM if cane.age == 1 else outer for cane in canes]
    free = [k for k, cane in enumerate(canes) if cane.age > 1 and cane.compass is None]
    for k in free[: round(_INSIDE * old) if old > _ROOM else 0]:
        rings[k] = _INNER
    return rings


def _largest(rings: Sequence[float]) -> dict[float, float]:
    """Largest shapes that do not touch on each ring."""
    return {ring: 0.95 * math.pi * ring / max(2, rings.count(ring)) for ring in set(rings)}


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


def _cane(cane: CaneView, x: float, y: float, radius: float, hand: _Hand) -> Iterator[str]:
    """The shape with its age on it, and a few words on asking."""
    yield f"<g><title>{html.escape(_words(cane))}</title>"
    yield from _shape(cane, x, y, radius)
    if cane.age > 1:
        fill = ink_on(_fill(cane))
        size = min(hand.figures, (1.05 if cane.age < AGES - 1 else 0.85) * radius)
        extra = f'text-anchor="middle" fill="{fill}" pointer-events="none"'
        yield text(x, y + 0.35 * size, _age_told(cane.age), size=size, extra=extra)
    yield "</g>"


def _radius(cane: CaneView, hand: _Hand) -> float:
    """Grows with the diameter, or with the age where none was measured."""
    if cane.age == 1:
        return hand.sucker
    thick = cane.diameter_mm if cane.diameter_mm is not None else 8.0 + 4.0 * cane.age
    return min(hand.most, max(hand.least, 6.0 + 0.32 * thick))


def _fill(cane: CaneView) -> str:
    return shade(1 - (cane.age - 1) / (AGES - 2))


def _shape(cane: CaneView, x: float, y: float, r: float) -> Iterator[str]:
    """Round for a cane that stays, a struck square for one to go; triangles for suckers."""
    fill = _fill(cane)
    if cane.doing == "stays":
        yield f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{r:.1f}" fill="{fill}" stroke="{INK}"/>'
    elif cane.doing == "saw out":
        a, b, s, leg = x - r, y - r, 2 * r, 5 + 0.4 * r
        yield (
            f'<rect x="{a:.1f}" y="{b:.1f}" width="{s:.1f}" height="{s:.1f}" fill="{fill}" '
            f'stroke="{ACCENT}" stroke-width="3"/>'
            f'<path d="M{a - 5:.1f} {b + s + 5:.1f}l{leg:.1f} {-leg:.1f}'
            f'M{a + s + 5:.1f} {b - 5:.1f}l{-leg:.1f} {leg:.1f}" stroke="{ACCENT}" '
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
