"""Picking plan against every possible plan of small plantings, and against one whole-number model.

Source: derived from the definition of the picking plan itself, replayed nut by nut (day of
ripening × day of visit) by code that shares nothing with the planner; the one model is solved by
`scipy.optimize`.
"""

from itertools import pairwise

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.stats import norm

from nuttery.science.crop import plan_picking


def instance(seed, n, days, *, equal=True):
    rng = np.random.default_rng(seed)
    season = {
        "ripe_day": rng.uniform(-1, days, n),
        "ripe_sd": rng.uniform(0.2, 1.5, n),
        "spread_sd": rng.uniform(0.2, 2.0, n),
        "crop": rng.lognormal(0, 0.7, n),
    }
    minutes = rng.uniform(2, 6)
    terms = {
        "loss_per_day": rng.uniform(0, 0.4),
        "visit_minutes": minutes if equal else rng.uniform(2, 6, n),
        "minutes_per_day": rng.uniform(0, 2.2 * minutes, days),
        "days": days,
        "value_per_kg": 8.0,
        "cost_per_minute": rng.uniform(0, 0.5),
    }
    return season, terms


def ripening(season, days):
    spread = np.sqrt(season["ripe_sd"] ** 2 + season["spread_sd"] ** 2)
    ripe = norm.cdf((np.arange(days) + 0.5 - season["ripe_day"][:, None]) / spread[:, None])
    return season["crop"][:, None] * np.diff(np.c_[np.zeros(len(ripe)), ripe], axis=1)


def picked_by(visit_days, kg, loss):
    """Kg picked from one shrub: each day's ripe nuts wait for the next visit."""
    total = 0.0
    for u, ripe in enumerate(kg):
        later = [d for d in visit_days if d >= u]
        if later:
            total += ripe * (1 - loss) ** (later[0] - u)
    return total


def best_of_all(season, terms):
    """Worth of the best of all plans: every subset of days for every shrub."""
    days, loss = terms["days"], terms["loss_per_day"]
    n = len(season["crop"])
    minutes = np.broadcast_to(terms["visit_minutes"], n)
    kg = ripening(season, days)
    subsets = [[d for d in range(days) if s >> d & 1] for s in range(2**days)]
    loads = np.array([[d in s for d in range(days)] for s in subsets], dtype=float)
    worths = [
        [
            terms["value_per_kg"] * picked_by(s, kg[i], loss)
            - terms["cost_per_minute"] * minutes[i] * len(s)
            for s in subsets
        ]
        for i in range(n)
    ]
    best, load = np.array(worths[0]), minutes[0] * loads
    ok = (load <= terms["minutes_per_day"] + 1e-9).all(axis=1)
    best, load = best[ok], load[ok]
    for i in range(1, n):
        load = (load[:, None, :] + minutes[i] * loads[None]).reshape(-1, days)
        best = (best[:, None] + np.array(worths[i])[None]).ravel()
        ok = (load <= terms["minutes_per_day"] + 1e-9).all(axis=1)
        best, load = best[ok], load[ok]
    return best.max()


@pytest.mark.parametrize("equal", [True, False])
@pytest.mark.parametrize("seed", range(12))
def test_no_plan_of_three_shrubs_over_five_days_is_better(seed, equal):
    season, terms = instance(seed, 3, 5, equal=equal)
    plan = plan_picking(**season, **terms)
    assert plan.objective == pytest.approx(best_of_all(season, terms), abs=1e-6)
    assert plan.gap <= 1e-6


@pytest.mark.parametrize("seed", range(4))
def test_no_plan_of_two_shrubs_over_nine_days_is_better(seed):
    season, terms = instance(100 + seed, 2, 9)
    plan = plan_picking(**season, **terms)
    assert plan.objective == pytest.approx(best_of_all(season, terms), abs=1e-6)


def one_model(season, terms):
    """Worth of the best plan by one whole-number model: step (shrub, last visit, visit) or not."""
    days, loss = terms["days"], terms["loss_per_day"]
    n = len(season["crop"])
    minutes = np.broadcast_to(terms["visit_minutes"], n)
    kg = ripening(season, days)
    steps = [(i, e, d) for i in range(n) for d in range(days) for e in range(-1, d)]
    worth = [
        terms["value_per_kg"] * sum(kg[i, u] * (1 - loss) ** (d - u) for u in range(e + 1, d + 1))
        - terms["cost_per_minute"] * minutes[i]
        for i, e, d in steps
    ]
    start, flow, cap = np.zeros((n, len(steps))), np.zeros((n * days, len(steps))), None
    cap = np.zeros((days, len(steps)))
    for k, (i, e, d) in enumerate(steps):
        if e < 0:
            start[i, k] = 1
        else:
            flow[i * days + e, k] += 1
        flow[i * days + d, k] -= 1
        cap[d, k] = minutes[i]
    rules = [
        LinearConstraint(start, ub=1),
        LinearConstraint(flow, ub=0),
        LinearConstraint(cap, ub=terms["minutes_per_day"]),
    ]
    found = milp(
        -np.array(worth),
        constraints=rules,
        integrality=np.ones(len(steps)),
        bounds=Bounds(0, 1),
        options={"mip_rel_gap": 1e-9},
    )
    assert found.status == 0
    return -found.fun


@pytest.mark.parametrize("equal", [True, False])
@pytest.mark.parametrize("seed", range(3))
def test_one_whole_number_model_finds_nothing_better(seed, equal):
    season, terms = instance(200 + seed, 10, 10, equal=equal)
    terms["minutes_per_day"] = 2.5 * np.mean(terms["visit_minutes"])
    best = one_model(season, terms)
    plan = plan_picking(**season, **terms)
    assert plan.objective == pytest.approx(best, rel=2e-6)
    assert plan.bound >= best - 1e-6


@pytest.mark.parametrize("seed", range(3))
def test_kg_follow_the_visits_nut_by_nut(seed):
    season, terms = instance(300 + seed, 8, 12)
    plan = plan_picking(**season, **terms)
    kg = ripening(season, 12)
    loss = terms["loss_per_day"]
    for i, row in enumerate(plan.visits):
        visits = np.flatnonzero(row).tolist()
        assert plan.kg_picked[i] == pytest.approx(picked_by(visits, kg[i], loss), abs=1e-9)
        gone = 0.0
        for e, d in pairwise([-1, *visits, 11]):
            gone += sum(kg[i, u] * (1 - (1 - loss) ** (d - u)) for u in range(e + 1, d + 1))
        assert plan.kg_lost[i] == pytest.approx(gone, abs=1e-9)
