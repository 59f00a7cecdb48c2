"""Every small plan there is, tried one by one, against `plan_renewal`."""

import itertools

import numpy as np
import pytest

from nuttery.science.canes import check_plan, crop_of, plan_renewal, plan_value, standing_canes
from nuttery.science.canes.rules import checked_rules


def kept_plans(count, rules):
    """Every way to prune one stool, by trying all of them; shares no code with the planner."""

    def winters(t, standing):
        if t == rules.years:
            yield []
            return
        limit = max(1, int(np.floor(rules.max_share * standing[2:].sum() + 1e-9)))
        for left in itertools.product(*[range(c + 1) for c in standing[1:]]):
            kept = np.array((0, *left))
            if (standing - kept)[2:].sum() > limit:
                continue
            risen = np.array([0, rules.suckers, *kept[1:-1]])
            risen[-1] += kept[-1]
            for later in winters(t + 1, risen):
                yield [kept, *later]

    return np.array(list(winters(0, count)))


def best_value(counts, rules, cap):
    """Best worth over all combinations of the stools' plans under the cap."""
    best = {(0,) * rules.years: 0.0}
    for count in counts:
        plans = kept_plans(count, rules)
        standing = standing_canes(np.repeat(count[None], len(plans), 0), plans, rules.suckers)
        cuts = (standing - plans)[..., 2:].sum(axis=-1)
        joined = {}
        for (total, worth), (cut, value) in itertools.product(
            best.items(), zip(map(tuple, cuts), plan_value(plans, rules), strict=True)
        ):
            key = tuple(int(a + b) for a, b in zip(total, cut, strict=True))
            if cap is None or max(key) <= cap:
                joined[key] = max(joined.get(key, -np.inf), worth + value)
        best = joined
    return max(best.values())


def random_case(seed):
    rng = np.random.default_rng(seed)
    ages, years, stools = (int(k) for k in rng.integers((3, 1, 1), (6, 4, 3)))
    words = {
        "target": int(rng.integers(0, 4)),
        "suckers": int(rng.integers(0, 3)),
        "max_age": int(rng.integers(2, ages + 1)),
        "max_share": float(rng.choice([0, 1 / 3, 0.5, 1])),
        "crowding": float(rng.choice([0, 0.2, 0.7])),
        "evenness": float(rng.choice([0, 1, 2])),
        "discount": float(rng.choice([1, 0.9])),
    }
    counts = np.zeros((stools, ages), dtype=int)
    counts[:, 1:] = rng.integers(0, 3, (stools, ages - 1))
    cap = None if rng.random() < 0.4 else int(rng.integers(0, 4))
    return counts, np.round(rng.random(ages), 2), years, words, cap


@pytest.mark.parametrize("seed", range(60))
def test_the_plan_is_the_best_of_all_plans(seed):
    counts, bearing, years, words, cap = random_case(seed)
    rules = checked_rules(bearing, years, overdue=None, **words)
    plan = plan_renewal(counts, bearing, years, cuts_per_year=cap, **words)
    best = best_value(counts, rules, cap)
    assert plan.objective == pytest.approx(best, abs=1e-6)
    assert plan.bound >= best - 1e-9
    assert plan.status == "optimal"
    assert plan.crop == pytest.approx(crop_of(plan.kept, rules))
    kept_rules = {"suckers": words["suckers"], "max_share": words["max_share"]}
    assert check_plan(counts, plan.cut, plan.kept, cuts_per_year=cap, **kept_rules) == ()
