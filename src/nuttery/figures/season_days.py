"""How far the planting has come on each day of the season: shrubs in flower, in leaf, ripe."""

import numpy as np

from nuttery.figures.axes import Axes
from nuttery.figures.chart import Chart, Sheet
from nuttery.figures.look import ACCENT, FAINT, INK, PAPER, SETS, drawing, text
from nuttery.season import Window, day_told
from nuttery.season.bloom import BloomOutlook, StageForecast
from nuttery.season.cards import LABELS
from nuttery.season.estimate import day_of, doy_of

_WIDTH, _SIDE, _STEP = 900.0, 190.0, 40.0
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def season_days_chart(outlook: BloomOutlook) -> Chart:
    """Return when each stage comes over all shrubs: the first, the middle and the last of them.

    Parameters
    ----------
    outlook : the season of every shrub
    """
    title = f"The season of {outlook.year}"
    told = (
        "For each stage: the line runs from the first shrub to the last, the bar holds the middle "
        "eight in ten shrubs, the mark is the middle one. Each by its median day; how unsure one "
        "shrub's own day is stands with the shrub."
    )
    return Chart("season", title, _picture(title, outlook), season_sheet(outlook), told)


def season_sheet(outlook: BloomOutlook) -> Sheet:
    """Return every stage of every shrub, as "14 Apr (10–19 Apr)"."""
    stages = [s for s in LABELS if any(f.stage == s for f in outlook.stages)]
    rows = tuple(
        (tag, *(_told(outlook.window(stage, k)) for stage in stages))
        for k, tag in enumerate(outlook.tags)
    )
    columns = ("shrub", *(LABELS[s] for s in stages))
    return Sheet(f"Days of {outlook.year}, with four in five", columns, rows, tags=True)


def _told(window: Window | None) -> str:
    return "not expected" if window is None else window.told()


def _picture(title: str, outlook: BloomOutlook) -> str:
    forecasts = [outlook.of(s) for s in LABELS if any(f.stage == s for f in outlook.stages)]
    known = [f for f in forecasts if (~np.isnan(f.median)).any()]
    height = 76 + _STEP * len(known)
    axes = Axes(_WIDTH, height, 15, 320, 0, 1, left=_SIDE, top=30, bottom=30)
    parts = [f'<rect width="{_WIDTH:.0f}" height="{height:.0f}" fill="{PAPER}"/>']
    foot = height - axes.bottom
    for month in range(2, 12):
        x = axes.x(doy_of(day_of(outlook.year, 1).replace(month=month), outlook.year))
        parts.append(f'<path d="M{x:.1f} {axes.top}V{foot:.1f}" stroke="#d9d5c7"/>')
        parts.append(text(x + 3, foot + 20, _MONTHS[month - 1], size=13, extra=f'fill="{FAINT}"'))
    for k, forecast in enumerate(known):
        parts.append(_stage(axes, outlook, forecast, axes.top + _STEP * (k + 0.5)))
    today = doy_of(outlook.on, outlook.year)
    if 15 <= today <= 320:
        x = axes.x(today)
        parts.append(
            f'<path d="M{x:.1f} 20V{foot:.1f}" stroke="{ACCENT}" stroke-width="2" '
            'pointer-events="none"/>'
        )
        parts.append(text(x + 5, 16, day_told(outlook.on), size=13, extra=f'fill="{ACCENT}"'))
    return drawing(_WIDTH, height, title, parts)


def _stage(axes: Axes, outlook: BloomOutlook, forecast: StageForecast, y: float) -> str:
    days = forecast.median[~np.isnan(forecast.median)]
    first, low, middle, high, last = np.quantile(days, [0, 0.1, 0.5, 0.9, 1.0]).tolist()
    a, b, m, c, d = (axes.x(v) for v in (first, low, middle, high, last))
    name = LABELS[forecast.stage]
    dates = [day_told(day_of(outlook.year, v)) for v in (first, low, middle, high, last)]
    told = (
        f"{name}: first {dates[0]}, middle {dates[2]}, last {dates[4]}; eight in ten shrubs "
        f"{dates[1]} to {dates[3]}; {len(days)} shrubs, {forecast.basis}"
    )
    return (
        f"<g><title>{told}</title>{text(8, y, name, size=14)}"
        f'{text(8, y + 15, f"{dates[2]}, {forecast.basis}", size=12, extra=f"""fill="{FAINT}" """)}'
        f'<path d="M{a:.1f} {y:.1f}H{d:.1f}" stroke="{INK}"/>'
        f'<rect x="{b:.1f}" y="{y - 7:.1f}" width="{max(c - b, 2):.1f}" height="14" rx="4" '
        f'fill="{SETS[4]}" stroke="{INK}"/>'
        f'<path d="M{m:.1f} {y - 11:.1f}v22" stroke="{INK}" stroke-width="4"/></g>'
    )
