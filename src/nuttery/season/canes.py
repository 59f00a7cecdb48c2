"""Canes: which to saw out this winter and which suckers to keep, and where a gap is coming."""

from collections.abc import Iterable, Sequence
from datetime import date

import numpy as np

from nuttery.season.bloom import bloom
from nuttery.season.cane_words import act, reasons, why
from nuttery.season.cane_work import CaneWork, cane_work, times_told
from nuttery.season.errors import NotEnoughKnown
from nuttery.season.estimate import Sure, day_of
from nuttery.season.line import Line
from nuttery.season.planting import Planting
from nuttery.season.renewal import CanePlan, planned
from nuttery.season.stools import stools
from nuttery.season.watch import Watch
from nuttery.season.words import listed, plural, rows_told

__all__ = ["CAUTION", "CanePlan", "canes", "gaps_told", "lines", "reasons", "thin_stools"]

FIRST, LAST = (11, 15), (4, 20)
"""Dormant season in which canes are sawn, where bud break is not forecast; common practice."""
THIN = 0.5
"""A year is thin where a stool has fewer canes of bearing age than this share of its target."""
THIN_CROP = 0.6
"""A stool's thinnest year is told where it bears less than this share of its mean."""
NOTHING = 0.05
"""The same, where it is as good as nothing."""
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
    """The work as a whole, then saw out and keep stool by stool, suckers by row, gaps to come."""
    winter = stools(planting).winter
    first, last = date(winter - 1, *FIRST), _bud_break(planting, winter)
    if planting.on > last or until < first:
        return
    plan = canes(planting)
    window = (max(first, planting.on), last)
    work = cane_work(plan)
    if work.stools:
        yield _whole(planting, plan, work, window)
    only_suckers: dict[int, list[int]] = {}
    for k in np.flatnonzero(plan.open).tolist():
        if work.rows[k]:
            yield _saw(plan, k, window)
        else:
            only_suckers.setdefault(planting.by_tag[plan.tags[k]].row or 0, []).append(k)
    for row, rows in only_suckers.items():
        yield _suckers_of(plan, row, rows, window)
    yield from _gaps(planting, plan, last)


def _bud_break(planting: Planting, winter: int) -> date:
    """Day by which the saw rests: the first tenth of shrubs break bud, else common practice."""
    try:
        outlook = bloom(planting)
    except NotEnoughKnown:
        return date(winter, *LAST)  # the plan tells what the calendar lacks
    breaks = outlook.of("bud_07").median
    if outlook.year != winter or np.isnan(breaks).all():
        return date(winter, *LAST)
    return day_of(winter, float(np.nanquantile(breaks, 0.1)))


def _whole(planting: Planting, plan: CanePlan, work: CaneWork, window: tuple[date, date]) -> Line:
    """All sawing of the winter in one line: how long it takes."""
    hours = work.hours
    tags = [plan.tags[k] for k in np.flatnonzero(work.rows)]
    where = rows_told(planting, tags)
    dead = f", {int(plan.dead.sum())} of them dead" if plan.dead.any() else ""
    sick, done = int(plan.must.sum()), int((plan.sawn > 0).sum())
    return Line(
        key="canes:work",
        subject="canes",
        act=f"Set aside about {plural(max(1, round(hours.median)), 'hour')} for sawing: "
        f"{plural(work.canes, 'cane')}{dead} on {plural(work.stools, 'stool')}"
        + (f" in {where}" if where else ""),
        first=window[0],
        last=window[1],
        why=f"{hours.told(1)}: {times_told(planting, plan)}"
        + (f"; begin where canker is ({plural(sick, 'cane')})" if sick else "")
        + (f"; {plural(done, 'stool')} done" if done else ""),
        sure="likely" if plan.minutes_records else "a guess",
        sure_why="your own times" if plan.minutes_records else "times of another planting",
        waits="once buds break, new shoots are knocked off and leaves hide what is to go",
        caution=CAUTION,
        weight=float(work.canes),
    )


def _saw(plan: CanePlan, k: int, window: tuple[date, date]) -> Line:
    sure, sure_why = _sure(plan, k)
    return Line(
        key=f"canes:saw:{plan.tags[k]}",
        subject="canes",
        act=act(plan, k),
        shrubs=(plan.tags[k],),
        first=window[0],
        last=window[1],
        why=why(plan, k) + _thin_told(plan, k),
        sure=sure,
        sure_why=sure_why,
        waits=_waits(plan, k),
        caution=CAUTION,
        weight=float(plan.cut[k, 2:].sum() + plan.must[k].sum() + plan.dead[k]),
        rests_on=_rests_on(plan),
    )


def _thin_told(plan: CanePlan, k: int) -> str:
    """A thin year to come, where there is one that the plan cannot help."""
    mean, least = float(plan.crop[k].mean()), float(plan.crop[k].min())
    if least > THIN_CROP * mean:
        return ""
    year = plan.winter + int(plan.crop[k].argmin())
    if least <= NOTHING * mean:
        return f"; crowded as it stands, it bears next to nothing in {year}"
    return f"; its thinnest year is {year}, about {least / mean:.0%} of its mean crop"


def _rests_on(plan: CanePlan) -> tuple[tuple[str, str, str], ...]:
    return (("bearing by age", f"{plan.bearing_records} crops", _basis(plan)),)


def _waits(plan: CanePlan, k: int) -> str:
    if plan.must[k].any():
        return "canker spreads to the canes beside it"
    return "the crop hangs on ageing canes, and next winter's third will not catch up"


def _suckers_of(plan: CanePlan, row: int, rows: Sequence[int], window: tuple[date, date]) -> Line:
    """One line for the stools of a row on which only suckers are to be thinned."""
    keep = [(plan.tags[k], int(plan.kept[k, 1])) for k in rows if plan.kept[k, 1]]
    came_up, stay = int(plan.counts[rows, 1].sum()), sum(number for _, number in keep)
    kept = listed([f"{number} on {tag}" for tag, number in keep])
    return Line(
        key=f"canes:suckers:{row}",
        subject="canes",
        act=_thinning(kept, came_up, stay),
        shrubs=tuple(plan.tags[k] for k in rows),
        first=window[0],
        last=window[1],
        why=f"{plural(came_up, 'sucker')} came up and {stay or 'none'} will be needed as older "
        "canes go; no older cane of these goes this winter",
        sure="likely" if plan.bearing_records else "a guess",
        sure_why=f"the rest would crowd the {plan.target:g} canes wanted; bearing {_basis(plan)}",
        waits="suckers left for a summer take light from the canes that bear",
        caution=CAUTION,
        weight=0.5 * len(rows) / (1 + len(rows)),
        rests_on=_rests_on(plan),
    )


def _thinning(kept: str, came_up: int, stay: int) -> str:
    if not stay:
        return "Cut the sucker" if came_up == 1 else "Cut all suckers"
    if stay == came_up:
        return f"Keep every sucker: {kept}"
    return f"Cut the suckers, but keep {kept}"


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
    return "likely", f"counted this winter, {basis}"


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


def gaps_told(plan: CanePlan, most: int = 6) -> str:
    """Which stools will be short of bearing canes, and when, in one sentence.

    Parameters
    ----------
    plan : the renewal plan
    most : stools named of one year
    """
    found = thin_stools(plan)
    if not found:
        return "No stool has a gap coming."
    parts = [
        f"{year}: {', '.join(plan.tags[k] for k in rows[:most])}"
        + (f" and {len(rows) - most} more" if len(rows) > most else "")
        for year, rows in found.items()
    ]
    return f"Few canes of bearing age are coming: {'; '.join(parts)}."


def _gaps(planting: Planting, plan: CanePlan, last: date) -> Iterable[Line]:
    """The stools that will be short of bearing canes however they are cut, in one line."""
    found = thin_stools(plan)
    if not found:
        return
    rows = sorted(k for some in found.values() for k in some)
    fewest = np.concatenate([plan.productive[k, y - plan.winter] for y, k in found.items()])
    years = listed([f"{year} on {len(some)}" for year, some in found.items()])
    young = int(planting.value("canes.bearing_from").value)
    yield Line(
        key="canes:gap",
        subject="canes",
        act=f"Guard the young canes of {plural(len(rows), 'stool')} against browsing and the "
        "mower: few bearing canes are coming",
        shrubs=tuple(plan.tags[k] for k in rows),
        first=planting.on,
        last=last,
        why=f"fewest in {years}: then {fewest.mean():.1f} canes of {young} to "
        f"{plan.max_age - 1} years on average (now {plan.productive[rows, 0].mean():.1f}, wanted "
        f"{plan.target:g}), however they are cut; who and when: nuttery canes",
        sure="likely",
        sure_why="from this winter's ages",
        waits="each young cane lost lengthens the gap by a year",
        weight=float(len(rows)),
    )
