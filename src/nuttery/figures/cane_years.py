"""The planting's ages of canes now and under the plan in the winters to come."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from nuttery.figures.axes import Axes, round_ticks
from nuttery.figures.chart import Cell, Chart, Sheet
from nuttery.figures.look import ACCENT, FAINT, INK, PAPER, drawing, ink_on, text
from nuttery.science.arguments import Ints
from nuttery.season.canes import CanePlan
from nuttery.season.stools import AGES

WIDTH, HEIGHT = 760.0, 380.0
FILLS = ("#fbfaf6", "#cab969", "#7f7c75", "#00224e")
"""Of the classes from young to old: light to dark, also in black and white."""
ROOM = 13.0
"""Height from which a bar has its number written inside."""


@dataclass(frozen=True)
class _Class:
    words: str
    ages: slice
    fill: str


def ages_ahead_chart(plan: CanePlan, *, bearing_from: int) -> Chart:
    """Return how many canes of which age stand now, and after the cuts of each winter to come.

    Parameters
    ----------
    plan : the renewal plan of all counted stools
    bearing_from : age from which a cane is said to bear well, `canes.bearing_from`
    """
    now = plan.counts.sum(axis=0)
    every = np.vstack([now, plan.ages])
    winters = ["now", *(str(plan.winter + t) for t in range(len(plan.ages)))]
    classes = _classes(bearing_from, plan.max_age)
    wanted = plan.target * len(plan.tags)
    title = f"Ages of the canes now and under the plan, {winters[1]} to {winters[-1]}"
    bearing = every[:, classes[2].ages].sum(axis=1)
    fewest = int(bearing[1:].argmin()) + 1
    told = (
        "The first bar is before this winter's cuts, each other one after the cuts of the winter "
        f"before that summer. Fewest canes of bearing age: {int(bearing[fewest])} in "
        f"{winters[fewest]}, now {int(bearing[0])}. The line is {plan.target:g} canes on each of "
        f"{len(plan.tags)} stools."
    )
    picture = _picture(title, every, winters, classes, wanted)
    return Chart("cane-ages-ahead", title, picture, _sheet(every, winters), told)


def _classes(bearing_from: int, max_age: int) -> tuple[_Class, ...]:
    young = max(2, min(bearing_from, max_age))
    spans = (slice(1, 2), slice(2, young), slice(young, max_age), slice(max_age, AGES))
    words = (
        "suckers",
        f"{_span(2, young - 1)} years: young",
        f"{_span(young, max_age - 1)}: bearing",
        f"{max_age} and older: overdue",
    )
    return tuple(_Class(*parts) for parts in zip(words, spans, FILLS, strict=True))


def _span(first: int, last: int) -> str:
    return str(first) if last <= first else f"{first}–{last}"


def _sheet(every: Ints, winters: list[str]) -> Sheet:
    columns = ("age, winters", *(f"{w}, canes" for w in winters))
    rows: list[tuple[Cell, ...]] = [
        (f"{age}+" if age == AGES - 1 else str(age), *(int(n) for n in every[:, age]))
        for age in range(1, AGES)
    ]
    return Sheet("Canes by age and winter", columns, tuple(rows))


def _picture(
    title: str, every: Ints, winters: list[str], classes: tuple[_Class, ...], wanted: float
) -> str:
    ticks = round_ticks(0, float(max(every.sum(axis=1).max(), wanted, 1)))
    axes = Axes(WIDTH, HEIGHT, -0.6, len(winters) - 0.4, 0, ticks[-1], top=72)
    parts = [f'<rect width="{WIDTH:.0f}" height="{HEIGHT:.0f}" fill="{PAPER}"/>']
    parts += [*axes.up(ticks, "canes"), *_key(classes)]
    y = axes.y(wanted)
    parts.append(
        f'<path d="M{axes.left:.1f} {y:.1f}H{WIDTH - axes.right:.1f}" stroke="{ACCENT}" '
        f'stroke-width="2" stroke-dasharray="6 4"><title>{wanted:g} canes wanted</title></path>'
    )
    for at, winter in enumerate(winters):
        parts += _bar(axes, at, winter, every[at], classes)
    extra = f'text-anchor="end" fill="{ACCENT}"'
    parts.append(text(WIDTH - axes.right, y - 5, f"wanted: {wanted:g}", size=13, extra=extra))
    parts += axes.along(list(enumerate(winters)), "harvest after that winter")
    return drawing(WIDTH, HEIGHT, title, parts)


def _bar(
    axes: Axes, at: int, winter: str, canes: Ints, classes: tuple[_Class, ...]
) -> Iterator[str]:
    half, foot = 0.4 * (axes.x(1) - axes.x(0)), 0
    for kind in reversed(classes):
        number = int(canes[kind.ages].sum())
        low, high = axes.y(foot), axes.y(foot + number)
        foot += number
        if not number:
            continue
        yield (
            f"<g><title>{winter}, {kind.words}: {number}</title>"
            f'<rect x="{axes.x(at) - half:.1f}" y="{high:.1f}" width="{2 * half:.1f}" '
            f'height="{low - high:.1f}" fill="{kind.fill}" stroke="{INK}"/>'
        )
        if low - high >= ROOM:
            extra = f'text-anchor="middle" fill="{ink_on(kind.fill)}" pointer-events="none"'
            yield text(axes.x(at), (low + high) / 2 + 4, str(number), size=12, extra=extra)
        yield "</g>"


def _key(classes: tuple[_Class, ...]) -> Iterator[str]:
    """Two beside two, so that a phone shows all four before it is pushed aside."""
    for k, kind in enumerate(reversed(classes)):
        x, y = 56 + 176 * (k % 2), 6 + 22 * (k // 2)
        yield f'<rect x="{x}" y="{y}" width="14" height="14" fill="{kind.fill}" stroke="{INK}"/>'
        yield text(x + 20, y + 12, kind.words, size=13, extra=f'fill="{FAINT}"')
