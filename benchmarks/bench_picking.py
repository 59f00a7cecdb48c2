"""Picking plan against one monolithic whole-number model, and at the sizes it must serve.

Run: python benchmarks/bench_picking.py [--big]   (`--big` adds 5,000 shrubs × 45 days)
"""

import sys
import time

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

from nuttery.science.crop import plan_picking
from nuttery.science.crop.picking_model import picking_model


def instance(n, days, cap, *, seed=0, unequal=False):
    rng = np.random.default_rng(seed)
    shrubs = (
        rng.normal(0.45 * days, 0.13 * days, n),
        rng.uniform(1, 4, n),
        rng.uniform(2, 5, n),
        rng.lognormal(np.log(0.8), 0.8, n),
    )
    terms = {
        "loss_per_day": 0.08,
        "visit_minutes": rng.uniform(2, 7, n) if unequal else 4.0,
        "minutes_per_day": float(cap),
        "days": days,
        "value_per_kg": 8.0,
        "cost_per_minute": 0.2,
    }
    return shrubs, terms


def monolithic(shrubs, terms, seconds):
    """One model with a variable for each step (shrub, last visit, visit)."""
    model = picking_model(*shrubs, **terms)
    n, days = model.waiting.shape
    steps = np.array([(i, e, d) for i in range(n) for d in range(days) for e in range(-1, d)])
    i, e, d = steps.T
    left = np.where(e >= 0, model.waiting[i, e] * model.kept[i] ** (d - e), 0.0)
    worth = model.value * (model.waiting[i, d] - left) - model.cost * model.minutes[i]
    k = np.arange(len(steps))
    first, later = e < 0, e >= 0
    starts = coo_array((np.ones(first.sum()), (i[first], k[first])), shape=(n, k.size))
    weight = np.concatenate([np.ones(later.sum()), -np.ones(k.size)])
    rows = np.concatenate([(i * days + e)[later], i * days + d])
    flow = coo_array((weight, (rows, np.concatenate([k[later], k]))), shape=(n * days, k.size))
    cap = coo_array((model.minutes[i], (d, k)), shape=(days, k.size))
    rules = [
        LinearConstraint(starts.tocsr(), ub=1),
        LinearConstraint(flow.tocsr(), ub=0),
        LinearConstraint(cap.tocsr(), ub=model.cap),
    ]
    return milp(
        -worth,
        constraints=rules,
        integrality=np.ones(k.size),
        bounds=Bounds(0, 1),
        options={"time_limit": seconds, "mip_rel_gap": 1e-6},
    )


def timed(call):
    begin = time.perf_counter()
    answer = call()
    return answer, time.perf_counter() - begin


def show(label, plan, seconds):
    print(f"{label:44s} worth {plan.objective:10.3f}  gap {plan.gap:.1e}  {seconds:6.2f} s")


def main():
    shrubs, terms = instance(3, 10, 5)
    _, compiling = timed(lambda: plan_picking(*shrubs, **terms))
    unequal = instance(4, 10, 5, unequal=True)
    _, more = timed(lambda: plan_picking(*unequal[0], **unequal[1]))
    print(
        f"first calls in this process {compiling:.2f} s and {more:.2f} s (compiled code is cached)"
    )

    shrubs, terms = instance(30, 30, 8)
    plan, ours = timed(lambda: plan_picking(*shrubs, **terms))
    show("30 shrubs × 30 days", plan, ours)
    one, theirs = timed(lambda: monolithic(shrubs, terms, 25))
    found = "none" if one.x is None else f"{-one.fun:.3f}"
    print(f"{'  one monolithic model':44s} worth {found:>10s}  {theirs:15.2f} s")
    print(f"  ratio of times {theirs / ours:.0f}")

    sizes = [(120, 20, False), (120, 10, False), (120, 24, True)]
    sizes += [(5000, 800, False), (5000, 800, True)] if "--big" in sys.argv else []
    for n, cap, mixed in sizes:
        shrubs, terms = instance(n, 45, cap, unequal=mixed)
        plan, seconds = timed(lambda s=shrubs, t=terms: plan_picking(*s, **t))
        visits = "unequal visits" if mixed else "equal visits"
        show(f"{n} shrubs × 45 days, {cap} min a day, {visits}", plan, seconds)


if __name__ == "__main__":
    main()
