"""One shrub's calendar of the season, and its crop year by year."""

import calendar
import html
from collections.abc import Sequence
from datetime import date

import numpy as np

from nuttery.figures.axes import GRID, Axes, digits_of, round_ticks
from nuttery.figures.chart import Cell, Chart, Sheet, known
from nuttery.figures.look import ACCENT, FAINT, INK, PAPER, SETS, drawing, text
from nuttery.season import Window, day_told

_WIDTH, _SIDE, _STEP = 760.0, 150.0, 34.0


def calendar_chart(tag: str, windows: Sequence[tuple[str, Window]], on: date) -> Chart | None:
    """Return the season of one shrub, a line a stage; nothing where no stage is expected.

    Parameters
    ----------
    tag : which shrub
    windows : (stage in words, window), in the order of the season
    on : the day as of which it is told
    """
    if not windows:
        return None
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (
            name,
            w.median.isoformat(),
            w.low.isoformat(),
            w.high.isoformat(),
            known(w.chance_past, 2),
            w.records,
            w.basis,
        )
        for name, w in windows
    )
    columns = ("stage", "middle", "early", "late", "chance that it is past", "looks", "basis")
    title = f"The season of {tag}"
    told = (
        "A mark is the middle, the bar holds four in five. "
        "An open mark rests on no look of its own."
    )
    picture = _calendar(title, windows, on)
    return Chart("calendar", title, picture, Sheet(title, columns, rows), told)


def _calendar(title: str, windows: Sequence[tuple[str, Window]], on: date) -> str:
    first = min(w.low for _, w in windows).replace(day=1)
    last = max(w.high for _, w in windows)
    axes = Axes(
        _WIDTH,
        60 + _STEP * len(windows),
        first.toordinal(),
        last.toordinal() + 6,
        0,
        1,
        left=_SIDE,
        top=26,
        bottom=30,
    )
    foot = axes.height - axes.bottom
    parts = [f'<rect width="{_WIDTH:.0f}" height="{axes.height:.0f}" fill="{PAPER}"/>']
    for month in _months(first, last):
        x = axes.x(month.toordinal())
        parts.append(f'<path d="M{x:.1f} {axes.top}V{foot:.1f}" stroke="{GRID}"/>')
        parts.append(
            text(
                x + 4, foot + 20, calendar.month_abbr[month.month], size=13, extra=f'fill="{FAINT}"'
            )
        )
    for k, (name, window) in enumerate(windows):
        parts.append(_window(axes, name, window, axes.top + _STEP * (k + 0.5)))
    if first <= on <= last:
        x = axes.x(on.toordinal())
        parts.append(
            f'<path d="M{x:.1f} 18V{foot:.1f}" stroke="{ACCENT}" stroke-width="2" '
            'pointer-events="none"/>'
        )
        parts.append(text(x + 5, 16, day_told(on), size=13, extra=f'fill="{ACCENT}"'))
    return drawing(_WIDTH, axes.height, title, parts)


def _months(first: date, last: date) -> list[date]:
    found = []
    month = first
    while month <= last:
        found.append(month)
        month = date(month.year + month.month // 12, month.month % 12 + 1, 1)
    return found


def _window(axes: Axes, name: str, window: Window, y: float) -> str:
    a, m, b = (axes.x(day.toordinal()) for day in (window.low, window.median, window.high))
    past = window.chance_past > 0.95
    fill = INK if window.records else PAPER
    words = f"{name}: {window.told()}" + (", past" if past else "")
    label = text(8, y + 5, name, size=14, extra=f'fill="{FAINT if past else INK}"')
    return (
        f"<g><title>{html.escape(words)}</title>{label}"
        f'<rect x="{a:.1f}" y="{y - 6:.1f}" width="{max(b - a, 2):.1f}" height="12" rx="6" '
        f'fill="{SETS[4]}" fill-opacity="{0.3 if past else 0.6}"/>'
        f'<circle cx="{m:.1f}" cy="{y:.1f}" r="6" fill="{fill}" stroke="{INK}" '
        'stroke-width="2"/></g>'
    )


def crop_chart(
    tag: str,
    years: np.ndarray,
    kg: np.ndarray,
    low: np.ndarray,
    high: np.ndarray,
    *,
    unit: str,
    basis: str,
) -> Chart | None:
    """Return what one shrub bore year by year; nothing where it was never picked.

    Parameters
    ----------
    tag : which shrub
    years : (k,) years with a picking
    kg, low, high : (k,) in the unit told, with the interval of the conversion
    unit : of the masses
    basis : what the conversions rest on
    """
    if not len(years):
        return None
    title = f"What {tag} bore"
    rows = tuple(
        (str(y), known(m, 2), known(a, 2), known(b, 2))
        for y, m, a, b in zip(years, kg, low, high, strict=True)
    )
    columns = ("harvest", f"{unit} in shell", f"low, {unit}", f"high, {unit}")
    told = (
        "In shell; the line on a bar is the doubt of the conversion from what was weighed "
        f"({basis})."
    )
    picture = _bars(title, years, kg, (low, high), unit)
    return Chart("crop", title, picture, Sheet(title, columns, rows), told)


def _bars(
    title: str, years: np.ndarray, kg: np.ndarray, ends: tuple[np.ndarray, np.ndarray], unit: str
) -> str:
    low, high = ends
    ticks = round_ticks(0, float(max(high.max(), 0.01)), 4)
    axes = Axes(_WIDTH, 250, years[0] - 0.6, max(years[-1], years[0] + 5) + 0.6, 0, ticks[-1])
    parts = [f'<rect width="{_WIDTH:.0f}" height="250" fill="{PAPER}"/>']
    parts += axes.up(ticks, unit, digits_of(ticks))
    half = min(26.0, 0.36 * (axes.x(1) - axes.x(0)))
    for year, m, a, b in zip(years.tolist(), kg, low, high, strict=True):
        x, top = axes.x(year), axes.y(float(m))
        told = f"{year}: {m:.2f} {unit} ({a:.2f}–{b:.2f})"
        parts.append(
            f"<g><title>{told}</title>"
            f'<rect x="{x - half:.1f}" y="{top:.1f}" width="{2 * half:.1f}" '
            f'height="{axes.y(0) - top:.1f}" fill="#cab969" stroke="{INK}"/>'
            f'<path d="M{x:.1f} {axes.y(float(a)):.1f}V{axes.y(float(b)):.1f}" stroke="{INK}" '
            f'stroke-width="2"/></g>'
        )
    parts += axes.along([(y, str(y)) for y in years.tolist()], "harvest")
    return drawing(_WIDTH, 250, title, parts)
