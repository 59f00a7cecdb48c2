"""Canes: which to saw out this winter and which suckers to keep, and where a gap is coming."""

from collections.abc import Iterable, Sequence
from datetime import date

import numpy as np

from nuttery.records import told
from nuttery.season.cane_words import act, reasons
from nuttery.season.estimate import Sure
from nuttery.season.line import Line
from nuttery.season.planting import Planting
from nuttery.season.renewal import CanePlan, Watch, planned
from nuttery.season.stools import stools

__all__ = ["CAUTION", "CanePlan", "canes", "lines", "reasons", "thin_stools"]

FIRST, LAST = (11, 15), (4, 20)
"""Dormant season in which canes are sawn: late fall to bud break; common practice."""
THIN = 0.5
"""A year is thin where a stool has fewer canes of bearing age than this share of its target."""
GAP_AHEAD = 10
"""Years ahead in which a thin year is told: by then a sucker kept now is old."""
CAUTION = (
    "Eye protection and gloves always; a helmet, leg and ear protection and training for a chain "
    "saw, never above the shoulder or on a ladder. Bent canes spring back: stand aside and relieve "
    "them from the inner side first. Cut stubs low and flat. Clean the saw between stools with "
    "canker, and burn or bury cankered wood before bud break as local rules allow."
)


def canes(
    planting: Planting,
    *,
    target: float | None = None,
    max_age: int | None = None,
    cuts: int | None = None,
    watch: Watch | None = None,
) -> CanePlan:
    """Return the renewal plan of all counted stools.

    Parameters
    ----------
    planting : the planting as of a day
    target : canes wanted on a stool
    max_age : age at which a cane is overdue
    cuts : canes of two years and older that may be cut in a winter over all stools
    watch : whom to tell how far it has come, and who may stop it

    Raises
    ------
    NotEnoughKnown
        If no stool was ever counted.
    """
    return planned(planting, target=target, max_age=max_age, cuts=cuts, watch=watch).plan


def lines(planting: Planting, until: date) -> Iterable[Line]:
    """Saw out and keep this winter, stool by stool; suckers by row; gaps to come."""
    winter = stools(planting).winter
    first, last = date(winter - 1, *FIRST), date(winter, *LAST)
    if planting.on > last or until < first:
        return
    plan = canes(planting)
    window = (max(first, planting.on), last)
    only_suckers: dict[int, list[int]] = {}
    for k in np.flatnonzero(plan.open).tolist():
        if plan.cut[k, 2:].sum() or plan.dead[k]:
            yield _saw(planting, plan, k, window)
        else:
            only_suckers.setdefault(planting.by_tag[plan.tags[k]].row or 0, []).append(k)
    for row, rows in only_suckers.items():
        yield _suckers_of(plan, row, rows, window)
    yield from _gaps(plan, planting.on, until)


def _saw(planting: Planting, plan: CanePlan, k: int, window: tuple[date, date]) -> Line:
    why = "; ".join(dict.fromkeys(reasons(plan, k)))
    sure, sure_why = _sure(plan, k)
    units = planting.about.units
    return Line(
        key=f"canes:saw:{plan.tags[k]}",
        subject="canes",
        act=act(plan, k),
        shrubs=(plan.tags[k],),
        first=window[0],
        last=window[1],
        why=f"{why}; under the plan it bears about "
        f"{told(float(plan.crop[k].mean()), 'mass', units)} a year, in its thinnest "
        f"{told(float(plan.crop[k].min()), 'mass', units)}; {plan.minutes:.0f} minutes",
        sure=sure,
        sure_why=sure_why,
        waits=_waits(plan, k),
        caution=CAUTION,
        weight=float(plan.cut[k, 2:].sum() + plan.must[k].sum() + plan.dead[k]),
        rests_on=(("bearing by age", f"{plan.bearing_records} crops", _basis(plan)),),
    )


def _waits(plan: CanePlan, k: int) -> str:
    if plan.must[k].any():
        return "canker spreads to the canes beside it"
    return "the crop hangs on ageing canes, and next winter's third will not catch up"


def _suckers_of(plan: CanePlan, row: int, rows: Sequence[int], window: tuple[date, date]) -> Line:
    """One line for the stools of a row on which only suckers are to be thinned."""
    keep = [(plan.tags[k], int(plan.kept[k, 1])) for k in rows if plan.kept[k, 1]]
    came_up = int(plan.counts[rows, 1].sum())
    kept = ", ".join(f"{number} on {tag}" for tag, number in keep)
    where = f"row {row}" if row else "the shrubs without a row"
    count = "the stool" if len(rows) == 1 else f"{len(rows)} stools"
    return Line(
        key=f"canes:suckers:{row}",
        subject="canes",
        act=f"Thin the suckers of {count} of {where}: "
        + (f"keep {kept}; cut the others" if kept else "cut them all"),
        shrubs=tuple(plan.tags[k] for k in rows),
        first=window[0],
        last=window[1],
        why=f"{came_up} came up; no older cane of these goes this winter, and "
        f"{sum(n for _, n in keep)} new ones are what their years to come need",
        sure="likely" if plan.bearing_records else "a guess",
        sure_why=f"the rest would crowd the {plan.target:g} canes wanted; bearing {_basis(plan)}",
        waits="suckers left for a summer take light from the canes that bear",
        caution=CAUTION,
        weight=0.5 * len(rows) / (1 + len(rows)),
        rests_on=(("bearing by age", f"{plan.bearing_records} crops", _basis(plan)),),
    )


def _basis(plan: CanePlan) -> str:
    return "learned" if plan.bearing_records else "assumed"


def _sure(plan: CanePlan, k: int) -> tuple[Sure, str]:
    if plan.known[k] == "total only":
        return "a guess", "only a total was counted; ages are shared out as on the other stools"
    if plan.counted[k] < plan.winter:
        return "a guess", f"reckoned forward from the count of winter {plan.counted[k]}"
    if plan.known[k] == "by size":
        return "a guess", "counted by size; ages are what canes so thick most likely have"
    basis = "bearing learned from your pickings" if plan.bearing_records else "bearing assumed"
    return "likely", f"counted this winter; {basis}"


def thin_stools(plan: CanePlan) -> dict[int, list[int]]:
    """Stools that will have few canes of bearing age however well they are cut.

    Returns
    -------
    thinnest year → rows of its stools, in walking order
    """
    ahead = plan.productive[:, :GAP_AHEAD]
    now, worst = ahead[:, 0], ahead[:, 1:].argmin(axis=1) + 1
    fewest = ahead[:, 1:].min(axis=1)
    found: dict[int, list[int]] = {}
    for k in np.flatnonzero((now > fewest) & (fewest < THIN * plan.target)).tolist():
        found.setdefault(plan.winter + int(worst[k]), []).append(k)
    return dict(sorted(found.items()))


def _gaps(plan: CanePlan, on: date, until: date) -> Iterable[Line]:
    for year, rows in thin_stools(plan).items():
        few = float(plan.productive[rows, year - plan.winter].mean())
        stools_ = "1 stool" if len(rows) == 1 else f"{len(rows)} stools"
        yield Line(
            key=f"canes:gap:{year}",
            subject="canes",
            act=f"Keep every well-placed sucker: a thin year is coming in {year}",
            shrubs=tuple(plan.tags[k] for k in rows),
            first=on,
            last=until,
            why=f"{stools_} will have {few:.1f} canes of bearing age on average, "
            f"now {float(plan.productive[rows, 0].mean()):.1f}, wanted {plan.target:g}",
            sure="likely",
            sure_why="from this winter's ages",
            waits="each summer without a kept sucker lengthens the gap by a year",
            weight=float(len(rows)),
        )
