import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from nuttery.science.crop import plan_picking

TERMS = {
    "loss_per_day": 0.1,
    "visit_minutes": 4.0,
    "minutes_per_day": 12.0,
    "days": 20,
    "value_per_kg": 8.0,
    "cost_per_minute": 0.2,
}


def season(seed, n, days=20):
    rng = np.random.default_rng(seed)
    return (
        rng.uniform(2, days - 3, n),
        rng.uniform(0.5, 3, n),
        rng.uniform(1, 4, n),
        rng.lognormal(-0.2, 0.8, n),
    )


@settings(max_examples=15, deadline=None)
@given(
    seed=st.integers(0, 10_000),
    n=st.integers(1, 25),
    equal=st.booleans(),
    cap=st.floats(0, 40),
    loss=st.floats(0, 1),
)
def test_every_plan_keeps_the_cap_and_loses_no_nut_from_the_books(seed, n, equal, cap, loss):
    shrubs = season(seed, n)
    minutes = 4.0 if equal else np.random.default_rng(seed).uniform(2, 7, n)
    caps = np.full(20, cap)
    caps[seed % 20] = 0.0
    changed = {"visit_minutes": minutes, "minutes_per_day": caps, "loss_per_day": loss}
    plan = plan_picking(*shrubs, **(TERMS | changed), gap_wanted=1e-3)
    load = np.broadcast_to(minutes, n) @ plan.visits
    assert (load <= caps + 1e-6).all()
    assert_allclose(plan.kg_picked + plan.kg_lost + plan.kg_left, shrubs[3])
    assert (plan.kg_left >= -1e-9).all()
    assert plan.gap >= 0
    assert plan.bound >= plan.objective
    value = 8.0 * plan.kg_picked.sum() - 0.2 * load.sum()
    assert plan.objective == pytest.approx(value, abs=1e-9)


def test_without_a_cap_each_shrub_is_planned_as_if_alone():
    shrubs = season(1, 6)
    together = plan_picking(*shrubs, **(TERMS | {"minutes_per_day": 1e6}))
    for i in range(6):
        alone = plan_picking(*(part[i : i + 1] for part in shrubs), **TERMS)
        assert together.visits[i].tolist() == alone.visits[0].tolist()
    assert together.gap == 0.0


def test_a_tighter_cap_is_never_better_and_an_open_day_has_no_price():
    worths = [
        plan_picking(*season(2, 20), **(TERMS | {"minutes_per_day": cap})).objective
        for cap in (0.0, 4.0, 8.0, 16.0, 400.0)
    ]
    assert worths == sorted(worths)
    assert worths[0] == 0.0
    tight = plan_picking(*season(2, 20), **(TERMS | {"minutes_per_day": 8.0}))
    assert (tight.day_price[tight.minutes < 4.0] == 0).all()
    assert tight.day_price.max() > 0


def test_nuts_that_nobody_takes_wait_for_one_visit():
    plan = plan_picking(*season(3, 1), **(TERMS | {"loss_per_day": 0.0}))
    assert plan.visits.sum() == 1
    assert plan.kg_lost == pytest.approx(0.0)


def test_a_closed_day_is_not_used_though_it_be_the_best():
    open_plan = plan_picking(*season(4, 1), **TERMS)
    cap = np.full(20, 12.0)
    cap[open_plan.visits[0]] = 0.0
    plan = plan_picking(*season(4, 1), **(TERMS | {"minutes_per_day": cap}))
    assert not (plan.visits & open_plan.visits).any()
    assert plan.objective < open_plan.objective


def test_more_wildlife_means_more_visits_or_less_picked():
    few = plan_picking(*season(5, 10), **(TERMS | {"loss_per_day": 0.02}))
    many = plan_picking(*season(5, 10), **(TERMS | {"loss_per_day": 0.3}))
    assert many.kg_picked.sum() < few.kg_picked.sum()


def test_nuts_ripe_before_the_first_day_count_on_it():
    plan = plan_picking([-30.0], 1.0, 1.0, [2.0], **TERMS)
    assert np.flatnonzero(plan.visits[0]).tolist() == [0]
    assert plan.kg_picked == pytest.approx(2.0)


def test_a_shrub_that_ripens_all_at_once_is_visited_that_day():
    plan = plan_picking([7.2], 0.0, 0.0, [2.0], **TERMS)
    assert np.flatnonzero(plan.visits[0]).tolist() == [7]


def test_a_visit_that_costs_more_than_it_brings_is_not_made():
    plan = plan_picking(*season(6, 5), **(TERMS | {"value_per_kg": 0.01}))
    assert not plan.visits.any()
    assert (plan.objective, plan.gap) == (0.0, 0.0)


def test_a_planting_without_shrubs_has_an_empty_plan():
    plan = plan_picking([], [], [], [], **TERMS)
    assert plan.visits.shape == (0, 20)
    assert (plan.objective, plan.gap) == (0.0, 0.0)


def test_the_same_season_gives_the_same_plan():
    a, b = (plan_picking(*season(7, 40), **TERMS) for _ in range(2))
    assert (a.visits == b.visits).all()
    assert (a.objective, a.bound) == (b.objective, b.bound)


def test_inputs_are_left_as_they_were():
    shrubs = season(8, 12)
    copies = [part.copy() for part in shrubs]
    plan_picking(*shrubs, **TERMS)
    assert all((a == b).all() for a, b in zip(shrubs, copies, strict=True))


def test_progress_tells_a_falling_bound_and_stopping_keeps_a_plan_with_it():
    told = []
    whole = plan_picking(*season(9, 60), **TERMS, progress=lambda *both: told.append(both))
    bounds = [bound for bound, _ in told]
    assert bounds == sorted(bounds, reverse=True)
    assert told[-1][1] <= whole.objective + 1e-9
    halted = plan_picking(*season(9, 60), **TERMS, stop=lambda: True)
    assert halted.objective <= whole.objective + 1e-9 <= halted.bound + 2e-9
    assert (halted.minutes <= 12.0 + 1e-9).all()


def test_the_search_tells_a_rising_worth_below_the_bound_and_can_be_stopped():
    terms = TERMS | {"visit_minutes": np.random.default_rng(3).uniform(2, 7, 40)}
    told, asked = [], []
    told_to = {"progress": lambda *both: told.append(both), "gap_wanted": 0.015}
    whole = plan_picking(*season(3, 40), **terms, **told_to)
    worths = [worth for _, worth in told if np.isfinite(worth)]
    assert len(worths) > 1
    assert (np.diff(worths) > -1e-9).all()
    assert worths[-1] <= whole.objective + 1e-9 <= told[-1][0] + 2e-9

    def after_a_while():
        asked.append(True)
        return len(asked) > 4

    halted = plan_picking(*season(3, 40), **terms, stop=after_a_while)
    assert 0 < halted.objective <= halted.bound
    assert halted.gap == pytest.approx(1 - halted.objective / halted.bound)
    assert (halted.minutes <= 12.0 + 1e-9).all()


@pytest.mark.parametrize(
    ("place", "value", "told"),
    [
        (0, [2.0, np.nan], r"ripe_day\[1\]: found nan, expected a number"),
        (1, [1.0, -0.5], r"ripe_sd\[1\]: found -0.5, expected 0 to inf"),
        (2, [1.0, 2.0, 3.0], r"spread_sd: found shape \(3,\), expected one or \(2,\)"),
        (3, [1.0, -2.0], r"crop\[1\]: found -2.0, expected 0 to inf"),
        ("loss_per_day", 1.5, "loss_per_day: found 1.5, expected 0 to 1"),
        ("visit_minutes", 0.0, r"visit_minutes\[0\]: found 0.0, expected more than 0 minutes"),
        (
            "minutes_per_day",
            [1.0] * 19,
            r"minutes_per_day: found shape \(19,\), expected one or \(",
        ),
        ("minutes_per_day", -1.0, "minutes_per_day: found -1.0, expected 0 to inf"),
        ("days", 0, "days: found 0, expected a whole number, at least 1"),
        ("days", 2.5, "days: found 2.5, expected a whole number"),
        ("value_per_kg", np.nan, "value_per_kg: found nan, expected a number"),
        ("cost_per_minute", -0.1, "cost_per_minute: found -0.1, expected 0 to inf"),
    ],
)
def test_wrong_input_is_named(place, value, told):
    shrubs = [[2.0, 5.0], [1.0, 1.0], [2.0, 2.0], [1.0, 1.0]]
    terms = dict(TERMS)
    if isinstance(place, int):
        shrubs[place] = value
    else:
        terms[place] = value
    with pytest.raises(ValueError, match=told):
        plan_picking(*shrubs, **terms)


@pytest.mark.parametrize("seed", range(3))
def test_visits_of_unequal_length_come_near_the_bound(seed):
    rng = np.random.default_rng(seed)
    terms = TERMS | {"visit_minutes": rng.uniform(2, 7, 40), "minutes_per_day": 25.0}
    plan = plan_picking(*season(seed, 40), **terms, gap_wanted=0.004)
    assert plan.gap <= 0.004
    assert (terms["visit_minutes"] @ plan.visits <= 25.0 + 1e-9).all()
