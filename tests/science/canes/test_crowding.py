"""What crowding costs, learned from made records whose truth is known."""

import numpy as np
import pytest
from scipy import stats

from nuttery.science.canes import (
    CropPrior,
    assumed_bearing,
    cut_nothing,
    fit_crop_of_stool,
    known_bearing,
    known_crowding,
    project,
)
from nuttery.science.canes.crowding import mean_above_zero

TRUTH = np.array([0, 0, 0.02, 0.05, 0.09, 0.11, 0.11, 0.1, 0.09, 0.07, 0.05, 0.03])
AGES = len(TRUTH)
SURE = known_crowding(known_bearing([0, 1, 1]), 1, 0)


def prior(curve):
    starts = np.arange(2.0, 31)
    share = np.exp(-0.5 * (np.log(starts / 6) / 0.5) ** 2) / starts
    near = np.exp(-0.5 * ((np.arange(AGES)[:, None] - np.arange(AGES)) / 2) ** 2)
    own = 0.7 * curve + 0.1 * curve.max() * (np.arange(AGES) > 0)
    doubt = np.outer(own, own) * near + np.outer(curve, curve) + 1e-8 * np.eye(AGES)
    best = float(curve.max())
    return CropPrior(curve, doubt, starts, share / share.sum(), 1.2 * best, 0.8 * best)


def records(seed, start, cost, *, most=5.0, shrubs=60, years=6, bare_ones=False):
    """Stools of few and of many canes; each shrub keeps about its own number."""
    rng = np.random.default_rng(seed)
    shrub, year = np.divmod(np.arange(shrubs * years), years)
    full = rng.uniform(0.2, most / AGES * 3, shrubs)
    kept = rng.poisson(full[shrub][:, None], (len(shrub), AGES)) * (np.arange(AGES) > 0)
    over = np.maximum(0, kept.sum(axis=1) - start)
    bare = np.maximum(0, kept @ TRUTH - cost * over)
    habit = np.exp(0.3 * rng.standard_normal(shrubs) - 0.045)[shrub]
    season = np.exp(0.2 * rng.standard_normal(years) - 0.02)[year]
    crop = bare * habit * season
    noisy = np.maximum(0, crop + 0.1 * np.sqrt(crop) * rng.standard_normal(len(crop)))
    seen = (noisy > 0) | bare_ones
    return kept[seen], noisy[seen], shrub[seen], year[seen]


def fitted(*made):
    kept, crop, shrub, year = made
    start = assumed_bearing(AGES).mean
    start = start * crop.sum() / (kept @ start).sum()
    return fit_crop_of_stool(kept, crop, prior=prior(start), shrub=shrub, year=year)


@pytest.mark.parametrize(("start", "cost"), [(6, 0.06), (12, 0.012), (40, 0.0)])
def test_what_crowding_takes_lies_in_its_interval_about_as_often_as_it_says(start, cost):
    inside, counts = [], np.array([8.0, 12.0, 16.0])
    for seed in range(6):
        _, starts, costs = fitted(*records(seed, start, cost)).draw(np.random.default_rng(0), 400)
        taken = costs[:, None] * np.maximum(0, counts - starts[:, None])
        low, high = np.quantile(taken, [0.1, 0.9], axis=0)
        true = cost * np.maximum(0, counts - start)
        inside.append((low <= true + 1e-3) & (true <= high))
    assert np.mean(inside) > 0.65


def test_a_prior_at_the_level_of_crowded_crops_does_not_hold_the_curve_down():
    best = [fitted(*records(seed, 6, 0.06)).bearing.mean[4:8].mean() for seed in range(4)]
    assert np.mean(best) == pytest.approx(TRUTH[4:8].mean(), rel=0.08)


def test_stools_so_crowded_that_they_bear_nothing_do_not_flatten_the_cost():
    made = [records(seed, 6, 0.11, bare_ones=True) for seed in range(3)]
    assert min((crop == 0).mean() for _, crop, _, _ in made) > 0.1
    cost = [float(found.share @ found.cost) for found in (fitted(*one) for one in made)]
    assert np.mean(cost) == pytest.approx(0.11, rel=0.2)


def test_few_years_tell_less_of_what_is_usual_than_a_normal_would_say():
    found = fitted(*records(1, 12, 0.012, years=3)).bearing
    assert found.of_years() == pytest.approx(found.year_variance / 3 * (1.8856 / 1.2816) ** 2, 1e-3)


def test_a_harsh_and_a_mild_truth_lead_to_different_numbers_of_canes():
    harsh, mild = fitted(*records(1, 6, 0.11)), fitted(*records(1, 12, 0.012))
    assert harsh.best_count(10, most=16)[0] < 9
    assert mild.best_count(10, most=16)[0] > 12


def test_stools_that_all_stand_with_few_canes_leave_the_cost_as_it_was_held():
    kept, crop, shrub, year = records(3, 40, 0.0, most=1.2)
    few = kept.sum(axis=1) <= 6
    found = fitted(kept[few], crop[few], shrub[few], year[few])
    given = prior(assumed_bearing(AGES).mean)
    best = found.bearing.mean.max()
    assert found.charge(14) > 0.5 * 1.2 * best * (14 - (given.starts @ given.share) - 2)
    assert found.charge(5) < 0.1 * found.charge(14)


def test_draws_agree_with_the_curve_and_the_charge_told():
    found = fitted(*records(2, 8, 0.05))
    curves, starts, costs = found.draw(np.random.default_rng(3), 4000)
    assert curves.mean(axis=0) == pytest.approx(found.bearing.mean, abs=0.005)
    taken = (costs * np.maximum(0, 15 - starts)).mean()
    assert taken == pytest.approx(found.charge(15), rel=0.05)
    inside = (curves >= found.bearing.low) & (curves <= found.bearing.high)
    assert inside[:, 4:9].mean() == pytest.approx(0.8, abs=0.05)


def test_an_outlook_takes_what_crowding_takes_from_every_crowded_stool():
    counts = np.array([[0, 0, 0, 0, 10]])
    sure = known_crowding(known_bearing([0, 0, 0, 0, 1.0]), 6, 0.5)
    seen = project(
        counts,
        cut_nothing(5),
        sure,
        1,
        np.random.default_rng(0),
        2,
        target=0,
        suckers=0,
        death=0.0,
        year_spread=0.0,
    )
    assert seen.median == pytest.approx([10 - 0.5 * 4])


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (lambda: known_crowding(known_bearing([0, 1]), -1, 0), r"start: found -1.0"),
        (lambda: known_crowding(known_bearing([0, 1]), 1, np.nan), "cost: found nan"),
        (
            lambda: known_crowding(known_bearing([0, 1, 1]), 1, 0).best_count(1, 5),
            "max_age: found 1",
        ),
        (lambda: known_crowding(known_bearing([0, 1, 1]), 1, 0).charge([-2]), "canes.*found -2.0"),
        (
            lambda: fit_crop_of_stool([[0, 1]], [0.0], prior=prior(TRUTH), shrub=[0], year=[0]),
            "found 1 records, none with a crop",
        ),
    ],
)
def test_a_wrong_argument_is_told_with_what_was_found(call, told):
    with pytest.raises(ValueError, match=told):
        call()


@pytest.mark.parametrize(("mean", "sd"), [(0.0, 1.0), (5.0, 1.0), (-3.0, 1.0), (-20.0, 2.0)])
def test_the_mean_of_a_normal_cut_off_at_zero_is_that_of_scipy(mean, sd):
    """SciPy 1.x, stats.truncnorm: the same mean from a general-purpose library."""
    expected = stats.truncnorm.mean(-mean / sd, np.inf, loc=mean, scale=sd)
    assert mean_above_zero(np.array(mean), np.array(sd)) == pytest.approx(expected, rel=1e-9)
