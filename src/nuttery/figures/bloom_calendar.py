"""The bloom calendar: one line a shrub, when it sheds and when its stigmas are out."""

from collections.abc import Iterator, Sequence
from datetime import date
from typing import Any

import numpy as np

from nuttery.figures.look import ACCENT, INK, SETS
from nuttery.figures.vega import dressed
from nuttery.season.bloom import BloomOutlook
from nuttery.season.estimate import day_of, span_told

SHED = ("sheds pollen", "catkin_60", "catkin_69")
FLOWERS = ("stigmas out", "pistillate_out", "pistillate_withered")
_LINE, _WIDTH = 15, 560


def bloom_calendar(
    outlook: BloomOutlook,
    rows: Sequence[int] | None = None,
    frosts: Sequence[tuple[date, float]] = (),
) -> dict[str, Any]:
    """Return the specification of the calendar.

    Parameters
    ----------
    outlook : the season of every shrub
    rows : shrubs to show, as rows of the outlook; all by default (for print, give a page's worth)
    frosts : nights of frost so far, each with its lowest temperature in °C
    """
    import altair as alt

    shown = range(len(outlook.tags)) if rows is None else rows
    order = [outlook.tags[k] for k in shown]
    spans = list(_spans(outlook, shown))
    y = alt.Y("shrub:N", sort=order, title="shrub", axis=alt.Axis(labelFontSize=10, tickSize=0))
    x = alt.X(
        "from:T", title=None, scale=alt.Scale(type="utc", padding=8), axis=alt.Axis(format="%-d %b")
    )
    offset = alt.YOffset("what:N", sort=[SHED[0], FLOWERS[0]], scale=alt.Scale(padding=0.1))
    colour = alt.Color(
        "what:N",
        scale=alt.Scale(domain=[SHED[0], FLOWERS[0]], range=[SETS[1], SETS[3]]),
        legend=alt.Legend(title=None, orient="top", symbolType="square"),
    )
    base = alt.Chart(alt.InlineData(values=spans)).encode(y=y, yOffset=offset, description="told:N")
    layers: list[Any] = [
        base.mark_bar(height=2, opacity=0.9).encode(
            x=alt.X("low:T", title=None, scale=alt.Scale(type="utc")), x2="high:T", color=colour
        ),
        base.mark_bar(height=6).encode(x=x, x2="to:T", color=colour),
        *_marks(alt, outlook.on, frosts),
    ]
    told = [
        "Thick: from the middle first day to the middle last day.",
        "Thin: from the early end of the first to the late end of the last, four times in five.",
        "Upper of each pair: pollen; lower: stigmas. Dashed rules: nights of frost.",
        f"As known on {outlook.on.day} {outlook.on:%b} (solid rule).",
    ]
    heading = alt.TitleParams(f"Bloom of {outlook.year}", subtitle=told)
    height = max(80, _LINE * len(order))
    return dict(
        dressed(alt.layer(*layers).properties(width=_WIDTH, height=height, title=heading)).to_dict()
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


def _marks(alt: Any, today: date, frosts: Sequence[tuple[date, float]]) -> Iterator[Any]:  # noqa: ANN401 - the module
    """Today's line, and the nights of frost with their lowest temperature."""
    scale = alt.Scale(type="utc")
    now = alt.Chart(alt.InlineData(values=[{"day": today.isoformat()}]))
    yield now.mark_rule(color=INK, strokeWidth=1.6).encode(x=alt.X("day:T", scale=scale))
    if not frosts:
        return
    nights = [
        {"day": day.isoformat(), "low": f"{low:.0f} °C".replace("-", "−")} for day, low in frosts
    ]
    cold = alt.Chart(alt.InlineData(values=nights)).encode(x=alt.X("day:T", scale=scale))
    yield cold.mark_rule(color=ACCENT, strokeDash=[3, 3], strokeWidth=1)
    yield cold.mark_text(color=ACCENT, fontSize=10, dy=-6, baseline="bottom").encode(
        y=alt.value(0), text="low:N"
    )
