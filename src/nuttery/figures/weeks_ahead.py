"""The weeks ahead: how many things are open on each day, subject by subject."""

import html
from collections.abc import Sequence
from datetime import date, timedelta

from nuttery.figures.chart import Chart, Sheet
from nuttery.figures.look import FAINT, INK, PAPER, drawing, ink_on, shade, text
from nuttery.season import SUBJECTS, Line, day_told
from nuttery.season.plan import SeasonPlan

_CELL, _TALL, _SIDE, _HEAD = 25.0, 30.0, 130.0, 44.0
MOST_DAYS = 42
"""Days drawn; the sheet goes to the end of the plan."""


def weeks_chart(plan: SeasonPlan, names: dict[str, str]) -> Chart | None:
    """Return the days ahead with the number of things open on each; nothing where none is.

    Parameters
    ----------
    plan : the season plan
    names : what each subject is called
    """
    if not plan.lines:
        return None
    last = min(plan.until, plan.on + timedelta(days=MOST_DAYS - 1))
    days = [plan.on + timedelta(days=k) for k in range((last - plan.on).days + 1)]
    told = "Each cell is a day: the number of things that can be done on it, darker for more."
    return Chart("weeks", "The weeks ahead", _picture(plan, days, names), plan_sheet(plan), told)


def plan_sheet(plan: SeasonPlan) -> Sheet:
    """Return every line of the plan with its window and its reason."""
    rows = tuple(
        (
            line.subject,
            line.act,
            line.first.isoformat(),
            line.last.isoformat(),
            line.sure,
            len(line.shrubs),
            ", ".join(line.shrubs[:12]) + (" …" if len(line.shrubs) > 12 else ""),
            line.why,
        )
        for line in plan.lines
    )
    columns = ("subject", "what to do", "from", "to", "how sure", "shrubs", "which", "because")
    return Sheet("The season plan", columns, rows)


def _picture(plan: SeasonPlan, days: Sequence[date], names: dict[str, str]) -> str:
    subjects = [s for s in SUBJECTS if plan.of(s)]
    width = _SIDE + _CELL * max(len(days), 20) + 12
    height = _HEAD + _TALL * len(subjects) + 14
    parts = [f'<rect width="{width:.0f}" height="{height:.0f}" fill="{PAPER}"/>']
    for k, day in enumerate(days):
        x = _SIDE + _CELL * k
        extra = f'text-anchor="middle" fill="{FAINT}"'
        parts.append(text(x + _CELL / 2, _HEAD - 8, str(day.day), size=12, extra=extra))
        if k == 0 or day.day == 1 or (day.weekday() == 0 and k > 3 and 3 < day.day < 28):
            head = day_told(day) if k == 0 or day.day == 1 else "Mon"
            parts.append(text(x + 3, _HEAD - 26, head, size=12, extra=f'fill="{FAINT}"'))
    for r, subject in enumerate(subjects):
        y = _HEAD + _TALL * r
        parts.append(text(8, y + 20, names[subject], size=14))
        lines = plan.of(subject)
        most = max(len(_open(lines, day)) for day in days) or 1
        parts += [
            _cell(_open(lines, d), d, most, (_SIDE + _CELL * k, y)) for k, d in enumerate(days)
        ]
    return drawing(width, height, "The weeks ahead", parts)


def _open(lines: Sequence[Line], day: date) -> list[Line]:
    return [line for line in lines if line.first <= day <= line.last]


def _cell(lines: Sequence[Line], day: date, most: int, at: tuple[float, float]) -> str:
    x, y = at
    box = f'x="{x + 1:.1f}" y="{y + 2:.1f}" width="{_CELL - 2}" height="{_TALL - 4}"'
    if not lines:
        return f'<rect {box} fill="none" stroke="{FAINT}" stroke-opacity="0.25"/>'
    fill = shade(0.95 - 0.75 * len(lines) / most)
    acts = "; ".join(line.act for line in lines[:3])
    more = f"; and {len(lines) - 3} more" if len(lines) > 3 else ""
    number = str(len(lines)) if len(lines) < 1000 else f"{len(lines) / 1000:.0f}k"
    extra = f'text-anchor="middle" fill="{ink_on(fill)}" pointer-events="none"'
    label = text(x + _CELL / 2, y + 20, number, size=12 if len(number) < 3 else 10, extra=extra)
    return (
        f"<g><title>{html.escape(f'{day_told(day)}: {acts}{more}')}</title>"
        f'<rect {box} fill="{fill}" stroke="{INK}" stroke-width="0.4"/>{label}</g>'
    )
