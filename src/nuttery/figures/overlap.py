"""One shrub and its donors over the days: stigmas out, and pollen in the air."""

from datetime import date, timedelta

from nuttery.figures.axes import GRID, Axes
from nuttery.figures.chart import Cell, Chart, Sheet, known
from nuttery.figures.look import ACCENT, FAINT, INK, PAPER, SETS, drawing, text
from nuttery.season.feeding import Overlap
from nuttery.season.words import chance_told

_WIDTH, _LEFT, _STEP, _TOP = 860.0, 250.0, 46.0, 34.0


def overlap_chart(found: Overlap) -> Chart:
    """Return the shrub's stigmas above the pollen of each of its chief donors, day by day."""
    title = f"When {found.tag} and its donors bloom, {found.year}"
    rows = 1 + len(found.donors)
    first, last = int(found.days[0]), int(found.days[-1])
    axes = Axes(
        _WIDTH, _TOP + _STEP * rows + 36, first, last, 0, 1, left=_LEFT, top=_TOP, bottom=36
    )
    parts = [f'<rect width="{_WIDTH:.0f}" height="{axes.height:.0f}" fill="{PAPER}"/>']
    parts += _dates(axes, found)
    parts.append(_ridge(axes, 0, found.days.tolist(), found.receptive.tolist(), ACCENT))
    parts.append(text(8, _TOP + 24, f"{found.tag}: stigmas out", size=15))
    for k, donor in enumerate(found.donors):
        colour = SETS[k % len(SETS)]
        parts.append(_ridge(axes, k + 1, found.days.tolist(), found.shed[k].tolist(), colour))
        y = _TOP + _STEP * (k + 1) + 24
        parts.append(text(8, y, f"{donor} sheds", size=15))
        chance = chance_told(found.accepted[k], found.accepted_at_most[k])
        told = f"{found.share[k]:.0%} of its pollen, accepted {chance}"
        parts.append(text(8, y + 15, told, size=12, extra=f'fill="{FAINT}"'))
    picture = drawing(_WIDTH, axes.height, title, parts)
    told = (
        "Height is the chance that stigmas are out (top) or the expected share of a donor's pollen "
        "in the air. Dashed lines hold the days on which the shrub's stigmas are more likely out "
        "than not."
    )
    return Chart("overlap", title, picture, _sheet(found, title), told)


def _dates(axes: Axes, found: Overlap) -> list[str]:
    foot = axes.height - axes.bottom
    ticks = [d for d in found.days.tolist() if _day(found, d).day in {1, 10, 20}]
    parts = [
        f'<path d="M{axes.x(d):.1f} {_TOP}V{foot:.1f}" stroke="{GRID}"/>'
        + text(
            axes.x(d),
            foot + 20,
            f"{_day(found, d).day} {_day(found, d):%b}",
            size=13,
            extra=f'text-anchor="middle" fill="{FAINT}"',
        )
        for d in ticks
    ]
    out = [d for d, r in zip(found.days.tolist(), found.receptive, strict=True) if r >= 0.5]
    for day in (out[0], out[-1]) if out else ():
        x = axes.x(day)
        parts.append(
            f'<path d="M{x:.1f} {_TOP}V{foot:.1f}" stroke="{INK}" stroke-dasharray="4 4"/>'
        )
    return parts


def _day(found: Overlap, doy: int) -> date:
    return date(found.year, 1, 1) + timedelta(days=doy - 1)


def _ridge(axes: Axes, row: int, days: list[int], heights: list[float], colour: str) -> str:
    """One curve over its own base line."""
    base = _TOP + _STEP * (row + 1) - 4
    points = " ".join(
        f"L{axes.x(d):.1f} {base - (_STEP - 10) * h:.1f}"
        for d, h in zip(days, heights, strict=True)
    )
    return (
        f'<path d="M{axes.x(days[0]):.1f} {base:.1f} {points} L{axes.x(days[-1]):.1f} {base:.1f}Z" '
        f'fill="{colour}" fill-opacity="0.45" stroke="{colour}" stroke-width="1.5"/>'
    )


def _sheet(found: Overlap, title: str) -> Sheet:
    rows: list[tuple[Cell, ...]] = [
        (
            _day(found, day).isoformat(),
            known(float(found.receptive[t])),
            known(float(found.taken[t])),
            *(known(float(curve[t])) for curve in found.shed),
        )
        for t, day in enumerate(found.days.tolist())
    ]
    columns = ("day", f"{found.tag}: stigmas out", "met", *(f"{d} sheds" for d in found.donors))
    return Sheet(title, columns, tuple(rows))
