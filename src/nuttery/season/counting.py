"""Counting catkins and buds: next year's crop is already set when the leaves fall."""

from collections.abc import Iterable
from datetime import date

from nuttery.records import CatkinsScored
from nuttery.season.line import Line
from nuttery.season.planting import Planting

FIRST, LAST = (10, 1), (3, 15)
"""Between leaf fall and bloom: common practice."""


def lines(planting: Planting, until: date) -> Iterable[Line]:
    """Ask for catkins and buds of shrubs not yet scored for the next bloom."""
    bloom = planting.on.year + 1 if planting.on.month >= FIRST[0] else planting.on.year
    first, last = date(bloom - 1, *FIRST), date(bloom, *LAST)
    if planting.on > last or until < first:
        return
    scored = {note.shrub for note in planting.notes(CatkinsScored, since=first)}
    old_enough = [s for s in planting.shrubs if s.planted is None or bloom - s.planted.year >= 4]
    open_rows: dict[int, list[str]] = {}
    for shrub in old_enough:
        if shrub.tag not in scored:
            open_rows.setdefault(shrub.row or 0, []).append(shrub.tag)
    for row, tags in sorted(open_rows.items()):
        where = f"row {row}" if row else "the shrubs without a row"
        yield Line(
            key=f"counting:catkins:{row}",
            subject="counting",
            act=f"Score catkins and count pistillate buds on 10 twigs each, {where}",
            shrubs=tuple(tags),
            first=max(first, planting.on),
            last=last,
            why=f"{len(tags)} of the shrubs of {where} have no score for the bloom of {bloom}; "
            "what is set now bounds the crop and the pollen of next year",
            sure="sure",
            waits="after bloom the count is lost for the year",
            weight=float(len(tags)),
        )
