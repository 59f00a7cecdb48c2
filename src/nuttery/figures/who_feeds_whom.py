"""Who feeds whom: shrubs down the side, their chief donors across, shaded by share."""

import html
from collections.abc import Sequence

import numpy as np

from nuttery.figures.chart import Chart, Sheet, known
from nuttery.figures.look import FAINT, INK, PAPER, drawing, ink_on, shade, text
from nuttery.season.pollen import REASONS, PollenOutlook

ROWS, COLUMNS = 30, 24
"""Shrubs and donors drawn; the sheet holds them all."""
_CELL, _SIDE, _HEAD = 27.0, 128.0, 74.0


def feeding_chart(outlook: PollenOutlook) -> Chart:
    """Return the grid of the shrubs that are shortest of pollen and the donors that feed them.

    Parameters
    ----------
    outlook : pollen of the season
    """
    order = [int(k) for k in np.argsort(outlook.cover, kind="stable") if outlook.cover[k] >= 0]
    donors, left = _donors(outlook, order[:ROWS])
    rows = _in_blocks(outlook, order[:ROWS], donors)
    told = (
        f"The {len(rows)} shrubs with the least pollen, and the donors that feed them. Shrubs fed "
        "by the same donors stand together, so that blocks show; a star is short. Each cell is the "
        "donor's share of the pollen that the shrub can use, in percent; an empty cell is none or "
        "next to none."
    )
    if left:
        told += f" {left} donors of lesser weight are only in the table."
    picture = _picture(outlook, rows, donors)
    return Chart("who-feeds-whom", "Who feeds whom", picture, feeding_sheet(outlook, order), told)


def feeding_sheet(
    outlook: PollenOutlook, order: Sequence[int], title: str = "Pollen of each shrub"
) -> Sheet:
    """Return some shrubs with their cover and their chief donors."""
    rows = tuple(
        (
            outlook.tags[k],
            known(100 * outlook.cover[k], 1),
            known(100 * outlook.low[k], 1),
            known(100 * outlook.high[k], 1),
            known(100 * outlook.chance_short[k], 0),
            REASONS[outlook.reason[k]] or "–",
            "; ".join(_donor(outlook, k, c) for c in range(outlook.donors.shape[1])).strip("; "),
        )
        for k in order
    )
    columns = (
        "shrub", "pollen taken, % of its season", "low", "high", "chance that it is short, %",
        "held back by", "chief donors",
    )  # fmt: skip
    return Sheet(title, columns, rows, tags=True)


def _donor(outlook: PollenOutlook, k: int, c: int) -> str:
    donor = int(outlook.donors[k, c])
    if donor < 0:
        return ""
    share, chance = outlook.donor_share[k, c], outlook.accepts[k, c]
    return f"{outlook.tags[donor]} {share:.0%} (accepted {chance:.0%})"


def _donors(outlook: PollenOutlook, rows: Sequence[int]) -> tuple[list[int], int]:
    """Donors that feed these shrubs most, in walking order; and how many were left out.

    Each shrub's first donor comes before any other's second, that of the shortest shrub first.
    """
    chief = list(
        dict.fromkeys(int(outlook.donors[k, 0]) for k in rows if outlook.donors[k, 0] >= 0)
    )
    weight: dict[int, float] = {}
    for k in rows:
        for donor, share in zip(outlook.donors[k], outlook.donor_share[k], strict=True):
            if donor >= 0:
                weight[int(donor)] = weight.get(int(donor), 0.0) + float(share)
    others = sorted(set(weight) - set(chief), key=lambda d: -weight[d])
    best = [*chief, *others][:COLUMNS]
    return sorted(best), len(weight) - len(best)


def _in_blocks(outlook: PollenOutlook, rows: Sequence[int], donors: Sequence[int]) -> list[int]:
    """Shrubs by the mean column of their donors, each weighed by its share."""
    column = {donor: c for c, donor in enumerate(donors)}

    def middle(k: int) -> float:
        fed = zip(outlook.donors[k].tolist(), outlook.donor_share[k].tolist(), strict=True)
        drawn = [(column[donor], share) for donor, share in fed if donor in column]
        whole = sum(share for _, share in drawn)
        return sum(c * share for c, share in drawn) / whole if whole else float(len(donors))

    return sorted(rows, key=lambda k: (middle(k), k))


def _picture(outlook: PollenOutlook, rows: Sequence[int], donors: Sequence[int]) -> str:
    width = _SIDE + _CELL * max(len(donors), 12) + 16
    height = _HEAD + _CELL * len(rows) + 40
    parts = [f'<rect width="{width:.0f}" height="{height:.0f}" fill="{PAPER}"/>']
    parts.append(text(8, _HEAD - 12, "shrub", size=13, extra=f'fill="{FAINT}"'))
    parts.append(text(74, _HEAD - 12, "taken", size=13, extra=f'fill="{FAINT}"'))
    parts.append(text(_SIDE, 14, "donor", size=13, extra=f'fill="{FAINT}"'))
    for c, donor in enumerate(donors):
        x = _SIDE + _CELL * (c + 0.62)
        turn = f'transform="rotate(-60 {x:.1f} {_HEAD - 8:.1f})"'
        parts.append(text(x, _HEAD - 8, outlook.tags[donor], size=13, extra=turn))
    column = {donor: c for c, donor in enumerate(donors)}
    for r, k in enumerate(rows):
        y = _HEAD + _CELL * r
        parts.append(text(8, y + 18, outlook.tags[k], size=14))
        mark = " ★" if outlook.cover[k] < outlook.short else ""
        parts.append(text(74, y + 18, f"{outlook.cover[k]:.0%}{mark}", size=14))
        parts.append(
            f'<path d="M{_SIDE} {y:.1f}H{width - 16:.1f}" stroke="{FAINT}" stroke-opacity="0.3"/>'
        )
        for c, donor in enumerate(outlook.donors[k]):
            if int(donor) in column:
                parts.append(_cell(outlook, k, c, _SIDE + _CELL * column[int(donor)], y))
    return drawing(width, height, "Who feeds whom", parts)


def _cell(outlook: PollenOutlook, k: int, c: int, x: float, y: float) -> str:
    share, chance = float(outlook.donor_share[k, c]), float(outlook.accepts[k, c])
    fill = shade(0.92 - min(share / 0.5, 1.0) * 0.92)
    words = (
        f"{outlook.tags[outlook.donors[k, c]]} gives {share:.0%} of the pollen that "
        f"{outlook.tags[k]} can use; accepted with a chance of {chance:.0%}"
    )
    extra = f'text-anchor="middle" fill="{ink_on(fill)}" pointer-events="none"'
    number = text(x + _CELL / 2, y + 18, f"{100 * share:.0f}", size=12, extra=extra)
    return (
        f"<g><title>{html.escape(words)}</title>"
        f'<rect x="{x + 1:.1f}" y="{y + 1:.1f}" width="{_CELL - 2}" height="{_CELL - 2}" '
        f'fill="{fill}" stroke="{INK}" stroke-width="0.5"/>{number}</g>'
    )
