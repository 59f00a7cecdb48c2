"""The crop of the coming years as a band, one line and one texture a way of pruning."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from nuttery.figures.axes import Axes, digits_of, round_ticks
from nuttery.figures.chart import Chart, Sheet, known
from nuttery.figures.look import PAPER, SETS, drawing, text
from nuttery.figures.marks import BY_CLASS, mark

WIDTH, HEIGHT = 760.0, 340.0
DASHES = ("", "8 5", "2 4", "12 4 2 4")


@dataclass(frozen=True)
class Course:
    """The crop of the planting under one way of pruning.

    Attributes
    ----------
    name : in a grower's words
    years : (y,) harvests
    median, low, high : (y,) kg in shell; low and high may be left out
    """

    name: str
    years: tuple[int, ...]
    median: np.ndarray
    low: np.ndarray | None = None
    high: np.ndarray | None = None


def outlook_chart(courses: Sequence[Course], *, told: str, unit: str = "kg") -> Chart:
    """Return the crop ahead under one or several ways of pruning.

    Parameters
    ----------
    courses : of the same years
    told : what the bands rest on
    unit : of the crops
    """
    columns = ["harvest"]
    for course in courses:
        columns += [f"{course.name}, {unit}", f"{course.name}, low", f"{course.name}, high"]
    rows = tuple(
        (str(year), *(cell for course in courses for cell in _cells(course, k)))
        for k, year in enumerate(courses[0].years)
    )
    title = f"Crop of the counted stools, {courses[0].years[0]} to {courses[0].years[-1]}"
    sheet = Sheet(title, tuple(columns), rows)
    return Chart("outlook", title, _picture(courses, title, unit), sheet, told)


def _cells(course: Course, k: int) -> tuple[float | None, ...]:
    low = None if course.low is None else known(course.low[k], 2)
    high = None if course.high is None else known(course.high[k], 2)
    return known(course.median[k], 2), low, high


def _picture(courses: Sequence[Course], title: str, unit: str) -> str:
    tops = [c.median if c.high is None else c.high for c in courses]
    ticks = round_ticks(0, float(max(np.nanmax(top) for top in tops)))
    years = courses[0].years
    height = HEIGHT + 24 * len(courses)
    axes = Axes(WIDTH, HEIGHT, years[0], years[-1], 0, ticks[-1], right=34)
    parts = [f'<rect width="{WIDTH:.0f}" height="{height:.0f}" fill="{PAPER}"/>']
    parts += axes.up(ticks, f"{unit} in shell", digits_of(ticks))
    for k, course in enumerate(courses):
        parts += _band(axes, course, SETS[k % len(SETS)])
    for k, course in enumerate(courses):
        parts += _line(axes, course, k, unit)
        y = HEIGHT + 10 + 24 * k
        parts += _sample(k, y)
        parts.append(text(118, y + 5, course.name, size=14))
    step = max(1, len(years) // 8)
    parts += axes.along([(year, str(year)) for year in years[::step]], "harvest")
    return drawing(WIDTH, height, title, parts)


def _band(axes: Axes, course: Course, colour: str) -> list[str]:
    if course.low is None or course.high is None:
        return []
    path = axes.band([float(y) for y in course.years], course.low.tolist(), course.high.tolist())
    return [f'<path d="{path}" fill="{colour}" fill-opacity="0.16"/>']


def _line(axes: Axes, course: Course, k: int, unit: str) -> list[str]:
    path = axes.path([float(y) for y in course.years], course.median.tolist())
    dash = f' stroke-dasharray="{DASHES[k % len(DASHES)]}"' if k % len(DASHES) else ""
    parts = [
        f'<path d="{path}" fill="none" stroke="{SETS[k % len(SETS)]}" stroke-width="3"{dash}/>'
    ]
    for i, year in enumerate(course.years):
        span = "" if course.low is None else f" ({course.low[i]:.1f}–{course.high[i]:.1f})"  # type: ignore[index]
        words = f"{course.name}, {year}: {course.median[i]:.1f} {unit}{span}"
        at = axes.x(year), axes.y(float(course.median[i]))
        parts.append(f"<g><title>{words}</title>{mark(BY_CLASS[(k + 3) % 6], *at, 5, k / 4)}</g>")
    return parts


def _sample(k: int, y: float) -> list[str]:
    dash = f' stroke-dasharray="{DASHES[k % len(DASHES)]}"' if k % len(DASHES) else ""
    colour = SETS[k % len(SETS)]
    return [
        f'<path d="M56 {y:.0f}h50" stroke="{colour}" stroke-width="3"{dash}/>',
        mark(BY_CLASS[(k + 3) % 6], 81, y, 5, k / 4),
    ]
