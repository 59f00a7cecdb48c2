"""Nuts of a shrub, season by season, with their intervals."""

from collections.abc import Sequence

from nuttery.figures.chart import Sheet
from nuttery.records import Quantity, System, told
from nuttery.season import Estimate
from nuttery.season.samples import Rejects, SampleTold

NOTHING = Estimate(float("nan"), float("nan"), float("nan"))


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
            _told(dict(s.faults).get("blank", NOTHING), "share", units),
            ", ".join(s.sized_as) or "–",
            _kernels(s, units),
            s.grade.name or ("none of the classes" if s.grade.examined else "fill not noted"),
            _plan(s.rejects),
        )
        for s in found
    )
    rules = found[0].grade.rules if found else "grade"
    plan = found[0].rejects.certainty if found else "sequential plan"
    columns = (
        "season", "nuts", "a nut", "kernel", "across", "shape", "blank", "within the size",
        "kernels", f"by {rules}", f"rejects: sequential plan ({plan})",
    )  # fmt: skip
    return Sheet("Its nuts", columns, rows)


def _kernels(s: SampleTold, units: System) -> str:
    """Diameter of the kernels measured, and the share of each size by the UNECE rules."""
    if not s.kernel_sizes:
        return "–"
    parts = [f"{e.median:.0%} {name}" for name, e in s.kernel_sizes if e.median > 0]
    return "; ".join([_told(s.kernel_diameter, "small length", units), *parts])


def _plan(rejects: Rejects) -> str:
    """What the sequential plan says after the nuts that were cracked, an aid and no verdict."""
    counted = f"{rejects.found.median:.0%} of {rejects.found.records}"
    if rejects.draw:
        return f"{counted}; {rejects.draw} more nuts to its next step"
    return f"{counted}; {rejects.verdict}"


def _told(found: Estimate, quantity: Quantity, units: System) -> str:
    if found.median != found.median:
        return "–"
    low, high = (told(v, quantity, units) for v in (found.low, found.high))
    return f"{told(found.median, quantity, units)} ({low} to {high})"
