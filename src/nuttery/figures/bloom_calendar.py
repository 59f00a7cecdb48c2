"""The bloom calendar: one line a shrub, when it sheds and when its stigmas are out."""

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from typing import Any

import numpy as np

from nuttery.figures.look import ACCENT, INK, SETS
from nuttery.figures.vega import dressed
from nuttery.season.bloom import BloomOutlook
from nuttery.season.estimate import day_of, span_told

SHED = ("sheds pollen", "catkin_60", "catkin_69")
FLOWERS = ("stigmas out", "pistillate_out", "pistillate_withered")
PAGE_WIDTH, PHONE_WIDTH = 560, 330
"""Pixels of the days, on a page of paper and where a phone must show them without a turn."""
_LINE = 15
_MARGIN, _NEAR = timedelta(days=3), timedelta(days=21)
_LABEL, _ROW = (
    44,
    12,
)  # pixels: width of a night's temperature, and from one row of them to the next
_ROWS = 4


def bloom_calendar(
    outlook: BloomOutlook,
    rows: Sequence[int] | None = None,
    frosts: Sequence[tuple[date, float]] = (),
    *,
    width: int = PAGE_WIDTH,
) -> dict[str, Any]:
    """Return the specification of the calendar.

    Parameters
    ----------
    outlook : the season of every shrub
    rows : shrubs to show, as rows of the outlook; all by default (for print, give a page's worth)
    frosts : nights of frost so far, each with its lowest temperature in °C
    width : pixels of the days
    """
    import altair as alt

    shown = range(len(outlook.tags)) if rows is None else rows
    order = [outlook.tags[k] for k in shown]
    spans = list(_spans(outlook, shown))
    y = alt.Y("shrub:N", sort=order, title="shrub", axis=alt.Axis(labelFontSize=10, tickSize=0))
    first, last = _span(spans, outlook.on)
    ends = [first.isoformat(), last.isoformat()]
    scale = alt.Scale(type="utc", domain=ends)
    x = alt.X("from:T", title=None, scale=scale, axis=alt.Axis(format="%-d %b"))
    nights = [(day, low) for day, low in frosts if first <= day <= last]
    levels = _levels([day for day, _ in nights], width / max((last - first).days, 1))
    offset = alt.YOffset("what:N", sort=[SHED[0], FLOWERS[0]], scale=alt.Scale(padding=0.1))
    colour = alt.Color(
        "what:N",
        scale=alt.Scale(domain=[SHED[0], FLOWERS[0]], range=[SETS[1], SETS[3]]),
        legend=alt.Legend(
            title=None,
            orient="top",
            symbolType="square",
            offset=_ROW * (max(levels, default=0) + 1),
        ),
    )
    base = alt.Chart(alt.InlineData(values=spans)).encode(y=y, yOffset=offset, description="told:N")
    layers: list[Any] = [
        base.mark_bar(height=2, opacity=0.9).encode(
            x=alt.X("low:T", title=None, scale=scale), x2="high:T", color=colour
        ),
        base.mark_bar(height=6).encode(x=x, x2="to:T", color=colour),
        *_nights(alt, nights, levels, scale),
    ]
    if first <= outlook.on <= last:
        now = alt.Chart(alt.InlineData(values=[{"day": outlook.on.isoformat()}]))
        layers.append(
            now.mark_rule(color=INK, strokeWidth=1.6).encode(x=alt.X("day:T", scale=scale))
        )
    height = max(80, _LINE * len(order))
    return dict(dressed(alt.layer(*layers).properties(width=width, height=height)).to_dict())


def how_to_read(outlook: BloomOutlook, rows: Sequence[int] | None = None) -> str:
    """Return what the lines of the calendar mean.

    Parameters
    ----------
    outlook, rows : as the calendar was given
    """
    shown = range(len(outlook.tags)) if rows is None else rows
    first, last = _span(list(_spans(outlook, shown)), outlook.on)
    rule = "solid rule" if first <= outlook.on <= last else "outside the days shown"
    return (
        "Upper of each pair: pollen; lower: stigmas. "
        "Thick: from the middle first day to the middle last day. "
        "Thin: from the early end of the first to the late end of the last, four times in five. "
        "Dashed rules: nights of frost. "
        f"As known on {outlook.on.day} {outlook.on:%b} ({rule})."
    )


def _spans(outlook: BloomOutlook, shown: Sequence[int]) -> Iterator[dict[str, Any]]:
    """One row a shrub and window that is expected this season."""
    for what, opens, closes in (SHED, FLOWERS):
        first, last = outlook.of(opens), outlook.of(closes)
        for k in shown:
            days = first.low[k], first.median[k], last.median[k], last.high[k]
            if not any(np.isnan(day) for day in days):
                low, begin, end, high = (day_of(outlook.year, float(d)) for d in days)
                row = {"shrub": outlook.tags[k], "what": what}
                row["told"] = (
                    f"{outlook.tags[k]} {what} {span_told(begin, end)}, "
                    f"four times in five within {span_told(low, high)}"
                )
                ends = {"low": low, "from": begin, "to": end, "high": high}
                yield row | {name: day.isoformat() for name, day in ends.items()}


def _span(spans: Sequence[dict[str, Any]], today: date) -> tuple[date, date]:
    """Days shown: all of bloom, and today where it is near."""
    days = [date.fromisoformat(span[end]) for span in spans for end in ("low", "high")]
    first, last = min(days, default=today) - _MARGIN, max(days, default=today) + _MARGIN
    if first - _NEAR <= today <= last + _NEAR:
        return min(first, today - _MARGIN), max(last, today + _MARGIN)
    return first, last


def _levels(days: Sequence[date], pixels: float) -> list[int]:
    """Row of each night's label above the chart, so that none stands on another."""
    free: list[date | None] = [None] * _ROWS
    found = []
    for day in days:
        gaps = [np.inf if d is None else (day - d).days * pixels for d in free]
        row = next((k for k, gap in enumerate(gaps) if gap >= _LABEL), int(np.argmax(gaps)))
        free[row] = day
        found.append(row)
    return found


def _nights(
    alt: Any,  # noqa: ANN401 - the module
    nights: Sequence[tuple[date, float]],
    levels: Sequence[int],
    scale: Any,  # noqa: ANN401 - of the module
) -> Iterator[Any]:
    """Nights of frost, each with its lowest temperature above it."""
    if not nights:
        return
    rows = [
        {"day": day.isoformat(), "low": f"{low:.0f} °C".replace("-", "−"), "row": level}
        for (day, low), level in zip(nights, levels, strict=True)
    ]
    for level in sorted(set(levels)):
        mine = [row for row in rows if row["row"] == level]
        cold = alt.Chart(alt.InlineData(values=mine)).encode(x=alt.X("day:T", scale=scale))
        rise = _ROW * level
        yield cold.mark_rule(color=ACCENT, strokeDash=[3, 3], strokeWidth=1).encode(
            y=alt.value(-rise - 3), y2=alt.value("height")
        )
        yield cold.mark_text(color=ACCENT, fontSize=10, align="right", dx=-2).encode(
            y=alt.value(-rise - 6), text="low:N"
        )
