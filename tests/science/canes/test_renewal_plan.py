"""Laws a renewal plan must keep, on stools too many to try every plan."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nuttery.science.canes import Effort, check_plan, horizon, plan_renewal, plan_value
from nuttery.science.canes.rules import checked_rules
from nuttery.science.canes.solver import maximise
from nuttery.science.canes.stool_model import Layout, joined_blocks, stool_block

BEARING = np.array([0, 0, 0.05, 0.15, 0.28, 0.35, 0.36, 0.33, 0.28, 0.22, 0.16, 0.1, 0.06])
WORDS = {"target": 8, "crowding": 0.2}


def some_counts(stools, seed=0):
    rng = np.random.default_rng(seed)
    counts = np.zeros((stools, len(BEARING)), dtype=int)
    counts[:, 1:] = rng.poisson(1.0, (stools, len(BEARING) - 1))
    return counts


@pytest.mark.parametrize("cap", [None, 7])
def test_a_monolithic_model_can_do_no_better_than_the_bound(cap):
    counts, years = some_counts(5), 6
    rules = checked_rules(
        BEARING,
        years,
        target=8,
        suckers=8,
        max_age=10,
        max_share=1 / 3,
        crowding=0.2,
        evenness=1.0,
        discount=1.0,
        overdue=None,
    )
    caps = np.full(years, 1e6 if cap is None else cap)
    blocks = [stool_block(c, rules, np.zeros(years)) for c in counts]
    whole = maximise(joined_blocks(blocks, Layout(years, len(BEARING)), caps), gap=1e-4)
    plan = plan_renewal(counts, BEARING, years, cuts_per_year=cap, **WORDS)
    assert plan.objective <= whole.bound + 1e-6
    assert plan.bound >= whole.value - 1e-6
    assert plan.gap <= 0.005
    if cap is None:
        assert plan.status == "optimal"
        assert plan.objective == pytest.approx(whole.value, rel=2e-4)


def test_many_stools_under_a_cap_come_within_half_a_percent():
    counts = some_counts(40)
    plan = plan_renewal(counts, BEARING, 10, cuts_per_year=45, **WORDS)
    assert plan.gap <= 0.005
    assert plan.status in {"within gap", "optimal"}
    assert (plan.cut[..., 2:].sum(axis=(0, 2)) <= 45).all()
    assert (
        check_plan(counts, plan.cut, plan.kept, suckers=8, max_share=1 / 3, cuts_per_year=45) == ()
    )
    assert plan.objective == pytest.approx(plan_value(plan.kept, plan.rules).sum())


@pytest.mark.parametrize(
    ("counts", "years", "cap"),
    [
        pytest.param(some_counts(1010), 3, 1300, id="a crowd that differs"),
        pytest.param(np.repeat(some_counts(1), 240, axis=0), 6, 240, id="all alike"),
        pytest.param(np.repeat(some_counts(70), 4, axis=0), 6, 250, id="four of each"),
    ],
)
def test_a_cap_is_kept_by_many_stools_at_half_a_percent(counts, years, cap):
    plan = plan_renewal(counts, BEARING, years, cuts_per_year=cap, **WORDS)
    assert plan.gap <= 0.005
    assert (plan.cut[..., 2:].sum(axis=(0, 2)) <= cap).all()


@pytest.mark.parametrize("after", [1, 3, 10, 40])
def test_a_crowd_stopped_at_any_time_is_within_the_cap(after):
    counts, asked = some_counts(1100), []

    def enough():
        asked.append(1)
        return len(asked) > after

    plan = plan_renewal(
        counts, BEARING, 3, cuts_per_year=1200, effort=Effort(cancelled=enough), **WORDS
    )
    assert (plan.cut[..., 2:].sum(axis=(0, 2)) <= 1200).all()
    assert plan.status in {"cancelled", "within gap"}
    assert plan.bound >= plan.objective


def test_like_stools_are_planned_once_and_dealt_out():
    counts = np.repeat(some_counts(1), 50, axis=0)
    plan = plan_renewal(counts, BEARING, 10, **WORDS)
    assert (plan.kept == plan.kept[0]).all()
    one = plan_renewal(counts[:1], BEARING, 10, **WORDS)
    assert plan.objective == pytest.approx(50 * one.objective)


def test_among_equal_plans_the_older_cane_goes():
    flat = np.array([0, 0, 1, 1, 1, 1.0])
    plan = plan_renewal([[0, 0, 1, 1, 1, 1]], flat, 1, target=3, crowding=2.0, max_age=6)
    assert plan.cut[0, 0].tolist() == [0, 0, 0, 0, 0, 1]


@settings(max_examples=25, deadline=None)
@given(
    counts=st.lists(st.integers(0, 3), min_size=6, max_size=6),
    bearing=st.lists(st.sampled_from([0.0, 0.5, 1.0]), min_size=7, max_size=7),
    crowding=st.sampled_from([0.0, 0.5, 1.5]),
    years=st.integers(1, 5),
)
def test_no_swap_that_loses_nothing_would_cut_an_older_cane(counts, bearing, crowding, years):
    plan = plan_renewal(
        [[0, *counts]], bearing, years, target=4, suckers=2, max_age=5, crowding=crowding
    )
    kept, cut = plan.kept[0], plan.cut[0]
    for t in range(years):
        for young in np.flatnonzero(cut[t]):
            for old in np.flatnonzero(kept[t]):
                if 2 <= young < old and t == years - 1:
                    swapped = kept.copy()
                    swapped[t, young] += 1
                    swapped[t, old] -= 1
                    assert plan_value(swapped[None], plan.rules)[0] < plan.objective - 1e-9


def test_the_same_question_gets_the_same_answer_whatever_the_threads():
    counts = some_counts(30)
    one = plan_renewal(counts, BEARING, 8, cuts_per_year=40, effort=Effort(workers=1), **WORDS)
    two = plan_renewal(counts, BEARING, 8, cuts_per_year=40, effort=Effort(workers=2), **WORDS)
    assert (one.kept == two.kept).all()
    assert one.bound == two.bound


def test_stopping_at_once_still_gives_a_plan_within_the_rules():
    counts = some_counts(30)
    effort = Effort(cancelled=lambda: True)
    plan = plan_renewal(counts, BEARING, 8, cuts_per_year=40, effort=effort, **WORDS)
    assert plan.status == "cancelled"
    assert plan.bound >= plan.objective
    assert (
        check_plan(counts, plan.cut, plan.kept, suckers=8, max_share=1 / 3, cuts_per_year=40) == ()
    )


def test_progress_is_told_until_all_stools_are_done():
    told = []
    plan_renewal(some_counts(20), BEARING, 5, effort=Effort(progress=told.append), **WORDS)
    assert told[-1].done == told[-1].total == 20


def test_a_longer_plan_can_be_shown_in_part():
    counts = some_counts(2)
    plan = plan_renewal(counts, BEARING, horizon(5, max_age=10), **WORDS).shown(5)
    assert plan.cut.shape == (2, 5, len(BEARING))
    assert plan.crop.shape == (2, 5)
    # a plan of five years alone would let go of suckers in the last winter; the longer one does not
    assert plan.kept[:, -1, 1].sum() > 0


def test_no_stools_make_an_empty_plan():
    plan = plan_renewal(np.zeros((0, len(BEARING))), BEARING, 3, **WORDS)
    assert plan.kept.shape == (0, 3, len(BEARING))
    assert plan.objective == 0.0


def test_the_input_is_left_as_it_was():
    counts = some_counts(3)
    before = counts.copy()
    plan_renewal(counts, BEARING, 3, **WORDS)
    assert (counts == before).all()


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"counts": [[0, -1, 2]]}, r"counts\[0, 1\]: found -1.0"),
        ({"counts": [[0, 1.5, 2]]}, r"counts\[0, 1\]: found 1.5, expected a whole number"),
        ({"counts": [[1, 1, 2]]}, r"counts\[0, 0\]: found 1, expected 0"),
        ({"counts": [[0, 1]]}, "counts: found 2 ages, expected 3"),
        ({"counts": [[0, np.nan, 1]]}, r"counts\[0, 1\]: found nan"),
        ({"bearing": [0, -1, 1]}, r"bearing\[1\]: found -1.0"),
        ({"bearing": [0, 1]}, "bearing: found 2 ages, expected 3 or more"),
        ({"years": 0}, "years: found 0.0, expected 1"),
        ({"target": -1}, "target: found -1.0"),
        ({"suckers": 1.5}, "suckers: found 1.5"),
        ({"max_age": 0}, "max_age: found 0.0"),
        ({"max_share": 1.2}, "max_share: found 1.2, expected 0 to 1"),
        ({"crowding": -0.1}, "crowding: found -0.1"),
        ({"evenness": np.nan}, "evenness: found nan"),
        ({"discount": 0}, "discount: found 0.0"),
        ({"overdue": -2}, "overdue: found -2.0"),
        ({"cuts_per_year": -1}, "cuts_per_year: found -1.0"),
        ({"cuts_per_year": [1, 2, 3]}, r"cuts_per_year: found shape \(3,\), expected one number"),
    ],
)
def test_a_wrong_argument_is_named_with_what_was_found(change, told):
    asked = {"counts": [[0, 1, 2]], "bearing": [0, 1, 1], "years": 2, "target": 2} | change
    with pytest.raises(ValueError, match=told):
        plan_renewal(**asked)
