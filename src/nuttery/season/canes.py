"""Canes: which to saw out this winter and which suckers to keep, and where a gap is coming."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

import numpy as np

from nuttery.records import CanesCut, told
from nuttery.science.arguments import Floats, Ints
from nuttery.science.canes import plan_renewal
from nuttery.science.canes.bearing import Bearing, assumed_bearing, fit_bearing
from nuttery.season.crops import crops
from nuttery.season.errors import NotEnoughKnown
from nuttery.season.estimate import Sure
from nuttery.season.line import Line
from nuttery.season.planting import Planting
from nuttery.season.stools import AGES, Stools, stools, whole

YEARS, BEYOND = 15, 3
"""Winters planned, and those of them at the end that are not shown, so that none is robbed."""
FEWEST_RECORDS = 30
"""Yearly crops of counted stools from which the planting's own bearing is believed."""
FIRST, LAST = (11, 15), (4, 20)
"""Dormant season in which canes are sawn: late fall to bud break; common practice."""
THIN = 0.5
"""A year is thin where a stool has fewer canes of bearing age than this share of its target."""
STILL_WELL = 0.85
"""Share of the best crop from which an overdue cane is said to bear well yet."""
CAUTION = (
    "Eye protection and gloves always; a helmet, leg and ear protection and training for a chain "
    "saw, never above the shoulder or on a ladder. Bent canes spring back: stand aside and relieve "
    "them from the inner side first. Cut stubs low and flat. Clean the saw between stools with "
    "canker, and burn or bury cankered wood before bud break as local rules allow."
)


@dataclass(frozen=True)
class CanePlan:
    """The renewal plan, one row a stool, in walking order.

    Attributes
    ----------
    winter : year of the summer that follows the first winter planned
    tags : (n,)
    counts : (n, AGES) canes before pruning
    cut, kept : (n, AGES) of this winter
    crop : (n, years) kg in shell of this and the coming summers under the plan
    productive : (n, years) canes of bearing age kept in this and the coming winters
    sawn : (n,) canes already cut this winter
    counted : (n,) winter of the count it rests on
    known : (n,) "by age" or "total only"
    bearing, bearing_low, bearing_high : (AGES,) kg a cane bears by age
    bearing_records : yearly crops behind it; 0 for the assumption
    target, max_age : canes wanted on a stool, and the age at which one is overdue
    minutes : minutes a stool takes
    minutes_records : notes behind that; 0 for the published time
    gap : relative distance to the proven bound
    """

    winter: int
    tags: tuple[str, ...]
    counts: Ints
    cut: Ints
    kept: Ints
    crop: Floats
    productive: Ints
    sawn: Ints
    counted: Ints
    known: tuple[str, ...]
    bearing: Floats
    bearing_low: Floats
    bearing_high: Floats
    bearing_records: int
    target: float
    max_age: int
    minutes: float
    minutes_records: int
    gap: float


def canes(
    planting: Planting,
    *,
    target: float | None = None,
    max_age: int | None = None,
    cuts: int | None = None,
) -> CanePlan:
    """Return the renewal plan of all counted stools.

    Parameters
    ----------
    planting : the planting as of a day
    target : canes wanted on a stool
    max_age : age at which a cane is overdue
    cuts : canes of two years and older that may be cut in a winter over all stools

    Raises
    ------
    NotEnoughKnown
        If no stool was ever counted.
    """
    wanted = planting.value("canes.target").value if target is None else target
    oldest = int(planting.value("canes.overdue").value) if max_age is None else max_age
    terms = {"target": wanted, "max_age": oldest, "cuts": cuts}
    return planting.remembered("canes", lambda: _canes(planting, wanted, oldest, cuts), **terms)


def _canes(planting: Planting, target: float, max_age: int, cuts: int | None) -> CanePlan:
    known = stools(planting)
    if not known.tags:
        raise NotEnoughKnown("no stool was ever counted; count canes by age in winter")
    bearing = own_bearing(planting, known)
    counts = known.counts.copy()
    counts[:, 0] = 0
    found = plan_renewal(
        counts,
        bearing.mean,
        YEARS,
        target=target,
        suckers=max(1, round(known.suckers)),
        max_age=max_age,
        max_share=planting.value("canes.share").value,
        crowding=planting.value("canes.crowding").value * float(bearing.mean.max()),
        cuts_per_year=cuts,
    )
    minutes, records = _minutes(planting)
    young = int(planting.value("canes.bearing_from").value)
    return CanePlan(
        winter=known.winter,
        tags=known.tags,
        counts=counts,
        cut=found.cut[:, 0],
        kept=found.kept[:, 0],
        crop=found.crop[:, : YEARS - BEYOND],
        productive=found.kept[:, : YEARS - BEYOND, young:max_age].sum(axis=2),
        sawn=known.sawn,
        counted=known.counted,
        known=known.known,
        bearing=bearing.mean,
        bearing_low=bearing.low,
        bearing_high=bearing.high,
        bearing_records=bearing.n_records,
        target=target,
        max_age=max_age,
        minutes=minutes,
        minutes_records=records,
        gap=float(found.gap),
    )


def own_bearing(planting: Planting, known: Stools) -> Bearing:
    """What a cane bears by age: learned from pickings and counts where enough, else assumed."""
    crop = crops(planting)
    rows = {s.tag: k for k, s in enumerate(planting.shrubs)}
    picked = {
        (int(s), int(y)): float(kg) for s, y, kg in zip(crop.shrub, crop.year, crop.kg, strict=True)
    }
    keys = [
        (rows[known.tags[int(k)]], int(y))
        for k, y in zip(known.past_shrub, known.past_year, strict=True)
    ]
    use = np.array([key in picked for key in keys], dtype=np.bool_)
    if use.sum() < FEWEST_RECORDS:
        return assumed_bearing(AGES)
    kept = whole(known.past_kept[use])
    return fit_bearing(
        kept,
        [picked[key] for key, used in zip(keys, use, strict=True) if used],
        shrub=known.past_shrub[use],
        year=known.past_year[use],
    )


def _minutes(planting: Planting) -> tuple[float, int]:
    own = [note.minutes for note in planting.notes(CanesCut) if note.minutes is not None]
    if own:
        return float(np.median(own)), len(own)
    return planting.value("canes.seconds_a_stool").value / 60, 0


def reasons(plan: CanePlan, k: int) -> tuple[str, ...]:
    """The reason for each cane to be cut on a stool, the oldest first."""
    best = float(plan.bearing.max())
    standing = int(plan.counts[k, 2:].sum())
    said = []
    for age in range(AGES - 1, 1, -1):
        for _ in range(int(plan.cut[k, age])):
            name = f"{age} or older" if age == AGES - 1 else f"age {age}"
            if age < plan.max_age:
                words = f"makes room, {standing} stand where {plan.target:g} are wanted"
            elif plan.bearing[age] > STILL_WELL * best:
                words = "overdue; it bears well yet, and its successor must grow before it fails"
            else:
                words = f"overdue, bears {plan.bearing[age] / best:.0%} of a cane at its best"
            said.append(f"{name}: {words}")
    return tuple(said)


def lines(planting: Planting, until: date) -> Iterable[Line]:
    """Saw out and keep this winter, stool by stool; warn of gaps to come."""
    winter = stools(planting).winter
    first, last = date(winter - 1, *FIRST), date(winter, *LAST)
    if planting.on > last or until < first:
        return
    plan = canes(planting)
    window = (max(first, planting.on), last)
    for k in range(len(plan.tags)):
        if not plan.sawn[k] and plan.cut[k].sum():
            yield _saw(planting, plan, k, window)
    yield from _gaps(plan, planting.on, until)


def _suckers(keep: int, came_up: int) -> str:
    """What to do with the suckers, in words.

    Examples
    --------
    >>> _suckers(0, 1), _suckers(0, 6), _suckers(2, 6), _suckers(3, 3)
    ('cut the sucker', 'cut all 6 suckers', 'keep 2 of 6 suckers', 'keep all 3 suckers')
    """
    if came_up == 1:
        return "keep the sucker" if keep else "cut the sucker"
    if keep in {0, came_up}:
        return f"{'keep' if keep else 'cut'} all {came_up} suckers"
    return f"keep {keep} of {came_up} suckers"


def _ages_told(cut: Ints) -> str:
    parts = [
        f"{int(cut[age])} of {age}{'+' if age == AGES - 1 else ''}"
        for age in range(AGES - 1, 1, -1)
        if cut[age]
    ]
    return ", ".join(parts)


def _saw(planting: Planting, plan: CanePlan, k: int, window: tuple[date, date]) -> Line:
    cut, kept = plan.cut[k], plan.kept[k]
    old = int(cut[2:].sum())
    acts = []
    if old:
        acts.append(f"saw out {old} cane{'s' if old > 1 else ''} ({_ages_told(cut)})")
    if plan.counts[k, 1]:
        came_up = int(plan.counts[k, 1])
        acts.append(_suckers(int(kept[1]), came_up))
    act = "; ".join(acts)
    why = "; ".join(dict.fromkeys(reasons(plan, k))) or "more suckers came up than are wanted"
    sure, sure_why = _sure(plan, k)
    units = planting.about.units
    return Line(
        key=f"canes:saw:{plan.tags[k]}",
        subject="canes",
        act=act[0].upper() + act[1:],
        shrubs=(plan.tags[k],),
        first=window[0],
        last=window[1],
        why=f"{why}; under the plan it bears about "
        f"{told(float(plan.crop[k].mean()), 'mass', units)} a year, in its thinnest "
        f"{told(float(plan.crop[k].min()), 'mass', units)}; {plan.minutes:.0f} minutes",
        sure=sure,
        sure_why=sure_why,
        waits="the crop hangs on ageing canes, and next winter's third will not catch up",
        caution=CAUTION,
        weight=float(old),
        rests_on=(("bearing by age", f"{plan.bearing_records} crops", _basis(plan)),),
    )


def _basis(plan: CanePlan) -> str:
    return "learned" if plan.bearing_records else "assumed"


def _sure(plan: CanePlan, k: int) -> tuple[Sure, str]:
    if plan.known[k] != "by age":
        return "a guess", "only a total was counted; ages are shared out as on the other stools"
    if plan.counted[k] < plan.winter:
        return "a guess", f"reckoned forward from the count of winter {plan.counted[k]}"
    bearing = "bearing learned from your pickings" if plan.bearing_records else "bearing assumed"
    return "likely", f"counted this winter; {bearing}"


def _gaps(plan: CanePlan, on: date, until: date) -> Iterable[Line]:
    """Stools that will have few canes of bearing age in some year, however well they are cut."""
    now, worst = plan.productive[:, 0], plan.productive[:, 1:].argmin(axis=1) + 1
    fewest = plan.productive[:, 1:].min(axis=1)
    thin = np.flatnonzero((now > fewest) & (fewest < THIN * plan.target))
    by_year: dict[int, list[int]] = {}
    for k in thin:
        by_year.setdefault(plan.winter + int(worst[k]), []).append(int(k))
    for year, rows in sorted(by_year.items()):
        few = float(fewest[rows].mean())
        yield Line(
            key=f"canes:gap:{year}",
            subject="canes",
            act=f"Keep every well-placed sucker: a thin year is coming in {year}",
            shrubs=tuple(plan.tags[k] for k in rows),
            first=on,
            last=until,
            why=f"{len(rows)} stools will have {few:.1f} canes of bearing age on average, "
            f"now {float(now[rows].mean()):.1f}, wanted {plan.target:g}",
            sure="likely",
            sure_why="from this winter's ages",
            waits="each summer without a kept sucker lengthens the gap by a year",
            weight=float(len(rows)),
        )
