"""The renewal planner against one model of all stools, and the outlook against NumPy.

Without a cap and with one, planner and one model (HiGHS) get the same few stools, rules and cap in
the same run; the one model may take `PATIENCE` times as long as the planner and states its gap.
Then the planner alone on the sizes it is for, and the outlook against the same sums in NumPy.
"""

import sys
import time

import numpy as np

from nuttery.science.canes import Effort, cut_nothing, plan_renewal, project
from nuttery.science.canes.rules import checked_rules
from nuttery.science.canes.stool_model import Layout, joined_blocks, stool_block

BEARING = np.array([0, 0, 0.05, 0.15, 0.28, 0.35, 0.36, 0.33, 0.28, 0.22, 0.16, 0.1, 0.06, 0.03])
YEARS, STOOLS, NO_CAP = 15, 20, 1e6
WORDS = {"target": 8, "crowding": 0.1}
PATIENCE, LONGEST = 10, 30.0


def some_counts(stools):
    rng = np.random.default_rng(5)
    counts = np.zeros((stools, len(BEARING)), dtype=int)
    counts[:, 1:] = rng.poisson(1.0, (stools, len(BEARING) - 1))
    counts[:, 1] = 8
    return counts


def one_model(counts, caps, seconds):
    """Worth and gap of one integer program of all stools after so many seconds."""
    import highspy

    rules = checked_rules(
        BEARING,
        YEARS,
        suckers=8,
        max_age=10,
        max_share=1 / 3,
        evenness=1.0,
        discount=1.0,
        overdue=None,
        **WORDS,
    )
    blocks = [stool_block(row, rules, np.zeros(YEARS)) for row in counts]
    model = joined_blocks(blocks, Layout(YEARS, len(BEARING)), caps)
    solver = highspy.Highs()
    solver.silent()
    solver.setOptionValue("time_limit", seconds)
    solver.setOptionValue("mip_rel_gap", 0.005)
    solver.passModel(model.highs())
    start = time.perf_counter()
    solver.run()
    info = solver.getInfo()
    gap = (info.mip_dual_bound - info.objective_function_value) / abs(info.objective_function_value)
    return time.perf_counter() - start, info.objective_function_value, gap


def timed(counts, cap):
    """The plan, seconds and seconds of processor."""
    start, busy = time.perf_counter(), time.process_time()
    plan = plan_renewal(
        counts, BEARING, YEARS, cuts_per_year=cap, effort=Effort(gap=0.005), **WORDS
    )
    return plan, time.perf_counter() - start, time.process_time() - busy


def against_one_model(cap):
    counts = some_counts(STOOLS)
    plan, took, _ = timed(counts, cap)
    print(f"{STOOLS} stools, {YEARS} years, {cap or 'any number of'} cuts a year")
    print(f"  planner    {took:6.2f} s  worth {plan.objective:9.1f}  gap {plan.gap:.4f}")
    caps = np.full(YEARS, float(cap or NO_CAP))
    seconds, worth, gap = one_model(counts, caps, min(LONGEST, PATIENCE * took))
    print(f"  one model  {seconds:6.2f} s  worth {worth:9.1f}  gap {gap:.4f}")
    print(f"  ratio of times {seconds / took:.1f}, of gaps {gap / max(plan.gap, 1e-4):.1f}")


def outlook(stools, draws):
    """Seconds of the outlook, and of the same number of stool years borne in NumPy."""
    counts, luck = some_counts(stools), np.random.default_rng(1)
    start = time.perf_counter()
    project(counts, cut_nothing(len(BEARING)), BEARING, YEARS, luck, draws, suckers=8, **WORDS)
    took = time.perf_counter() - start
    start = time.perf_counter()
    for _ in range(draws):
        stand = counts.copy()
        for _ in range(YEARS):
            stand[:, 1] = np.minimum(stand[:, 1], np.maximum(0, 8 - stand[:, 2:].sum(axis=1)))
            crop = stand @ BEARING - 0.1 * np.maximum(0, stand.sum(axis=1) - 8)
            np.maximum(0, crop).sum()
            stand -= luck.binomial(stand, 0.02)
            stand[:, -1] += stand[:, -2]
            stand[:, 2:-1] = stand[:, 1:-2]
            stand[:, 1] = 8
    plain = time.perf_counter() - start
    print(f"outlook, {stools} stools x {YEARS} years x {draws} draws: {took:.2f} s", end="; ")
    print(f"ratio of NumPy's time to it {plain / took:.1f}")


def main():
    compiled = some_counts(STOOLS)
    plan_renewal(compiled, BEARING, 3, cuts_per_year=20, **WORDS)  # compiled before the clock
    project(compiled, cut_nothing(len(BEARING)), BEARING, 2, np.random.default_rng(0), 2, **WORDS)
    against_one_model(None)
    against_one_model(int(1.5 * STOOLS))
    sizes = [(120, None), (120, 180), (120, 40)]
    for stools, cap in sizes + ([(5000, None), (5000, 7500)] if "--large" in sys.argv else []):
        plan, took, busy = timed(some_counts(stools), cap)
        print(f"{stools} stools, cap {cap}: {took:.1f} s, {busy:.1f} s of processor,", end=" ")
        print(f"worth {plan.objective:.1f}, gap {plan.gap:.4f}, {plan.status}")
    outlook(5000, 10)


if __name__ == "__main__":
    main()
