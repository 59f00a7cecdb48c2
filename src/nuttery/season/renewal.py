"""The renewal plan of all counted stools: this winter's cuts and what they lead to."""

from dataclasses import dataclass

import numpy as np

from nuttery.records import CanesCut
from nuttery.science.arguments import Bools, Floats, Ints
from nuttery.science.canes import (
    Bearing,
    CropOfStool,
    Effort,
    Progress,
    RenewalPlan,
    check_plan,
    cutting_hours,
    next_winter,
    plan_renewal,
    without_must_cut,
)
from nuttery.season.cane_bearing import (
    FEWEST_RECORDS,
    most_canes,
    own_crop,
    winters_to_halve,
)
from nuttery.season.errors import NotEnoughKnown
from nuttery.season.planting import Planting
from nuttery.season.stools import AGES, Stools, stools
from nuttery.season.watch import Watch

YEARS = 15
"""Winters shown; the plan looks further, so that the last of them are not robbed."""
NEAR_ENOUGH = 0.005
"""Distance to the best possible that ends the search: below what ages and bearing leave open."""


@dataclass(frozen=True)
class CanePlan:
    """The renewal plan, one row a stool, in walking order.

    Attributes
    ----------
    winter : year of the summer that follows the first winter planned
    tags : (n,)
    counts : (n, AGES) canes before pruning
    cut, kept : (n, AGES) of this winter; what must go at once is among the cuts
    must : (n, AGES) of the cuts, cankered canes, which go at once and outside the third
    dead : (n,) dead canes beside the counts, which go at once
    crop : (n, years) kg in shell of this and the coming summers under the plan; a stool so crowded
        that crowding takes more than its canes bear is shown as bearing nothing
    crowding : (31,) kg that crowding takes a year of a stool of 0, 1, 2 … 30 canes
    productive : (n, years) canes of bearing age kept in this and the coming winters
    ages : (years, AGES) canes kept on all stools in each winter
    cuts : (years,) canes of two years and older cut on all stools in each winter
    sawn : (n,) canes already cut this winter; such a stool is done until the next
    counted : (n,) winter of the count it rests on
    known : (n,) "by age", "by size" or "total only"
    bearing, bearing_low, bearing_high : (AGES,) kg a cane bears by age
    bearing_records : yearly crops behind it; 0 for the assumption
    halving : more winters of counts and pickings that would halve its width; None if unknown
    target, max_age : canes wanted on a stool, and the age at which one is overdue
    cap : canes of two years and older that may be cut in a winter on all stools, those sawn already
        this winter among them; None if any number
    target_basis : what the canes wanted rest on, in words
    share : of the canes of two years and older that may go in one winter
    minutes, minutes_low, minutes_high : minutes a stool takes
    minutes_records : notes behind that; 0 for the published time
    gap : relative distance to the proven bound
    status : "optimal", "within gap", "limit reached", or "cancelled": the best found until then
    """

    winter: int
    tags: tuple[str, ...]
    counts: Ints
    cut: Ints
    kept: Ints
    must: Ints
    dead: Ints
    crop: Floats
    crowding: Floats
    productive: Ints
    ages: Ints
    cuts: Ints
    sawn: Ints
    counted: Ints
    known: tuple[str, ...]
    bearing: Floats
    bearing_low: Floats
    bearing_high: Floats
    bearing_records: int
    halving: int | None
    target: float
    max_age: int
    cap: int | None
    target_basis: str
    share: float
    minutes: float
    minutes_low: float
    minutes_high: float
    minutes_records: int
    gap: float
    status: str

    @property
    def open(self) -> Bools:
        """Stools with something left to do this winter, (n,)."""
        work = (self.cut.sum(axis=1) > 0) | (self.counts[:, 1] > 0)
        left: Bools = (self.dead > 0) | (self.must.sum(axis=1) > 0) | (work & (self.sawn == 0))
        return left


@dataclass(frozen=True)
class Course:
    """The plan winter by winter: (n, years, AGES), for the canes that need not go at once."""

    live: Ints
    cut: Ints
    kept: Ints


@dataclass(frozen=True)
class Planned:
    """A plan as it is shown, and its whole course."""

    plan: CanePlan
    course: Course


@dataclass(frozen=True)
class Terms:
    """What a plan is made for: canes wanted, age that is overdue, cap on cuts in a winter."""

    target: float
    max_age: int
    cuts: int | None


class StoppedEarly(Exception):  # noqa: N818 - no error: a plan came of it, but not one to keep
    """Carries the best plan so far past the keeping of answers."""

    def __init__(self, found: Planned) -> None:
        super().__init__("stopped early")
        self.found = found


def planned(
    planting: Planting,
    *,
    target: float | None = None,
    max_age: int | None = None,
    cuts: int | None = None,
    watch: Watch | None = None,
) -> Planned:
    """Return the plan and its course; a plan that was stopped early is not kept with the register.

    Raises
    ------
    NotEnoughKnown
        If no stool was ever counted.
    """
    wanted = canes_wanted(planting) if target is None else Wanted(target, "as you asked")
    terms = Terms(
        wanted.canes,
        int(planting.value("canes.overdue").value) if max_age is None else max_age,
        cuts,
    )

    def compute() -> Planned:
        found = _planned(planting, terms, wanted.basis, watch or Watch())
        if found.plan.status == "cancelled":
            raise StoppedEarly(found)
        return found

    try:
        return planting.remembered("cane plan", compute, **vars(terms), basis=wanted.basis)
    except StoppedEarly as stopped:
        return stopped.found


def stool_crop(planting: Planting) -> CropOfStool:
    """What a stool bears by its canes: bearing by age, and what crowding takes."""
    return planting.remembered("stool crop", lambda: own_crop(planting, stools(planting)))


def bearing(planting: Planting) -> Bearing:
    """What a cane bears by age."""
    return stool_crop(planting).bearing


@dataclass(frozen=True)
class Wanted:
    """Canes wanted on a stool, and what that rests on, in words."""

    canes: float
    basis: str


def canes_wanted(planting: Planting) -> Wanted:
    """Canes that a stool of this planting bears most with: the grower's word, learned, or assumed.

    Never more than nine in ten of the stools on record had: what more would bear is not known.
    """
    common = planting.value("canes.target")
    if common.certainty == "grower's own":
        return Wanted(common.value, "your own value")
    learned = stool_crop(planting)
    if learned.bearing.assumed:
        told = f"{common.certainty} from trials elsewhere, until {FEWEST_RECORDS} crops of counted "
        return Wanted(common.value, told + "stools are on record")
    most = most_canes(stools(planting))
    best, low, high = learned.best_count(int(planting.value("canes.overdue").value), most)
    span = f"{low:g} to {high:g}" if low < high else f"{best:g}"
    edge = f"; with more than {most:g} hardly a stool stood" if best >= most else ""
    words = f"learned from {learned.bearing.n_records} crops: a stool bears most with {span}{edge}"
    return Wanted(best, words)


def _planned(planting: Planting, terms: Terms, basis: str, watch: Watch) -> Planned:
    watch.progress("following the stools from winter to winter")
    known = stools(planting)
    if not known.tags:
        raise NotEnoughKnown("no stool was ever counted; count canes by age in winter")
    watch.progress("learning what a cane bears by its age")
    bears = stool_crop(planting)
    curve = bears.bearing
    rules = renewal_rules(planting, terms.target, terms.max_age)
    course, gap, status = _course(known, rules, terms, watch)
    young = int(planting.value("canes.bearing_from").value)
    records, (minutes, low, high) = _minutes(planting)
    must = known.cankered
    plan = CanePlan(
        winter=known.winter,
        tags=known.tags,
        counts=known.counts,
        cut=course.cut[:, 0] + must,
        kept=course.kept[:, 0],
        must=must,
        dead=known.dead,
        crop=_crop(course.kept[:, :YEARS], bears),
        crowding=bears.charge(np.arange(31.0)),
        productive=course.kept[:, :YEARS, young : terms.max_age].sum(axis=2),
        ages=course.kept[:, :YEARS].sum(axis=0),
        cuts=course.cut[:, :YEARS, 2:].sum(axis=(0, 2)),
        sawn=known.sawn,
        counted=known.counted,
        known=known.known,
        bearing=curve.mean,
        bearing_low=curve.low,
        bearing_high=curve.high,
        bearing_records=curve.n_records,
        halving=winters_to_halve(curve, terms.max_age),
        target=terms.target,
        max_age=terms.max_age,
        cap=terms.cuts,
        target_basis=basis,
        share=rules.max_share,
        minutes=minutes,
        minutes_low=low,
        minutes_high=high,
        minutes_records=records,
        gap=gap,
        status=status,
    )
    return Planned(plan, Course(course.live, _small(course.cut), _small(course.kept)))


def _small(canes: Ints) -> Ints:
    return canes[:, :YEARS].astype(np.int16)


@dataclass(frozen=True)
class Rules:
    """The rules that this planting's stools are planned by.

    Attributes
    ----------
    worth : (AGES,) kg that a cane bears by age, less what it takes of the others by crowding
    crowding : kg charged for each cane above the target: so many that no more are kept
    target, suckers, max_age, max_share, evenness : as in `plan_renewal`
    """

    worth: Floats
    target: float
    suckers: int
    max_age: int
    max_share: float
    crowding: float
    evenness: float

    def plan(
        self,
        counts: Ints,
        years: int,
        *,
        caps: Ints | None = None,
        effort: Effort | None = None,
    ) -> RenewalPlan:
        """Plan stools by these rules."""
        return plan_renewal(
            counts,
            self.worth,
            years,
            target=self.target,
            suckers=self.suckers,
            max_age=self.max_age,
            max_share=self.max_share,
            crowding=self.crowding,
            evenness=self.evenness,
            cuts_per_year=caps,
            effort=effort,
        )


def renewal_rules(planting: Planting, target: float, max_age: int) -> Rules:
    """Return the rules that this planting's stools are planned by."""
    bears = stool_crop(planting)
    curve = bears.bearing.mean
    taken = float(np.diff(bears.charge([max(0.0, target - 1), target]))[0])
    return Rules(
        worth=np.maximum(0.0, curve - taken),
        target=target,
        suckers=max(1, round(stools(planting).suckers)),
        max_age=max_age,
        max_share=planting.value("canes.share").value,
        crowding=planting.value("canes.crowding").value * float(curve.max()),
        evenness=planting.value("canes.evenness").value,
    )


def _course(known: Stools, rules: Rules, terms: Terms, watch: Watch) -> tuple[Course, float, str]:
    """Plan the stools still to do from this winter, and those done from the next."""
    live = without_must_cut(known.counts, known.cankered)
    years = winters_planned(terms.max_age)
    done = known.sawn > 0
    kept = np.zeros((len(live), years, AGES), dtype=np.int64)
    cut = np.zeros_like(kept)
    worth, bound, status = 0.0, 0.0, "optimal"
    caps = _caps(terms.cuts, years, known.sawn)
    for rows, late in ((np.flatnonzero(~done), 0), (np.flatnonzero(done), 1)):
        if not len(rows):
            continue
        start = live[rows]
        if late:
            kept[rows, 0] = start
            full = np.full(len(rows), rules.suckers)
            start = next_winter(kept[rows, 0], 0 * start, full).astype(np.int64)
        found = rules.plan(
            start,
            years - late,
            caps=None if caps is None else _part(caps, done, late)[late:],
            effort=_effort(watch, len(rows)),
        )
        kept[rows, late:], cut[rows, late:] = found.kept, found.cut
        worth, bound = worth + found.objective, bound + found.bound
        status = _worse(status, found.status)
    _check(live, cut, kept, rules, caps)
    return Course(live, cut, kept), (bound - worth) / max(1.0, abs(worth)), status


def _crop(kept: Ints, bears: CropOfStool) -> Floats:
    """Kg that each stool is told to bear in each summer, (n, years)."""
    taken = bears.charge(kept.sum(axis=2))
    return np.asarray(np.maximum(0.0, kept @ bears.bearing.mean - taken))


def winters_planned(max_age: int) -> int:
    """Winters planned: those shown and the life of a cane.

    With half a life beyond those shown, crop moved from the years shown to the last ones, for
    which no young cane need be kept any more.

    Examples
    --------
    >>> winters_planned(10)
    25
    """
    return YEARS + max_age


def _caps(cuts: int | None, years: int, sawn: Ints) -> Ints | None:
    """Cuts of each winter; those already made count for this one."""
    if cuts is None:
        return None
    caps = np.full(years, cuts)
    caps[0] = max(0, cuts - int(sawn.sum()))
    return caps


def _part(caps: Ints, done: Bools, late: int) -> Ints:
    """The cap of stools done and of those to do, shared by their number from next winter on."""
    part = caps * int((~done).sum()) // len(done)
    part[0] = caps[0]
    mine: Ints = caps - part if late else part
    return mine


ORDER = ("optimal", "within gap", "limit reached", "cancelled")


def _worse(one: str, other: str) -> str:
    return max(one, other, key=ORDER.index)


def _effort(watch: Watch, stools_: int) -> Effort:
    """How near the bound to come, with the rounds told as they go."""

    def tell(progress: Progress) -> None:
        gap = "" if progress.gap > 1 else f", within {progress.gap:.1%} of the best possible"
        watch.progress(
            f"planning {stools_} stools: round {progress.round}, "
            f"{progress.done} of {progress.total}{gap}"
        )

    return Effort(gap=NEAR_ENOUGH, progress=tell, cancelled=watch.cancelled)


def _check(live: Ints, cut: Ints, kept: Ints, rules: Rules, caps: Ints | None) -> None:
    """Replay the plan against every rule; a plan that breaks one is never shown."""
    breaches = check_plan(
        live,
        cut,
        kept,
        suckers=rules.suckers,
        max_share=rules.max_share,
        cuts_per_year=caps,
    )
    if breaches:
        raise RuntimeError(f"the plan breaks a rule: {'; '.join(breaches)}")


def _minutes(planting: Planting) -> tuple[int, tuple[float, float, float]]:
    """Notes with a time, and minutes a stool: middle, low and high."""
    own = [n.minutes * 60 for n in planting.notes(CanesCut) if n.minutes is not None]
    middle, low, high = (60 * cutting_hours(1, own or None)).tolist()
    return len(own), (middle, low, high)
