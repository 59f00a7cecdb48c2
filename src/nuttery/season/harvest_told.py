"""The harvest as one answer: of the whole planting on a day, and of one shrub."""

from dataclasses import dataclass
from datetime import date

import numpy as np

from nuttery.records import told
from nuttery.science.crop import biennial_index
from nuttery.season.crops import crop_habit, crops
from nuttery.season.drying import DryingBatch, drying
from nuttery.season.drying import caution as drying_caution
from nuttery.season.errors import NotEnoughKnown
from nuttery.season.estimate import day_of, day_told, span_told
from nuttery.season.harvest import CAUTION, to_press
from nuttery.season.next_crop import Expected, expected_crop, shows_next
from nuttery.season.picking_plan import DAYS_PLANNED, Picks, in_season, picks
from nuttery.season.planting import Planting
from nuttery.season.samples import SampleTold, samples
from nuttery.season.watch import Watch

FEWEST_PAIRS = 4
"""Pairs of neighbouring years from which an index of alternate bearing is told of a shrub."""


@dataclass(frozen=True)
class HarvestTold:
    """The harvest of the planting.

    Attributes
    ----------
    year, on : season, and the day as of which it is told
    expected : crop of every shrub, in walking order
    after : of the season after it, from July on, when its catkins show; else nothing
    picked_kg, picked_shrubs : picked so far this season, in shell
    plan : rounds of picking; nothing out of season
    no_plan : why there is none
    press : shrubs whose roll-out test is due, most at stake first
    drying : batches on the tray
    caution, drying_caution : for picking; for what is drying
    """

    year: int
    on: date
    expected: Expected
    after: Expected | None
    picked_kg: float
    picked_shrubs: int
    plan: Picks | None
    no_plan: str
    press: tuple[str, ...]
    drying: tuple[DryingBatch, ...]
    caution: str
    drying_caution: str


def harvest_told(planting: Planting, *, watch: Watch | None = None) -> HarvestTold:
    """Return what to press and pick, what waiting costs, and what is drying.

    Parameters
    ----------
    planting : the planting as of a day
    watch : whom to tell how far it has come, and who may stop it with the best plan so far
    """
    expected, known = expected_crop(planting), crops(planting)
    plan, why = _plan(planting, watch)
    now = (known.year == expected.year) & (known.pickings > 0)
    press: tuple[str, ...] = ()
    if plan is not None:
        press = tuple(plan.tags[k] for k in to_press(planting, plan, planting.on))
    return HarvestTold(
        year=expected.year,
        on=planting.on,
        expected=expected,
        after=_after(planting, expected.year),
        picked_kg=float(known.kg[now].sum()),
        picked_shrubs=int(now.sum()),
        plan=plan,
        no_plan=why,
        press=press,
        drying=drying(planting),
        caution=CAUTION,
        drying_caution=drying_caution(planting),
    )


def _after(planting: Planting, year: int) -> Expected | None:
    return expected_crop(planting, year=year + 1) if shows_next(planting.on) else None


def _plan(planting: Planting, watch: Watch | None = None) -> tuple[Picks | None, str]:
    if not in_season(planting.on):
        return None, "Rounds of picking are planned from July to November."
    try:
        plan = picks(planting, watch=watch)
    except NotEnoughKnown as lack:
        return None, f"No rounds can be planned: {lack}."
    return plan, ""


@dataclass(frozen=True)
class ShrubHarvest:
    """Crop, nuts and picking of one shrub.

    Attributes
    ----------
    shrub, on : whose, and the day as of which it is told
    year, kg, kg_low, kg_high : season at hand and the crop expected to hang, 80 % interval
    basis : what that rests on
    words : when its nuts roll out, when it is picked, how evenly it bears
    years, picked, picked_low, picked_high : earlier crops, kg in shell, interval of the conversion
    conversions : what that interval rests on
    biennial : index of alternate bearing, 0 even to 1; NaN without neighbouring years
    pairs : pairs of neighbouring years behind it
    samples : what its nuts tell, season by season
    """

    shrub: str
    on: date
    year: int
    kg: float
    kg_low: float
    kg_high: float
    basis: str
    words: tuple[str, ...]
    years: tuple[int, ...]
    picked: tuple[float, ...]
    picked_low: tuple[float, ...]
    picked_high: tuple[float, ...]
    conversions: str
    biennial: float
    pairs: int
    samples: tuple[SampleTold, ...]


def shrub_harvest(planting: Planting, tag: str, *, rules: str | None = None) -> ShrubHarvest:
    """Return what is known of one shrub's crops and nuts.

    Parameters
    ----------
    planting : the planting as of a day
    tag : the shrub
    rules : rule set to grade by; the one of the planting's units by default

    Raises
    ------
    WrongQuestion
        If no such shrub stands, or there is no such rule set.
    """
    row = planting.shrubs.index(planting.shrub(tag))
    try:
        nuts = samples(planting, tag, rules=rules)
    except NotEnoughKnown:
        nuts = ()
    expected, known = expected_crop(planting), crops(planting)
    mine = known.of(row)
    index, pairs, whole = float("nan"), 0, float("nan")
    if known.kg.size:
        habit = crop_habit(planting)
        index, pairs = float(habit.biennial[row]), int(habit.pairs[row])
        whole = float(biennial_index(habit.total))
    return ShrubHarvest(
        shrub=tag,
        on=planting.on,
        year=expected.year,
        kg=float(expected.kg[row]),
        kg_low=float(expected.low[row]),
        kg_high=float(expected.high[row]),
        basis=_basis(expected, row),
        words=(*_picking_words(planting, tag), *_habit_words(index, pairs, whole)),
        years=tuple(known.year[mine].tolist()),
        picked=tuple(known.kg[mine].tolist()),
        picked_low=tuple(known.low[mine].tolist()),
        picked_high=tuple(known.high[mine].tolist()),
        conversions=known.basis,
        biennial=index,
        pairs=pairs,
        samples=nuts,
    )


def _basis(expected: Expected, row: int) -> str:
    own = expected.records[row]
    parts = [expected.basis, f"{own} of them its own" if own else "none of them its own"]
    if expected.counted[row]:
        parts.append("and its catkins and buds")
    if expected.harm_noted[row]:
        parts.append(f"{expected.harmed[row]:.0%} of its shoots noted as killed by frost")
    return ", ".join(parts)


def _picking_words(planting: Planting, tag: str) -> tuple[str, ...]:
    """When it rolls out and on which round it is picked."""
    plan, _ = _plan(planting)
    if plan is None:
        return ()
    if tag in plan.done:
        return ("Picked this season; nothing more is expected of it.",)
    if tag not in plan.tags:
        return (f"No nuts of it are expected to roll out within {DAYS_PLANNED} days.",)
    k, year = plan.tags.index(tag), planting.on.year
    middle, low, high = (
        day_of(year, float(d[k])) for d in (plan.ripe, plan.ripe_low, plan.ripe_high)
    )
    ripe = f"Half of its nuts are forecast to roll out by {day_told(middle)} "
    ripe += f"({span_told(low, high)}; {plan.tests[k]} tests and notes behind it)."
    days = [r.day for r in plan.rounds if tag in r.shrubs]
    if not days:
        return (ripe, "No round of its own: a visit would cost more than it brings.")
    stake = told(float(plan.at_stake[k]), "mass", planting.about.units)
    waits = f"; a week later about {stake} more is gone" if plan.at_stake[k] >= 0.005 else ""
    return (ripe, f"To pick on {' and '.join(map(day_told, days))}{waits}.")


def _habit_words(index: float, pairs: int, planting: float) -> tuple[str, ...]:
    """How unevenly it bears, beside the planting, whose bad years are everyone's."""
    if np.isnan(index) or pairs < FEWEST_PAIRS:
        return ()
    more = "more" if index > planting + 0.1 else "less" if index < planting - 0.1 else "much as"
    how = f"{more}{'' if more == 'much as' else ' than'} the whole planting ({planting:.2f})"
    words = f"Index of alternate bearing {index:.2f} over {pairs} pairs of years, {how}"
    return (f"{words}; 0 is even, 1 a crop every other year only.",)
