"""What a visit takes and what a day's wait loses: learned from own pickings, typed, or assumed."""

from dataclasses import dataclass
from datetime import date

import numpy as np
from scipy.optimize import nnls
from scipy.special import ndtr

from nuttery import reference
from nuttery.records import Picking, RollOut
from nuttery.science.arguments import Floats
from nuttery.science.crop import learn_loss
from nuttery.season.estimate import Estimate, doy_of
from nuttery.season.footing import footing, on_footing
from nuttery.season.planting import Planting

FEWEST = 8
"""Timed pickings, and pickings with a share taken noted, from which own figures are believed."""
YEARS_BACK, MOST_NOTED = 6, 500
"""Of more pickings than so with a share noted, the newest are looked at."""
MANY = 200
EYE_NUTS = 10
"""A share judged by eye is taken to be worth as much as so many nuts counted twice; assumed."""
UNSURE_DAYS = 10.0
"""Spread of ripening about a picking's day before the roll-out tests of that year are looked at."""
OWN = "grower's own"


@dataclass(frozen=True)
class PickingWork:
    """Time, money and loss that the picking plan weighs.

    Attributes
    ----------
    visit_minutes, minutes_per_kg : a visit takes the first, and the second for each kg in shell
    minutes_records : timed pickings behind these; 0 for the shipped or typed time
    minutes_basis : "learned", "grower's own", or the certainty of the shipped value
    loss : chance a day that a ripe nut still out is lost
    minutes_per_day : of visits, at most
    outing_minutes : of going out at all, once a day
    value_per_kg, cost_per_minute : money
    rests_on : values as (name, "value unit", certainty)
    """

    visit_minutes: float
    minutes_per_kg: float
    minutes_records: int
    minutes_basis: str
    loss: Estimate
    minutes_per_day: float
    outing_minutes: float
    value_per_kg: float
    cost_per_minute: float
    rests_on: tuple[tuple[str, str, str], ...]

    def minutes(self, kg: Floats) -> Floats:
        """Minutes of a visit by the kg there, to the minute; to five where many shrubs wait.

        Whole fives let a plan of a thousand shrubs be proven in seconds; the kg themselves are not
        known better than to a factor of two.
        """
        step = 1.0 if kg.size <= MANY else 5.0
        exact = self.visit_minutes + self.minutes_per_kg * kg
        return np.maximum(step, np.round(exact / step) * step)


def picking_work(planting: Planting) -> PickingWork:
    """Return time, money and loss as this planting's notes and values tell them."""
    since = date(planting.on.year - YEARS_BACK, 1, 1)
    pickings = list(planting.notes(Picking, since=since))
    visit, per_kg, timed, basis = _minutes(planting, pickings)
    loss = _loss(planting, pickings, since)
    set_by_hand = [
        planting.value(f"harvest.{name}")
        for name in ("minutes_per_day", "outing_minutes", "value_per_kg", "cost_per_minute")
    ]
    pace = (
        "minutes a visit",
        f"{visit:.1f} + {per_kg:.1f} a kg, {timed} timed" if timed else f"{visit:g}",
        basis,
    )
    lost = ("chance a day that a ripe nut is lost", f"{loss.median:.1%}", loss.basis)
    return PickingWork(
        visit_minutes=visit,
        minutes_per_kg=per_kg,
        minutes_records=timed,
        minutes_basis=basis,
        loss=loss,
        minutes_per_day=set_by_hand[0].value,
        outing_minutes=set_by_hand[1].value,
        value_per_kg=set_by_hand[2].value,
        cost_per_minute=set_by_hand[3].value,
        rests_on=(pace, lost, *(_rests_on(value) for value in set_by_hand)),
    )


def _rests_on(value: reference.Value) -> tuple[str, str, str]:
    return value.name, f"{value.value:g} {value.unit}", value.certainty


def _minutes(planting: Planting, pickings: list[Picking]) -> tuple[float, float, int, str]:
    """Minutes of a visit and of a kg: least squares of the timed pickings, none below nothing."""
    shipped = planting.value("harvest.visit_minutes")
    timed = [n for n in pickings if n.minutes is not None and n.minutes > 0]
    if shipped.certainty == OWN or len(timed) < FEWEST:
        return shipped.value, 0.0, 0, shipped.certainty
    kg, *_ = on_footing(timed, footing(planting))
    taken = np.array([n.minutes for n in timed], dtype=np.float64)
    (visit, per_kg), _ = nnls(np.column_stack([np.ones(kg.size), kg]), taken)
    return float(visit), float(per_kg), len(timed), "learned"


def _loss(planting: Planting, pickings: list[Picking], since: date) -> Estimate:
    """Chance a day that a ripe nut is lost, from the share taken that pickings note.

    How long ripe nuts had hung is told by the roll-out tests of the shrub and year.
    """
    shipped = planting.value("crop.picking.loss_per_day")
    if shipped.certainty == OWN:
        return Estimate(shipped.value, shipped.value, shipped.value, "a day", 0, OWN)
    noted = [n for n in pickings if n.lost_to_animals is not None]
    tests: dict[tuple[str | None, int], list[RollOut]] = {}
    for test in planting.notes(RollOut, since=since):
        tests.setdefault((test.shrub, test.seen.year), []).append(test)
    use = [n for n in noted if (n.shrub, n.seen.year) in tests]
    if len(use) < FEWEST:
        found = learn_loss([], [], [])
        return Estimate(found.median, found.low, found.high, "a day", 0, found.basis)
    within = planting.value("ripening.within_sd").value
    use = use[-MOST_NOTED:]
    ripe, waited = np.array(
        [_waiting(n, tests[n.shrub, n.seen.year], within) for n in use], dtype=np.float64
    ).T
    marked = np.round(EYE_NUTS * ripe)
    taken = np.array([n.lost_to_animals for n in use], dtype=np.float64)
    left = np.round(marked - np.minimum(marked, EYE_NUTS * taken))
    told = (marked > 0) & (waited >= 0.5)
    found = learn_loss(marked[told].astype(int), left[told].astype(int), waited[told])
    return Estimate(found.median, found.low, found.high, "a day", found.n_records, found.basis)


def _waiting(picking: Picking, tests: list[RollOut], within: float) -> tuple[float, float]:
    """Share of a shrub's nuts ripe when it was picked, and the days these had hung on average."""
    year, picked = picking.seen.year, doy_of(picking.seen, picking.seen.year)
    middle = np.arange(picked - 40.0, picked + 21.0, 0.5)
    log_chance = -0.5 * ((middle - picked + 5) / UNSURE_DAYS) ** 2
    for test in tests:
        share = ndtr((doy_of(test.seen, year) + 0.5 - middle) / within).clip(0.01, 0.99)
        log_chance += test.rolled * np.log(share)
        log_chance += (test.tried - test.rolled) * np.log1p(-share)
    chance = np.exp(log_chance - log_chance.max())
    days = np.arange(picked - 60.0, picked + 1)
    by_day = ndtr((days + 0.5 - middle[:, None]) / within)
    ripened = chance @ np.diff(by_day, axis=1, prepend=0.0) / chance.sum()
    ripe = float(ripened.sum())
    return ripe, float(ripened @ (picked - days)) / max(ripe, 1e-9)
