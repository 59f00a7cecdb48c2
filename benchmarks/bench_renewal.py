"""The renewal planner against one model of all stools at once, in the same run.

Both get the same stools, rules and cap; the one model gets as long as the planner took, and then
four times as long. Printed: seconds, worth, proven gap, and the ratios.
"""

import time

import numpy as np

from nuttery.science.canes import plan_renewal
from nuttery.science.canes.rules import checked_rules
from nuttery.science.canes.stool_model import Layout, joined_blocks, stool_block

BEARING = np.array([0, 0, 0.05, 0.15, 0.28, 0.35, 0.36, 0.33, 0.28, 0.22, 0.16, 0.1, 0.06, 0.03])
YEARS, STOOLS = 15, 20
WORDS = {"target": 8, "crowding": 0.1}


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
    solver.passModel(model.highs())
    solver.run()
    info = solver.getInfo()
    gap = (info.mip_dual_bound - info.objective_function_value) / abs(info.objective_function_value)
    return info.objective_function_value, gap


def main():
    plan_renewal(some_counts(2), BEARING, 3, cuts_per_year=3, **WORDS)  # compiled before the clock
    counts = some_counts(STOOLS)
    cap = int(1.5 * STOOLS)
    start = time.perf_counter()
    plan = plan_renewal(counts, BEARING, YEARS, cuts_per_year=cap, **WORDS)
    took = time.perf_counter() - start
    print(f"{STOOLS} stools, {YEARS} years, {cap} cuts a year")
    print(f"planner    {took:6.1f} s  worth {plan.objective:9.1f}  gap {plan.gap:.4f}")
    for times in (1, 4):
        seconds = min(20.0, times * took)
        worth, gap = one_model(counts, np.full(YEARS, float(cap)), seconds)
        print(
            f"one model  {seconds:6.1f} s  worth {worth:9.1f}  gap {gap:.4f}  "
            f"ratio of gaps {gap / max(plan.gap, 1e-6):.1f}"
        )
    start = time.perf_counter()
    free = plan_renewal(some_counts(120), BEARING, YEARS, **WORDS)
    print(f"120 stools without a cap {time.perf_counter() - start:.1f} s, gap {free.gap:.4f}")


if __name__ == "__main__":
    main()
