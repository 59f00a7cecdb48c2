"""Ages of all canes before and after this winter's cuts, and what a cane bears at each age."""

import numpy as np

from nuttery.figures.axes import Axes, digits_of, round_ticks
from nuttery.figures.chart import Chart, Sheet, known
from nuttery.figures.look import ACCENT, FAINT, INK, PAPER, SETS, drawing, text
from nuttery.records import System, shown, unit_of
from nuttery.season.canes import CanePlan
from nuttery.season.stools import AGES

WIDTH, HEIGHT = 760.0, 320.0
LIGHT = "#cab969"


def _age(age: int) -> str:
    return f"{age}+" if age == AGES - 1 else str(age)


def ages_chart(plan: CanePlan) -> Chart:
    """Return the ages of canes as they stand and as the plan leaves them.

    Parameters
    ----------
    plan : the renewal plan of all counted stools
    """
    now, after = plan.counts.sum(axis=0), plan.kept.sum(axis=0)
    sheet = Sheet(
        "Canes by age",
        ("age, winters", "standing, canes", "after the cuts, canes"),
        tuple((_age(a), int(now[a]), int(after[a])) for a in range(1, AGES)),
    )
    old = int(now[plan.max_age :].sum())
    return Chart(
        "cane-ages",
        f"Ages of the canes in the winter before the summer of {plan.winter}",
        _ages_picture(plan, now, after),
        sheet,
        f"{int(now[2:].sum())} canes of two years and older stand on {len(plan.tags)} stools; "
        f"{old} of them are {plan.max_age} or older. The left bar of each pair is before the "
        "cuts, the right one after them.",
    )


def _ages_picture(plan: CanePlan, now: np.ndarray, after: np.ndarray) -> str:
    ticks = round_ticks(0, float(max(now.max(), 1)))
    axes = Axes(WIDTH, HEIGHT, 0.5, AGES - 0.5, 0, ticks[-1])
    parts = [_ground(WIDTH, HEIGHT), *axes.up(ticks, "canes"), *_key()]
    foot = axes.y(0)
    half = (axes.x(2) - axes.x(1)) * 0.38
    for age in range(1, AGES):
        for at, count, fill in ((-half, now[age], LIGHT), (1.0, after[age], INK)):
            top = axes.y(float(count))
            which = "standing" if at < 0 else "after the cuts"
            parts.append(
                f"<g><title>age {_age(age)}: {int(count)} {which}</title>"
                f'<rect x="{axes.x(age) + at:.1f}" y="{top:.1f}" width="{half - 1:.1f}" '
                f'height="{foot - top:.1f}" fill="{fill}" stroke="{INK}"/></g>'
            )
    edge = axes.x(plan.max_age - 0.5)
    parts.append(
        f'<path d="M{edge:.1f} {axes.top}V{foot:.1f}" stroke="{ACCENT}" stroke-dasharray="5 4"/>'
    )
    parts.append(text(edge + 6, axes.top + 12, "overdue", size=13, extra=f'fill="{ACCENT}"'))
    parts += axes.along([(a, _age(a)) for a in range(1, AGES)], "age, winters")
    return drawing(WIDTH, HEIGHT, "Canes by age, now and after the cuts", parts)


def _key() -> list[str]:
    parts = []
    for x, fill, words in ((64, LIGHT, "standing"), (158, INK, "after this winter's cuts")):
        parts.append(f'<rect x="{x}" y="6" width="14" height="14" fill="{fill}" stroke="{INK}"/>')
        parts.append(text(x + 20, 18, words, size=13))
    return parts


def _ground(width: float, height: float) -> str:
    return f'<rect width="{width:.0f}" height="{height:.0f}" fill="{PAPER}"/>'


def bearing_chart(plan: CanePlan, units: System) -> Chart:
    """Return what a cane bears by age, with its interval.

    Parameters
    ----------
    plan : the renewal plan; its bearing was learned or assumed
    units : of the planting
    """
    unit = unit_of("mass", units)
    low, middle, high = (
        [shown(max(0.0, float(kg)), "mass", units) for kg in curve[1:AGES]]
        for curve in (plan.bearing_low, plan.bearing, plan.bearing_high)
    )
    rows = tuple(
        (_age(a), known(m), known(b), known(t))
        for a, m, b, t in zip(range(1, AGES), middle, low, high, strict=True)
    )
    columns = (
        "age, winters",
        f"{unit.symbol} a cane",
        f"low, {unit.symbol}",
        f"high, {unit.symbol}",
    )
    sheet = Sheet("Bearing by age", columns, rows)
    records = plan.bearing_records
    basis = f"learned from {records} yearly crops of counted stools" if records else "assumed"
    return Chart(
        "bearing",
        "What a cane bears by its age",
        _bearing_picture(low, middle, high, unit.symbol),
        sheet,
        f"Crop of a cane in a year, {unit.symbol} in shell, {basis}; the band holds four in five.",
    )


def _bearing_picture(low: list[float], middle: list[float], high: list[float], unit: str) -> str:
    ages = list(range(1, AGES))
    ticks = round_ticks(0, float(max(*high, 0.01)))
    axes = Axes(WIDTH, 280, 1, AGES - 1, 0, ticks[-1], right=34)
    parts = [_ground(WIDTH, 280), *axes.up(ticks, f"{unit} a cane", digits_of(ticks))]
    parts.append(f'<path d="{axes.band(ages, low, high)}" fill="{SETS[1]}" fill-opacity="0.3"/>')
    parts.append(
        f'<path d="{axes.path(ages, middle)}" fill="none" stroke="{INK}" stroke-width="2.5"/>'
    )
    for age, a, b, m in zip(ages, low, high, middle, strict=True):
        told = f"age {_age(age)}: {m:.2f} {unit} ({a:.2f}–{b:.2f})"
        parts.append(
            f"<g><title>{told}</title>"
            f'<circle cx="{axes.x(age):.1f}" cy="{axes.y(m):.1f}" r="5" fill="{INK}"/></g>'
        )
    parts += axes.along([(a, _age(a)) for a in ages], "age, winters")
    extra = f'text-anchor="end" fill="{FAINT}"'
    parts.append(text(WIDTH - 16, 18, "line: middle; band: four in five", size=13, extra=extra))
    return drawing(WIDTH, 280, "What a cane bears by its age", parts)
