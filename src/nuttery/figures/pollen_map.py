"""Plan of the planting with each shrub's cover, and the flow of pollen to a chosen shrub."""

from collections.abc import Iterator

import numpy as np

from nuttery.figures.chart import Cell, Chart, Sheet, known
from nuttery.figures.look import ACCENT, FAINT, INK, PAPER, drawing, ink_on, shade, text
from nuttery.figures.marks import Mark, mark
from nuttery.records import System, shown, unit_of
from nuttery.season.feeding import Overlap
from nuttery.season.pollen import REASONS, PollenOutlook

_WIDTH, _MARGIN, _LABELLED, _DRAWN = 900.0, 48.0, 400, 600


def pollen_map(
    outlook: PollenOutlook, to: Overlap | None = None, *, units: System = "metric"
) -> Chart:
    """Return the plan; a chosen shrub is joined to its donors, thicker for a larger share.

    Of more than 600 shrubs those about the chosen one are drawn, or about the shortest.

    Parameters
    ----------
    outlook : pollen of the season
    to : the chosen shrub and its donors
    units : of the figures beside it
    """
    title = f"Pollen in the bloom of {outlook.year}"
    if to is not None:
        title += f": who feeds {to.tag}"
    rows = _rows(outlook, to)
    places = outlook.xy[rows]
    west, north = places[:, 0].min(), places[:, 1].max()
    span = np.ptp(places, axis=0)
    scale = (_WIDTH - 2 * _MARGIN) / max(span[0], 0.6 * span[1], 1.0)
    at = _MARGIN + np.column_stack([outlook.xy[:, 0] - west, north - outlook.xy[:, 1]]) * scale
    radius = float(np.clip(0.42 * _nearest(at[rows]), 2.5, 20))
    foot = float(at[rows, 1].max()) + 40
    parts = [f'<rect width="{_WIDTH:.0f}" height="{foot + 96:.0f}" fill="{PAPER}"/>']
    if to is not None:
        parts += _flows(outlook, to, at, radius)
    for k in rows:
        parts.append(_shrub(outlook, k, at[k], radius, to))
    parts += _legend(outlook.short, foot, chosen=to is not None)
    told = (
        "The lighter a shrub, the larger the part of its receptive season in which pollen that it "
        f"accepts is taken; a triangle is short (below {outlook.short:.0%}), a dashed ring has no "
        "stigmas to feed."
    )
    if to is not None:
        told += f" Lines join {to.tag} with its chief donors, as thick as their shares are large."
    if len(rows) < len(outlook.tags):
        told += f" The {len(rows)} nearest of {len(outlook.tags)} shrubs are drawn."
    picture = drawing(_WIDTH, foot + 96, title, parts)
    return Chart("pollen-map", title, picture, _sheet(outlook, units), told)


def _rows(outlook: PollenOutlook, to: Overlap | None) -> list[int]:
    """Shrubs that are drawn, in walking order: all, or those nearest to the chosen one."""
    if len(outlook.tags) <= _DRAWN:
        return list(range(len(outlook.tags)))
    chosen = outlook.tags.index(to.tag) if to else int(np.nanargmin(outlook.cover))
    far = np.hypot(*(outlook.xy - outlook.xy[chosen]).T)
    nearest = np.sort(np.argsort(far, kind="stable")[:_DRAWN])
    return [int(k) for k in nearest]


def _nearest(at: np.ndarray) -> float:
    """Usual distance between neighbours on the paper."""
    steps = np.hypot(*np.diff(at, axis=0).T)
    return float(np.quantile(steps[steps > 0], 0.1)) if (steps > 0).any() else 40.0


def _kind(outlook: PollenOutlook, k: int) -> Mark:
    if np.isnan(outlook.cover[k]):
        return "gap"
    return "triangle" if outlook.cover[k] < outlook.short else "round"


def _shrub(
    outlook: PollenOutlook, k: int, at: np.ndarray, radius: float, to: Overlap | None
) -> str:
    kind, cover = _kind(outlook, k), float(outlook.cover[k])
    value = None if kind == "gap" else round(cover, 2)
    x, y = float(at[0]), float(at[1])
    words = "no stigmas expected" if value is None else f"pollen taken in {cover:.0%} of its season"
    inside = f"<title>{outlook.tags[k]}: {words}</title>" + mark(kind, x, y, radius, value)
    chosen = to is not None and outlook.tags[k] == to.tag
    if chosen:
        inside += (
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{1.35 * radius:.1f}" fill="none" '
            f'stroke="{ACCENT}" stroke-width="3"/>'
        )
    if len(outlook.tags) <= _LABELLED and radius >= 8:
        fill = INK if value is None else ink_on(shade(value))
        low = 0.32 * radius * (1.4 if kind == "triangle" else 1)
        extra = f'text-anchor="middle" fill="{fill}"'
        inside += text(x, y + low, outlook.tags[k], size=0.56 * radius, extra=extra)
    here = ' data-here="true"' if chosen else ""
    return f"<g{here}>{inside}</g>"


def _flows(outlook: PollenOutlook, to: Overlap, at: np.ndarray, radius: float) -> Iterator[str]:
    """Lines from donors, the largest share the thickest, and each share beside its donor."""
    place = {tag: k for k, tag in enumerate(outlook.tags)}
    end = at[place[to.tag]]
    widest = max(to.share.tolist(), default=1.0)
    for donor, share in zip(to.donors, to.share, strict=True):
        start = at[place[donor]]
        yield (
            f'<path d="M{start[0]:.1f} {start[1]:.1f}L{end[0]:.1f} {end[1]:.1f}" '
            f'stroke="{ACCENT}" stroke-opacity="0.55" stroke-linecap="round" '
            f'stroke-width="{2 + 10 * share / widest:.1f}"/>'
        )
        x, y = start[0] + 0.5 * radius, start[1] - 1.1 * radius
        yield text(x, y, f"{share:.0%}", size=14, extra=f'fill="{ACCENT}"')


def _legend(short: float, foot: float, *, chosen: bool) -> Iterator[str]:
    kinds: list[tuple[Mark, float | None, str]] = [
        ("round", 0.9, f"fed in {0.9:.0%} of its season"),
        ("round", short, f"fed in {short:.0%}"),
        ("triangle", short / 2, f"short: below {short:.0%}"),
        ("gap", None, "no stigmas expected"),
    ]
    for place, (kind, value, words) in zip((0, 230, 360, 540), kinds, strict=True):
        x = _MARGIN + 8 + place
        yield mark(kind, x, foot + 16, 9, value)
        yield text(x + 18, foot + 21, words, size=14)
    if chosen:
        y = foot + 52
        look = f'stroke="{ACCENT}" stroke-width="8" stroke-opacity="0.55"'
        yield f'<path d="M{_MARGIN} {y:.0f}h40" {look}/>'
        yield text(_MARGIN + 52, y + 5, "chief donors: the thicker, the larger its share", size=14)
    yield text(_MARGIN, foot + 84, "north is up", size=13, extra=f'fill="{FAINT}"')


def _sheet(outlook: PollenOutlook, units: System) -> Sheet:
    unit = unit_of("length", units).symbol
    rows: list[tuple[Cell, ...]] = [
        (
            tag,
            *(known(shown(metres, "length", units), 2) for metres in outlook.xy[k].tolist()),
            known(100 * outlook.cover[k], 1),
            known(100 * outlook.low[k], 1),
            known(100 * outlook.high[k], 1),
            REASONS[outlook.reason[k]] or None,
        )
        for k, tag in enumerate(outlook.tags)
    ]
    columns = (
        "shrub",
        f"east, {unit}",
        f"north, {unit}",
        "fed, % of its season",
        "low",
        "high",
        "held back by",
    )
    return Sheet("Pollen taken by each shrub", columns, tuple(rows), tags=True)
