"""What to do about the nuts now: press, pick, and what it costs to wait."""

from collections.abc import Iterable
from datetime import date, timedelta

import numpy as np

from nuttery.records import RollOut, System, told
from nuttery.science.arguments import Ints
from nuttery.season.estimate import day_told, doy_of, span_told
from nuttery.season.line import Line
from nuttery.season.picking_plan import Picks, Round, in_season, picks
from nuttery.season.planting import Planting
from nuttery.season.words import plural, rows_told

__all__ = [
    "CAUTION",
    "Picks",
    "Round",
    "left_out_told",
    "lines",
    "loss_told",
    "outings_told",
    "pace_told",
    "picks",
    "to_press",
]

MOST_TESTS = 20
"""Shrubs pressed on one outing; the others wait for the next."""
FULL = 0.9
"""Share of a day's minutes from which it is called full."""
LEAST = 0.005
"""Kg below which nothing is said to be lost."""
FRESH_DAYS = 6
"""A roll-out test so old still tells the shrub's week."""
CAUTION = (
    "Bend tall canes down rather than climb; a ladder only on firm level ground, with a second "
    "person. Leave nuts that lay on the ground after manure or under spray to what the label and "
    "local rules say. Hazelnuts are an allergen."
)


def to_press(planting: Planting, plan: Picks, until: date) -> Ints:
    """Rows of the plan to press by then: window open or near, no fresh test, most at stake first.

    What a test can save is taken as the crop times the width of its window.
    """
    since = planting.on - timedelta(days=FRESH_DAYS)
    fresh = {note.shrub for note in planting.notes(RollOut, since=since)}
    today, last = doy_of(planting.on, planting.on.year), doy_of(until, planting.on.year)
    width = plan.ripe_high - plan.ripe_low
    due = (plan.ripe_low - 4 <= min(today + 7, last)) & (plan.ripe_high >= today)
    due &= np.array([tag not in fresh for tag in plan.tags], dtype=bool)
    rows = np.flatnonzero(due)
    order = np.argsort(-(plan.kg * width)[rows], kind="stable")
    return rows[order]


def lines(planting: Planting, until: date) -> Iterable[Line]:
    """Press nuts where ripening is near, and pick by the plan."""
    if not in_season(planting.on):
        return
    plan = picks(planting)
    yield from _tests(planting, plan, until)
    yield from _rounds(planting, plan, until)


def _tests(planting: Planting, plan: Picks, until: date) -> Iterable[Line]:
    """One line: the shrubs whose test can move the plan most."""
    due = to_press(planting, plan, until)
    if not due.size:
        return
    rows = np.sort(due[:MOST_TESTS])
    tags = tuple(plan.tags[k] for k in rows)
    year = planting.on.year
    start, end = (
        date(year, 1, 1) + timedelta(days=round(float(day)) - 1)
        for day in (plan.ripe_low[rows].min(), plan.ripe_high[rows].max())
    )
    kg = float(plan.kg[rows].sum())
    left = due.size - rows.size
    more = f"; {left} more can wait for the next outing" if left else ""
    where = rows_told(planting, tags)
    yield Line(
        key="picking:test",
        subject="picking",
        act=f"Press nuts at 3 or 4 places of {plural(len(tags), 'shrub')}"
        + (f", {where}" if where else ""),
        shrubs=tags,
        first=planting.on,
        last=min(until, planting.on + timedelta(days=7)),
        why=f"half of their nuts are forecast to roll out {span_told(start, end)}; "
        f"about {told(kg, 'mass', planting.about.units)} hangs there{more}",
        sure="likely",
        sure_why="each shrub's window is days to weeks wide until it is pressed",
        waits="the rounds are planned on the forecast alone; what is loose goes to animals",
        weight=kg,
    )


def _rounds(planting: Planting, plan: Picks, until: date) -> Iterable[Line]:
    """The next round by itself, the others until then in one line."""
    coming = [r for r in plan.rounds if r.day <= until]
    if coming:
        yield _next_round(planting, plan, coming[0])
    if len(coming) > 1:
        yield _later_rounds(planting, plan, coming[1:])


def _next_round(planting: Planting, plan: Picks, first: Round) -> Line:
    units, kg = planting.about.units, float(first.kg.sum())
    when = "today" if first.day == planting.on else f"on {day_told(first.day)}"
    where = rows_told(planting, first.shrubs)
    return Line(
        key="picking:round:next",
        subject="picking",
        act=f"Pick {plural(len(first.shrubs), 'shrub')} {when}, where the nuts roll out"
        + (f": {where}" if where else ""),
        shrubs=first.shrubs,
        first=first.day,
        last=first.day + timedelta(days=2),
        why=f"about {told(kg, 'mass', units)} in shell is forecast to be loose; "
        f"{first.minutes:.0f} minutes with going out ({pace_told(plan)})",
        sure="likely",
        sure_why=outings_told(plan, planting.about.units),
        waits=f"a week later about {told(first.at_stake, 'mass', units)} more of it is gone",
        caution=CAUTION,
        weight=kg,
        rests_on=plan.work.rests_on,
    )


def _later_rounds(planting: Planting, plan: Picks, later: list[Round]) -> Line:
    units = planting.about.units
    parts = [
        f"{day_told(r.day)} {plural(len(r.shrubs), 'shrub')}, "
        f"{told(float(r.kg.sum()), 'mass', units)}"
        for r in later[:5]
    ]
    more = f"; {len(later) - 5} more after that" if len(later) > 5 else ""
    tags = {tag for r in later for tag in r.shrubs}
    return Line(
        key="picking:round:later",
        subject="picking",
        act=f"Keep {plural(len(later), 'more day')} free for picking",
        shrubs=tuple(tag for tag in plan.tags if tag in tags),
        first=later[0].day,
        last=later[-1].day,
        why="; ".join(parts) + more,
        sure="a guess",
        sure_why="re-planned after every roll-out test and picking",
        waits=f"each day a ripe nut is lost with a chance of {plan.work.loss.median:.1%} "
        f"({plan.work.loss.basis})",
        weight=float(sum(r.kg.sum() for r in later)),
    )


def pace_told(plan: Picks) -> str:
    """What the minutes of a visit rest on."""
    work = plan.work
    if work.minutes_records:
        return f"own times, {work.minutes_records} pickings"
    return f"{work.visit_minutes:g} minutes a shrub, {work.minutes_basis}"


def outings_told(plan: Picks, units: System) -> str:
    """Why these days: what going out less often costs and saves."""
    daily = plan.choices[0]
    if plan.stopped:
        return f"stopped early: the best plan so far, within {plan.gap:.1%} of the best possible"
    if plan.every == 1 or len(plan.choices) == 1:
        return f"plan within {plan.gap:.1%} of the best possible for these forecasts"
    chosen = next(c for c in plan.choices if c.every == plan.every)
    less = daily.kg_picked - chosen.kg_picked
    lost = f"{told(less, 'mass', units)} less than" if less >= LEAST else "as much as"
    fewer = plural(daily.outings - chosen.outings, "outing")
    return f"outings every {plan.every} days pick {lost} outings on any day, with {fewer} fewer"


def loss_told(plan: Picks) -> str:
    """What share of ripe nuts a day takes, and on what that rests."""
    loss = plan.work.loss
    return f"{loss.median:.1%} a day ({loss.low:.1%}–{loss.high:.1%}; {loss.basis})"


def left_out_told(plan: Picks, units: System) -> str:
    """Which shrubs no round visits, and why; nothing where each is visited."""
    out = ~plan.visits.any(axis=1)
    left = int(out.sum())
    if not left:
        return ""
    each = told(float(plan.kg[out].mean()), "mass", units)
    kg = (
        f"{each} on it gets no round of its"
        if left == 1
        else f"{each} on average get no round of their"
    )
    day = plan.work.minutes_per_day
    full = any(r.minutes - plan.work.outing_minutes > FULL * day for r in plan.rounds)
    why = "the days are full (harvest.minutes_per_day) or " if full else ""
    return (
        f"{plural(left, 'shrub')} with {kg} own: {why}a visit would cost more than it brings at "
        "the values set (harvest.value_per_kg, harvest.cost_per_minute)."
    )
