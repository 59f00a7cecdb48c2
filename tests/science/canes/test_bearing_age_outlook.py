"""What is learned of canes, held against truths it was made from."""

import numpy as np
import pytest

from nuttery.science.canes import (
    ages_of_classes,
    as_done,
    assumed_bearing,
    assumed_cane_age,
    class_given_age,
    cut_at,
    cut_nothing,
    draw_ages,
    fit_bearing,
    fit_cane_age,
    known_bearing,
    next_winter,
    plan_renewal,
    project,
    standing_canes,
    this_plan,
    update_ages,
    without_must_cut,
)

TRUTH = np.array([0, 0, 0.05, 0.15, 0.28, 0.35, 0.36, 0.33, 0.28, 0.22, 0.16, 0.1])


def records(seed, shrubs=40, years=5):
    rng = np.random.default_rng(seed)
    shrub, year = np.divmod(np.arange(shrubs * years), years)
    counts = rng.poisson(0.8, (len(shrub), len(TRUTH)))
    counts[:, 0] = 0
    habit = np.exp(0.3 * rng.standard_normal(shrubs) - 0.045)
    season = np.exp(0.25 * rng.standard_normal(years) - 0.031)
    crop = counts @ TRUTH * habit[shrub] * season[year]
    noisy = crop + 0.2 * np.sqrt(crop) * rng.standard_normal(len(crop))
    return counts, np.maximum(0, noisy), shrub, year


def test_the_interval_of_bearing_covers_the_truth_about_as_often_as_it_says():
    inside = []
    for seed in range(16):
        counts, crop, shrub, year = records(seed)
        fit = fit_bearing(counts, crop, shrub=shrub, year=year)
        inside.append((fit.low <= TRUTH + 1e-9) & (fit.high >= TRUTH))
        assert (fit.mean >= 0).all()
        assert fit.n_records == len(crop)
    assert 0.65 < np.mean(np.array(inside)[:, 1:]) < 0.95


def test_more_winters_narrow_the_curve_and_the_fit_says_how_many_halve_it():
    fit = fit_bearing(*records(1)[:2], shrub=records(1)[2], year=records(1)[3])
    more = fit.winters_to_halve()
    assert 5 <= more <= 40
    assert not fit.assumed
    assert assumed_bearing(12).winters_to_halve() is None


def test_without_noise_the_curve_is_found():
    rng = np.random.default_rng(0)
    counts = rng.integers(0, 4, (150, len(TRUTH)))
    fit = fit_bearing(counts * (np.arange(len(TRUTH)) > 0), counts @ TRUTH)
    assert fit.mean[1:] == pytest.approx(TRUTH[1:], abs=0.02)


def test_the_assumption_rises_to_four_or_five_and_falls_towards_ten():
    curve = assumed_bearing(14)
    assert curve.assumed
    assert curve.n_records == 0
    assert curve.mean.argmax() in {4, 5}
    assert (np.diff(curve.mean[5:]) < 0).all()
    assert (curve.low <= curve.mean).all()
    assert (curve.mean <= curve.high).all()


def test_age_from_looks_is_a_distribution_and_learns_from_rings():
    rng = np.random.default_rng(3)
    age = rng.integers(1, 12, 150)
    diameter = 3.0 * age * np.exp(0.15 * rng.standard_normal(150))
    bark = np.digitize(age + rng.normal(0, 1, 150), [4, 8])
    model = fit_cane_age(diameter, bark, age)
    share = model.predict(diameter, bark)
    assert share.sum(axis=1) == pytest.approx(1.0)
    assert (share[:, 0] == 0).all()
    mean = share @ np.arange(share.shape[1])
    assert np.abs(mean - age).mean() < 1.2
    before = assumed_cane_age().predict([24.0], ["fading"])
    after = model.predict([24.0], ["fading"])
    assert abs(after @ np.arange(15) - 8) < abs(before @ np.arange(15) - 8)
    assert (after**2).sum() > (before**2).sum()


def test_ages_said_to_be_as_likely_as_so_much_are_so_often_true():
    rng = np.random.default_rng(5)
    age = rng.integers(1, 12, 600)
    diameter = 4.0 * age * np.exp(0.25 * rng.standard_normal(600))
    bark = np.digitize(age + rng.normal(0, 1.5, 600), [4, 8])
    model = fit_cane_age(diameter[:300], bark[:300], age[:300])
    share = model.predict(diameter[300:], bark[300:])
    below = np.cumsum(share, axis=1)
    low = (below > 0.1).argmax(axis=1)
    high = (below >= 0.9).argmax(axis=1)
    covered = np.mean((age[300:] >= low) & (age[300:] <= high))
    assert covered > 0.75


def test_a_forecast_sharpens_the_next_winters_count():
    looks = np.array([[0, 0.6, 0.3, 0.1, 0.0], [0, 0.0, 0.2, 0.5, 0.3]])
    first = ages_of_classes([[3, 2]], looks)
    forecast = next_winter(first, np.zeros((1, 5)), [0.0])
    turned = class_given_age(looks, [0.5, 0.5])
    after = update_ages(forecast, [[2, 3]], turned)
    assert after.sum() == pytest.approx(5.0)
    assert after[0, 1] == 0.0  # no sucker came up, so no cane is of age 1 whatever it looks like


def test_draws_of_ages_keep_the_count_and_agree_with_their_mean():
    looks = np.array([[0, 0.6, 0.4], [0, 0.1, 0.9]])
    drawn = draw_ages([[10, 20]], looks, np.random.default_rng(0), 400)
    assert (drawn.sum(axis=2) == 30).all()
    assert drawn.mean(axis=0)[0] == pytest.approx(ages_of_classes([[10, 20]], looks)[0], abs=0.6)


def test_without_luck_the_outlook_of_a_plan_is_its_crop():
    counts = np.array([[0, 3, 2, 1, 1, 0, 2, 1, 0, 1, 0, 1], [0, 8, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1]])
    plan = plan_renewal(counts, TRUTH, 6, target=8, crowding=0.1)
    words = {"target": 8, "crowding": 0.1, "death": 0.0, "year_spread": 0.0}
    rng = np.random.default_rng(0)
    seen = project(counts, plan, known_bearing(TRUTH), 6, rng, 3, **words)
    assert seen.median == pytest.approx(np.maximum(0, plan.crop).sum(axis=0))
    assert seen.high == pytest.approx(seen.low)


def test_policies_share_their_luck_and_the_interval_holds_the_draws():
    counts = np.tile([0, 8, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1], (20, 1))
    outlooks = [
        project(counts, way, assumed_bearing(12), 8, np.random.default_rng(1), 300, target=8)
        for way in (cut_at(10, 12), cut_nothing(12), as_done(counts, counts // 4))
    ]
    for seen in outlooks:
        inside = (seen.by_draw >= seen.low) & (seen.by_draw <= seen.high)
        assert inside.mean() == pytest.approx(0.8, abs=0.02)
    assert outlooks[0].by_draw[:, 0] == pytest.approx(outlooks[0].by_draw[:, 0])
    assert np.corrcoef(outlooks[0].by_draw[:, 3], outlooks[1].by_draw[:, 3])[0, 1] > 0.9
    assert outlooks[0].median[-1] > outlooks[1].median[-1]


def test_deaths_are_drawn_at_the_rate_asked_for():
    counts = np.zeros((400, 12), dtype=int)
    counts[:, 2] = 5
    flat = np.ones(12)
    words = {"target": 0, "suckers": 0, "death": 0.1, "year_spread": 0.0}
    seen = project(
        counts, cut_nothing(12), known_bearing(flat), 4, np.random.default_rng(2), 50, **words
    )
    expected = 2000 * 0.9 ** np.arange(4)
    assert seen.by_draw.mean(axis=0) == pytest.approx(expected, rel=0.01)


def test_dead_canes_go_first_and_are_not_planned_with():
    left = without_must_cut([[0, 2, 3, 4]], [[0, 0, 1, 4]])
    assert left.tolist() == [[0, 2, 2, 0]]
    with pytest.raises(ValueError, match=r"must_cut\[0, 2\]: found 4, expected no more"):
        without_must_cut([[0, 2, 3, 4]], [[0, 0, 4, 0]])


def test_standing_canes_are_last_winters_kept_a_year_older():
    kept = np.array([[[0, 1, 1, 2], [0, 2, 1, 3]]])
    counts = np.array([[0, 1, 1, 2]])
    assert standing_canes(counts, kept, 5)[0, 1].tolist() == [0, 5, 1, 3]


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (lambda: fit_bearing([[0, 1]], [1.0, 2.0]), "lengths differ: found counts 1, crop 2"),
        (lambda: fit_bearing([[0, 1]], [-1.0]), r"crop\[0\]: found -1.0"),
        (lambda: fit_bearing([[0, 0]], [0.0]), "found 1 records, none with a crop"),
        (lambda: fit_bearing([[0, 1]], [1.0], year=[1, 2]), "lengths differ: found year 2"),
        (lambda: fit_cane_age([5.0], ["hairy"], [2]), r"bark\[0\]: found hairy, expected one of"),
        (lambda: fit_cane_age([5.0], [0], [0]), r"age\[0\]: found 0.0, expected 1"),
        (lambda: fit_cane_age([0.0], [0], [1]), r"diameter_mm\[0\]: found 0.0"),
        (lambda: fit_cane_age([], [], []), "age: found no cane"),
        (lambda: ages_of_classes([[1]], [[0, 0.5, 0.4]]), r"age_given_class\[0\]: found a sum of"),
        (lambda: as_done([[0, 1, 1]], [[0, 0, 2]]), "2 cuts, expected no more than the 2 canes"),
        (
            lambda: project(
                np.zeros((2, 12)),
                this_plan(np.zeros((1, 3, 12), int), np.zeros((1, 3, 12), int)),
                assumed_bearing(12),
                3,
                np.random.default_rng(0),
                2,
            ),
            r"policy: found a plan of \(1, 3\)",
        ),
    ],
)
def test_a_wrong_argument_is_told_with_what_was_found(call, told):
    with pytest.raises(ValueError, match=told):
        call()
