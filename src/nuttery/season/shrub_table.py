"""Every shrub in one table."""

from dataclasses import dataclass
from datetime import date

from nuttery.records import CanesCounted
from nuttery.season.cards import lineage
from nuttery.season.planting import Planting


@dataclass(frozen=True)
class ShrubRow:
    """One shrub of the table.

    Attributes
    ----------
    tag, row, number : its name and place
    lineage : where it comes from, in words
    planted : day it was set
    notes : how many hold
    last : day of its last note, None without any
    canes : canes that stood at the last count, None if never counted
    """

    tag: str
    row: int | None
    number: int | None
    lineage: str
    planted: date
    notes: int
    last: date | None
    canes: int | None


def shrub_table(
    planting: Planting, start: int = 0, stop: int | None = None
) -> tuple[ShrubRow, ...]:
    """Return a row for every standing shrub, in walking order, or for some of them.

    Parameters
    ----------
    start, stop : places in walking order, as of a slice
    """
    return tuple(
        ShrubRow(
            tag=shrub.tag,
            row=shrub.row,
            number=shrub.number,
            lineage=lineage(shrub),
            planted=shrub.planted,
            notes=shrub.n_notes,
            last=max(shrub.last_seen.values(), default=None),
            canes=_standing(shrub.counted),
        )
        for shrub in planting.shrubs[start:stop]
    )


def _standing(count: CanesCounted | None) -> int | None:
    if count is None:
        return None
    if count.standing is not None:
        return count.standing
    parts = count.by_age or count.by_year or count.by_size
    return sum(parts.values()) if parts else None
