"""Roll-out and picking: whose nuts leave the husk when, and in what order to pick."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from nuttery.records import Picking, RollOut, told
from nuttery.science.arguments import Floats
from nuttery.science.crop import learn_loss, plan_picking
from nuttery.season.bloom import bloom
from nuttery.season.crops import expected_crop
from nuttery.season.estimate import day_told, doy_of, span_told
from nuttery.season.line import Line
from nuttery.season.planting import Planting

DAYS_PLANNED = 45
CAUTION = (
    "Bend tall canes down rather than climb; a ladder only on firm level ground, with a second "
    "person. Leave nuts that lay on the ground after manure or under spray to what the label and "
    "local rules say. Hazelnuts are an allergen."
)


@dataclass(frozen=True)
class Picks:
    """The picking plan of the coming weeks, shrubs in walking order.

    Attributes
    ----------
    first : day 0 of the plan
    tags : (n,) shrubs with nuts to come
    ripe, ripe_low, ripe_high : (n,) day of year on which half roll out, with an 80 % interval
    kg, kg_low, kg_high : (n,) crop expected, in shell
    visits : (n, days) whether to pick
    kg_picked, kg_lost : (n,) of the plan
    at_stake : (n,) kg lost within a week of the shrub's best day if nobody comes
    minutes_per_day : minutes that a day allows
    gap : relative gap of the plan to its proven bound
    """

    first: date
    tags: tuple[str, ...]
    ripe: Floats
    ripe_low: Floats
    ripe_high: Floats
    kg: Floats
    kg_low: Floats
    kg_high: Floats
    visits: np.ndarray
    kg_picked: Floats
    kg_lost: Floats
    at_stake: Floats
    minutes_per_day: float
    gap: float


def picks(planting: Planting) -> Picks:
    """Return the picking plan from the planting's day on.

    Raises
    ------
    NotEnoughKnown
        If the weather on record does not allow a forecast of ripening.
    """
    return planting.remembered("picks", lambda: _picks(planting))


def _picks(planting: Planting) -> Picks:
    outlook, crop = bloom(planting), expected_crop(planting)
    ripe = outlook.of("roll_out_main")
    today = doy_of(planting.on, outlook.year)
    able = ~np.isnan(ripe.median) & (ripe.low - today < DAYS_PLANNED)
    able &= np.array([t not in _picked(planting, outlook.year) for t in outlook.tags])
    high = np.where(np.isnan(ripe.high), ripe.median + 20, ripe.high)
    rows = np.flatnonzero(able)
    loss = float(learn_loss([], [], []).median)
    minutes = planting.value("harvest.minutes_per_day").value
    found = plan_picking(
        ripe.median[rows] - today,
        np.maximum((high - ripe.low)[rows] / 2.563, 1.0),
        planting.value("ripening.within_sd").value,
        crop.kg[rows],
        loss_per_day=loss,
        visit_minutes=planting.value("harvest.visit_minutes").value,
        minutes_per_day=minutes,
        days=DAYS_PLANNED,
        value_per_kg=planting.value("harvest.value_per_kg").value,
        cost_per_minute=planting.value("harvest.cost_per_minute").value,
        gap_wanted=0.005,
    )
    return Picks(
        first=planting.on,
        tags=tuple(outlook.tags[k] for k in rows),
        ripe=ripe.median[rows],
        ripe_low=ripe.low[rows],
        ripe_high=high[rows],
        kg=crop.kg[rows],
        kg_low=crop.low[rows],
        kg_high=crop.high[rows],
        visits=found.visits,
        kg_picked=found.kg_picked,
        kg_lost=found.kg_lost,
        at_stake=crop.kg[rows] * (1 - (1 - loss) ** 7),
        minutes_per_day=minutes,
        gap=float(found.gap),
    )


def _picked(planting: Planting, year: int) -> frozenset[str | None]:
    """Shrubs picked this season already."""
    notes = planting.notes(Picking, since=date(year, 7, 1))
    return frozenset(note.shrub for note in notes)


def lines(planting: Planting, until: date) -> Iterable[Line]:
    """Press nuts where ripening is near, and pick by the plan."""
    if planting.on.month < 7 or planting.on.month > 11:
        return
    plan = picks(planting)
    yield from _tests(planting, plan, until)
    yield from _rounds(planting, plan, until)


def _tests(planting: Planting, plan: Picks, until: date) -> Iterable[Line]:
    """Roll-out tests of shrubs whose window is open and whose last test is a week old."""
    since = planting.on - timedelta(days=6)
    fresh = {note.shrub for note in planting.notes(RollOut, since=since)}
    year = planting.on.year
    today, last = doy_of(planting.on, year), doy_of(until, year)
    due = (plan.ripe_low - 7 <= last) & (plan.ripe_high >= today)
    by_row: dict[int, list[int]] = {}
    for k in np.flatnonzero(due):
        if plan.tags[k] not in fresh and plan.ripe_low[k] - 7 <= today + 7:
            by_row.setdefault(planting.by_tag[plan.tags[k]].row or 0, []).append(int(k))
    for row, rows in by_row.items():
        low = min(plan.ripe_low[k] for k in rows)
        high = max(plan.ripe_high[k] for k in rows)
        start = planting.on + timedelta(days=round(low - today))
        end = planting.on + timedelta(days=round(high - today))
        kg = float(plan.kg[rows].sum())
        yield Line(
            key=f"picking:test:{row}",
            subject="picking",
            act=f"Press nuts at 3 or 4 places of each: {len(rows)} shrubs of row {row}",
            shrubs=tuple(plan.tags[k] for k in rows),
            first=planting.on,
            last=min(until, planting.on + timedelta(days=7)),
            why=f"half of their nuts are forecast to roll out between {span_told(start, end)}; "
            f"about {told(kg, 'mass', planting.about.units)} hang there",
            sure="likely",
            sure_why="a test now narrows each shrub's week",
            waits="animals take what is loose, and too early a picking never leaves the husk",
            weight=kg,
        )


def _rounds(planting: Planting, plan: Picks, until: date) -> Iterable[Line]:
    """Rounds of picking, one line a day on which the plan picks."""
    units = planting.about.units
    span = min(plan.visits.shape[1], (until - planting.on).days + 1)
    for day in range(span):
        rows = np.flatnonzero(plan.visits[:, day])
        if not rows.size or day > 14:
            continue
        when = plan.first + timedelta(days=day)
        kg, stake = float(plan.kg[rows].sum()), float(plan.at_stake[rows].sum())
        yield Line(
            key=f"picking:round:{when}",
            subject="picking",
            act=f"Pick {len(rows)} shrubs on {day_told(when)}, if their nuts roll out",
            shrubs=tuple(plan.tags[k] for k in rows),
            first=when,
            last=when + timedelta(days=2),
            why=f"about {told(kg, 'mass', units)} in shell hang there, and most of it is forecast "
            f"to be loose; {rows.size * _minutes(planting):.0f} minutes at the usual pace",
            sure="likely",
            sure_why=f"plan within {plan.gap:.1%} of the best possible for these forecasts",
            waits=f"about {told(stake, 'mass', units)} of it is lost in a week",
            caution=CAUTION,
            weight=kg,
        )


def _minutes(planting: Planting) -> float:
    return planting.value("harvest.visit_minutes").value
