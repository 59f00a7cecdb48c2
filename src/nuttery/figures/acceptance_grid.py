"""Who accepts whose pollen: every shrub against every other, ordered so that blocks show."""

from itertools import groupby

from nuttery.figures.chart import Cell, Chart, Sheet, known
from nuttery.figures.look import ACCENT, FAINT, PAPER, drawing, shade, text
from nuttery.season.feeding import Acceptance

_SIDE, _LEFT, _TOP, _STEPS = 680.0, 130.0, 60.0, 20


def acceptance_grid(found: Acceptance) -> Chart:
    """Return the grid: seed parents down, pollen parents across, the lighter the surer."""
    title = "Who accepts whose pollen"
    n = max(len(found.tags), 1)
    cell = _SIDE / n
    parts = [
        f'<rect width="{_LEFT + _SIDE + 20:.0f}" height="{_TOP + _SIDE + 70:.0f}" fill="{PAPER}"/>'
    ]
    parts.append(text(_LEFT, 20, "pollen of", size=14, extra=f'fill="{FAINT}"'))
    parts.append(text(8, _TOP - 12, "on stigmas of", size=14, extra=f'fill="{FAINT}"'))
    for r, row in enumerate(found.chance):
        shades = [round(float(chance) * _STEPS) for chance in row]
        at = 0
        for step, run in groupby(shades):
            width = len(list(run))
            parts.append(
                f'<rect x="{_LEFT + at * cell:.2f}" y="{_TOP + r * cell:.2f}" '
                f'width="{width * cell + 0.05:.2f}" height="{cell + 0.05:.2f}" '
                f'fill="{shade(step / _STEPS)}" shape-rendering="crispEdges"/>'
            )
            at += width
    parts += _lots(found, cell) + _legend()
    told = (
        "Dark is refused, light is accepted, grey in between is not known yet. Read a row for what "
        "a shrub accepts, a column for whom its pollen serves. Shrubs stand by lot, and within a "
        "lot beside those most like them."
    )
    if found.left_out:
        told += f" {found.left_out} shrubs are not shown."
    picture = drawing(_LEFT + _SIDE + 20, _TOP + _SIDE + 70, title, parts)
    return Chart("acceptance", title, picture, _sheet(found, title), told)


def _lots(found: Acceptance, cell: float) -> list[str]:
    """Lines between lots, and their names."""
    parts, at = [], 0
    for lot, members in groupby(found.lots):
        size = len(list(members))
        middle, end = (at + size / 2) * cell, (at + size) * cell
        name = lot or "no lot told"
        across = f'text-anchor="middle" transform="translate({_LEFT + middle:.1f} {_TOP - 10:.1f})"'
        parts.append(text(0, 0, name, size=14, extra=across))
        parts.append(text(8, _TOP + middle + 5, name, size=14))
        if at + size < len(found.lots):
            parts.append(
                f'<path d="M{_LEFT + end:.1f} {_TOP}v{_SIDE}M{_LEFT} {_TOP + end:.1f}h{_SIDE}" '
                f'stroke="{ACCENT}" stroke-width="1.5"/>'
            )
        at += size
    return parts


def _legend() -> list[str]:
    y, parts = _TOP + _SIDE + 26, []
    for k, words in enumerate(("refused", "", "not known", "", "accepted")):
        x = _LEFT + 90 * k
        parts.append(f'<rect x="{x}" y="{y}" width="88" height="14" fill="{shade(k / 4)}"/>')
        if words:
            parts.append(text(x, y + 32, words, size=14))
    return parts


def _sheet(found: Acceptance, title: str) -> Sheet:
    rows: list[tuple[Cell, ...]] = [
        (tag, lot, *(known(float(chance), 2) for chance in row))
        for tag, lot, row in zip(found.tags, found.lots, found.chance, strict=True)
    ]
    return Sheet(title, ("shrub", "lot", *found.tags), tuple(rows), tags=True)
