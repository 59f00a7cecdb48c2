"""The picking plan: whose nuts are loose when, and on which rounds to pick them."""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from nuttery.records import Picking
from nuttery.science.arguments import Floats
from nuttery.science.crop import PickingPlan, plan_picking, walk_length
from nuttery.science.crop.picking_model import PickingModel, harvest, picking_model
from nuttery.season.bloom import BloomOutlook, bloom
from nuttery.season.crop_so_far import picks_again
from nuttery.season.crops import crops
from nuttery.season.estimate import doy_of
from nuttery.season.next_crop import expected_crop
from nuttery.season.picking_work import PickingWork, picking_work
from nuttery.season.planting import Planting
from nuttery.season.watch import Watch

DAYS_PLANNED = 45
WAIT = 7
"""Days of waiting for which the loss is told."""
EVERY = (1, 2, 3, 4, 5, 7)
"""Days between outings that are tried."""
GAP = 0.005
FIRST_MONTH, LAST_MONTH = 7, 11
Visits = NDArray[np.bool_]


@dataclass(frozen=True)
class Round:
    """One day's round, shrubs in walking order.

    Attributes
    ----------
    day : when
    shrubs : tags
    kg : (n,) kg in shell expected to be loose and there
    minutes : of all visits and of going out
    metres : walked from the first shrub to the last; NaN where places are missing
    at_stake : kg of it lost if the round waits a week: replayed for the coming week, by the day's
        loss for later rounds
    """

    day: date
    shrubs: tuple[str, ...]
    kg: Floats
    minutes: float
    metres: float
    at_stake: float


@dataclass(frozen=True)
class Outings:
    """What it costs to go out on fewer days.

    Attributes
    ----------
    every : days between outings
    outings : days on which anything is picked
    kg_picked, minutes : of the plan, outings included
    worth : money, after the time of visits and outings
    gap : relative gap of the plan to its proven bound
    """

    every: int
    outings: int
    kg_picked: float
    minutes: float
    worth: float
    gap: float


@dataclass(frozen=True)
class Picks:
    """The picking plan of the coming weeks, shrubs in walking order.

    Attributes
    ----------
    first : day 0 of the plan
    tags : (n,) shrubs with nuts to come
    ripe, ripe_low, ripe_high : (n,) day of year on which half roll out, with an 80 % interval
    tests : (n,) roll-out tests and husk notes behind that
    kg, kg_low, kg_high : (n,) crop that hangs there still, in shell
    visits : (n, days) whether to pick
    kg_picked, kg_lost : (n,) of the plan
    at_stake : (n,) kg more lost if the visits of the coming week wait a week
    rounds : days on which the plan picks
    choices : plans with outings every so many days; `every` is that of the plan
    work : time, money and loss that the plan weighs
    gap : relative gap of the plan to its proven bound, for outings on these days
    stopped : whether the search was stopped early; such a plan is the best so far, and not kept
    done : shrubs picked this season with nothing more to come
    picked_kg : kg picked so far this season
    """

    first: date
    tags: tuple[str, ...]
    ripe: Floats
    ripe_low: Floats
    ripe_high: Floats
    tests: NDArray[np.int64]
    kg: Floats
    kg_low: Floats
    kg_high: Floats
    visits: Visits
    kg_picked: Floats
    kg_lost: Floats
    at_stake: Floats
    rounds: tuple[Round, ...]
    every: int
    choices: tuple[Outings, ...]
    work: PickingWork
    gap: float
    stopped: bool
    done: tuple[str, ...]
    picked_kg: float


class _StoppedEarly(Exception):  # noqa: N818 - no error: a plan came of it, but not one to keep
    """Carries the best plan so far past the keeping of answers."""

    def __init__(self, found: Picks) -> None:
        super().__init__("stopped early")
        self.found = found


def picks(planting: Planting, *, watch: Watch | None = None) -> Picks:
    """Return the picking plan from the planting's day on.

    Parameters
    ----------
    planting : the planting as of a day
    watch : whom to tell how far it has come, and who may stop it with the best plan so far

    Raises
    ------
    NotEnoughKnown
        If the weather on record does not allow a forecast of ripening.
    """

    def compute() -> Picks:
        found = _picks(planting, watch or Watch())
        if found.stopped:
            raise _StoppedEarly(found)
        return found

    try:
        return planting.remembered("picks", compute)
    except _StoppedEarly as stopped:
        return stopped.found


def in_season(day: date) -> bool:
    """Whether nuts may be ripe or near it: July to November."""
    return FIRST_MONTH <= day.month <= LAST_MONTH


@dataclass(frozen=True)
class _Hanging:
    """Shrubs with nuts to come within the days planned; days counted from the plan's first."""

    rows: NDArray[np.int64]
    mean: Floats
    sd: Floats
    within: Floats
    left: Floats
    done: tuple[str, ...]


def _picks(planting: Planting, watch: Watch) -> Picks:
    watch.progress("forecasting when nuts roll out")
    outlook, crop, work = bloom(planting), expected_crop(planting), picking_work(planting)
    hanging = _hanging(planting, outlook)
    ripe, rows = outlook.of("roll_out_main"), hanging.rows
    kg, low, high = (part[rows] * hanging.left for part in (crop.kg, crop.low, crop.high))
    model = _model(hanging, kg, work)
    anchor = _anchor(planting, outlook.year)
    plan, every, choices = _consolidated(_Ask(hanging, kg, work, watch), anchor)
    waits = _waiting_a_week(model, plan.visits, plan.kg_picked)
    now = crops(planting)
    return Picks(
        first=planting.on,
        tags=tuple(outlook.tags[k] for k in rows),
        ripe=ripe.median[rows],
        ripe_low=ripe.low[rows],
        ripe_high=_high(ripe.median, ripe.high)[rows],
        tests=ripe.records[rows],
        kg=kg,
        kg_low=low,
        kg_high=high,
        visits=plan.visits,
        kg_picked=plan.kg_picked,
        kg_lost=plan.kg_lost,
        at_stake=waits,
        rounds=_rounds(planting, hanging, plan.visits, model=model, at_stake=waits, work=work),
        every=every,
        choices=choices,
        work=work,
        gap=float(plan.gap),
        stopped=watch.cancelled(),
        done=hanging.done,
        picked_kg=float(now.kg[now.year == outlook.year].sum()),
    )


def _high(median: Floats, high: Floats) -> Floats:
    """Upper end of a window; where it runs out of the season, three weeks past the middle."""
    return np.where(np.isnan(high), median + 21, high)


def _hanging(planting: Planting, outlook: BloomOutlook) -> _Hanging:
    """Which shrubs have nuts to come, when they ripen, and what share is left of their crop."""
    ripe, today = outlook.of("roll_out_main"), doy_of(planting.on, outlook.year)
    mean = ripe.median - today
    sd = np.maximum((_high(ripe.median, ripe.high) - ripe.low) / 2.563, 1.0)
    within = np.full(len(mean), planting.value("ripening.within_sd").value)
    left = np.ones(len(mean))
    last = _last_picked(planting, outlook)
    picked = ~np.isnan(last)
    if picked.any() and not picks_again(crops(planting), planting.on.year):
        left[picked] = 0.0
    elif picked.any():
        later = _ripening_after(mean[picked], np.hypot(sd, within)[picked], last[picked] - today)
        left[picked], mean[picked], sd[picked] = later
        within[picked] = 0.0
    coming = ~np.isnan(mean) & (ripe.low - today < DAYS_PLANNED) & (left > 0.02)
    rows = np.flatnonzero(coming)
    done = tuple(outlook.tags[k] for k in np.flatnonzero(picked & ~coming))
    return _Hanging(rows, mean[rows], sd[rows], within[rows], left[rows], done)


def _last_picked(planting: Planting, outlook: BloomOutlook) -> Floats:
    """Day of year of each shrub's last picking this season; NaN for none."""
    last = np.full(len(outlook.tags), np.nan)
    place = {tag: k for k, tag in enumerate(outlook.tags)}
    for note in planting.notes(Picking, since=date(outlook.year, FIRST_MONTH, 1)):
        if note.shrub in place:
            last[place[note.shrub]] = doy_of(note.seen, outlook.year)
    return last


def _ripening_after(mean: Floats, s: Floats, day: Floats) -> tuple[Floats, Floats, Floats]:
    """Share that ripens after a day, with the mean and spread of that part (truncated normal)."""
    alpha = (day + 0.5 - mean) / s
    left = np.maximum(ndtr(-alpha), 1e-9)
    hazard = np.exp(-(alpha**2) / 2) / np.sqrt(2 * np.pi) / left
    variance = np.maximum(1 + alpha * hazard - hazard**2, 0.01)
    return left, mean + s * hazard, s * np.sqrt(variance)


def _model(hanging: _Hanging, kg: Floats, work: PickingWork) -> PickingModel:
    return picking_model(
        hanging.mean,
        hanging.sd,
        hanging.within,
        kg,
        loss_per_day=work.loss.median,
        visit_minutes=work.minutes(kg),
        minutes_per_day=work.minutes_per_day,
        days=DAYS_PLANNED,
        value_per_kg=work.value_per_kg,
        cost_per_minute=work.cost_per_minute,
    )


@dataclass(frozen=True)
class _Ask:
    """What is planned, at what cost of work, and who watches."""

    hanging: _Hanging
    kg: Floats
    work: PickingWork
    watch: Watch


def _plan(ask: _Ask, every: int, day: int = 0) -> PickingPlan:
    """Plan with outings on every so many days, one of them `day` days from the first."""
    hanging, work = ask.hanging, ask.work
    out = (np.arange(DAYS_PLANNED) - day) % every == 0
    words = f"planning rounds for {len(ask.kg)} shrubs, outings every {every} days"

    def tell(bound: float, worth: float) -> None:
        known = np.isfinite(worth) and bound > 0
        gap = f", within {1 - worth / bound:.1%} of the best possible" if known else ""
        ask.watch.progress(f"{words}{gap}")

    ask.watch.progress(words)
    return plan_picking(
        hanging.mean,
        hanging.sd,
        hanging.within,
        ask.kg,
        loss_per_day=work.loss.median,
        visit_minutes=work.minutes(ask.kg),
        minutes_per_day=np.where(out, work.minutes_per_day, 0.0),
        days=DAYS_PLANNED,
        value_per_kg=work.value_per_kg,
        cost_per_minute=work.cost_per_minute,
        gap_wanted=GAP,
        progress=tell,
        stop=ask.watch.cancelled,
    )


def _anchor(planting: Planting, year: int) -> int | None:
    """Days from the plan's first to the last outing of this season; nothing before the first."""
    out = [n.seen for n in planting.notes(Picking, since=date(year, FIRST_MONTH, 1))]
    return (max(out) - planting.on).days if out else None


def _consolidated(ask: _Ask, anchor: int | None) -> tuple[PickingPlan, int, tuple[Outings, ...]]:
    """The plan whose worth is best after the time of every outing, and the others beside it.

    Outings go on in step with the last one, so that tomorrow's plan has the same days. Where the
    work fills most days, fewer outings cannot pay and are not tried.
    """
    work = ask.work
    plans = {1: _plan(ask, 1)}
    full = (plans[1].minutes > 0.5 * work.minutes_per_day).sum() > DAYS_PLANNED / 3
    for every in EVERY[1:] if ask.kg.size and not full else ():
        if ask.watch.cancelled():
            break
        days = range(every) if anchor is None and every == EVERY[-1] else [anchor or 0]
        tried = [_plan(ask, every, day) for day in days]
        plans[every] = max(tried, key=lambda plan: _outings(plan, every, work).worth)
    choices = tuple(_outings(plan, every, work) for every, plan in plans.items())
    best = max(choices, key=lambda choice: choice.worth)
    return plans[best.every], best.every, choices


def _outings(plan: PickingPlan, every: int, work: PickingWork) -> Outings:
    outings = int((plan.minutes > 0).sum())
    away = outings * work.outing_minutes
    return Outings(
        every=every,
        outings=outings,
        kg_picked=float(plan.kg_picked.sum()),
        minutes=float(plan.minutes.sum()) + away,
        worth=float(plan.objective) - away * work.cost_per_minute,
        gap=float(plan.gap),
    )


def _waiting_a_week(model: PickingModel, visits: Visits, picked: Floats) -> Floats:
    """Kg lost more on each shrub if its visits of the coming week are made a week later."""
    later = visits.copy()
    later[:, :WAIT] = False
    later[:, WAIT : 2 * WAIT] |= visits[:, :WAIT]
    return np.maximum(0.0, picked - harvest(model, later).picked)


def _by_visit(model: PickingModel, visits: Visits) -> Floats:
    """Kg that each visit picks, (n, days)."""
    there, found = np.zeros(len(visits)), np.zeros(visits.shape)
    for day in range(visits.shape[1]):
        there = there * model.kept + model.ripening[:, day]
        found[:, day] = np.where(visits[:, day], there, 0.0)
        there = np.where(visits[:, day], 0.0, there)
    return found


def _rounds(
    planting: Planting,
    hanging: _Hanging,
    visits: Visits,
    *,
    model: PickingModel,
    at_stake: Floats,
    work: PickingWork,
) -> tuple[Round, ...]:
    kg = _by_visit(model, visits)
    xy = np.array([(s.x, s.y) for s in planting.shrubs], dtype=np.float64)[hanging.rows]
    found = []
    for day in np.flatnonzero(visits.any(axis=0)).tolist():
        mine = np.flatnonzero(visits[:, day])
        loose = kg[mine, day]
        stake = at_stake[mine] if day < WAIT else loose * (1 - model.kept[mine] ** WAIT)
        placed = not np.isnan(xy[mine]).any()
        found.append(
            Round(
                day=planting.on + timedelta(days=day),
                shrubs=tuple(planting.shrubs[k].tag for k in hanging.rows[mine]),
                kg=loose,
                minutes=float(model.minutes[mine].sum()) + work.outing_minutes,
                metres=walk_length(xy, mine) if placed else float("nan"),
                at_stake=float(stake.sum()),
            )
        )
    return tuple(found)
