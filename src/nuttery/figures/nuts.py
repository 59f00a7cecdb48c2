"""Nuts of a shrub, season by season, with their intervals."""

from collections.abc import Sequence

from nuttery.figures.chart import Sheet
from nuttery.records import Quantity, System, told
from nuttery.season import Estimate
from nuttery.season.samples import SampleTold


def nuts_sheet(found: Sequence[SampleTold], units: System) -> Sheet:
    """Return what the nuts cracked of a shrub tell.

    Parameters
    ----------
    found : samples of one shrub, by season and state
    units : of the planting
    """
    rows = tuple(
        (
            f"{s.year}, {s.state}",
            s.nuts,
            _told(s.nut_mass, "small mass", units),
            _told(s.kernel_share, "share", units),
            _told(s.diameter, "small length", units),
            s.shape or "–",
            s.grade.name or "none of the classes",
        )
        for s in found
    )
    rules = found[0].grade.rules if found else "grade"
    columns = ("season", "nuts", "a nut", "kernel", "across", "shape", f"by {rules}")
    return Sheet("Its nuts", columns, rows)


def _told(found: Estimate, quantity: Quantity, units: System) -> str:
    if found.median != found.median:
        return "–"
    low, high = (told(v, quantity, units) for v in (found.low, found.high))
    return f"{told(found.median, quantity, units)} ({low} to {high})"
