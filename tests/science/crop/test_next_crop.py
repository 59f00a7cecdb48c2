import numpy as np
import pytest
from numpy.testing import assert_allclose

from nuttery.science.crop import fit_next_crop


def planting(seed, n_shrubs=30, n_years=6, year_sd=0.12, noise=0.1):
    rng = np.random.default_rng(seed)
    habit = rng.normal(0, 0.15, n_shrubs)
    season = rng.normal(0, year_sd, n_years)
    shrub, year = (k.ravel() for k in np.meshgrid(np.arange(n_shrubs), np.arange(n_years)))
    buds = rng.gamma(3, 30, shrub.size)
    catkins = buds * rng.lognormal(0, 0.4, shrub.size)
    root = 0.1 + 0.08 * np.sqrt(buds) + habit[shrub] + season[year]
    crop = np.maximum(0, root + rng.normal(0, noise, shrub.size)) ** 2
    return catkins, buds, crop, shrub, year


def held_out(seed):
    catkins, buds, crop, shrub, year = planting(seed)
    past, last = year < 5, year == 5
    fit = fit_next_crop(catkins[past], buds[past], crop[past], shrub=shrub[past], year=year[past])
    return fit, fit.predict(catkins[last], buds[last], shrub=shrub[last]), crop[last]


def test_intervals_hold_a_year_never_seen():
    hits = []
    for seed in range(40):
        _, told, truth = held_out(seed)
        hits.append(np.mean((told.low <= truth) & (truth <= told.high)))
    assert 0.70 < np.mean(hits) < 0.92


def test_counts_and_habits_tell_more_than_the_mean_crop():
    better = 0
    for seed in range(20):
        fit, told, truth = held_out(100 + seed)
        better += np.mean((told.median - truth) ** 2) < truth.var()
        assert fit.n_records == 150
    assert better >= 17


def test_absorbing_the_shrubs_gives_the_plain_regression():
    catkins, buds, crop, shrub, year = planting(3, n_shrubs=6, n_years=3)
    fit = fit_next_crop(catkins, buds, crop, shrub=shrub, year=year)
    raw = np.sqrt(np.column_stack([buds, catkins]))
    wide = np.column_stack(
        [np.ones(18), (raw - raw.mean(0)) / raw.std(0), year[:, None] == np.arange(3)]
    )
    whole = np.column_stack([wide, shrub[:, None] == np.arange(6)]).astype(float)
    ratios = [1e-6, *[fit.slope_ratio] * 2, *[fit.year_ratio] * 3, *[fit.shrub_ratio] * 6]
    precision = whole.T @ whole + np.diag(ratios)
    effects = np.linalg.solve(precision, whole.T @ np.sqrt(crop))
    assert_allclose(np.concatenate([fit.beta, fit.shrub_effect]), effects, rtol=1e-7, atol=1e-9)
    row = np.array([1.0, *((np.sqrt([50.0, 60.0]) - raw.mean(0)) / raw.std(0)), 0, 0, 0])
    row = np.concatenate([row, np.arange(6) == 2])
    told = fit.predict([60.0], [50.0], shrub=[2])
    assert told.median[0] == pytest.approx((row @ effects) ** 2)
    variance = 1 + row @ np.linalg.inv(precision) @ row + 1 / fit.year_ratio
    pull, effect, centre = fit._of_shrubs([2], 1)
    off = fit._rows([60.0], [50.0])[0] - centre[0]
    ours = 1 + off @ fit.covariance @ off + pull[0] + 1 / fit.year_ratio
    assert ours == pytest.approx(variance)
    assert effect[0] == pytest.approx(effects[6 + 2])


def test_a_shrub_never_seen_is_less_sure():
    catkins, buds, crop, shrub, year = planting(4)
    fit = fit_next_crop(catkins, buds, crop, shrub=shrub, year=year)
    known = fit.predict([90.0], [90.0], shrub=[3])
    new = fit.predict([90.0], [90.0], shrub=[999])
    assert np.sqrt(new.high - new.low) > np.sqrt(known.high - known.low)


def test_no_interval_reaches_below_nothing():
    catkins, buds, crop, shrub, year = planting(5, noise=0.5)
    told = fit_next_crop(catkins, buds, crop, shrub=shrub, year=year).predict([0.0], [0.0])
    assert told.low[0] >= 0


def test_one_year_says_that_it_is_one():
    catkins, buds, crop, shrub, _ = planting(6)
    told = fit_next_crop(catkins, buds, crop, shrub=shrub).predict([50.0], [50.0])
    assert "one year" in told.basis


@pytest.mark.parametrize(
    ("arguments", "labels", "told"),
    [
        (([1, 2, 3], [1, 2, 3], [1, 2, 3]), {}, "crop: found 3 records, expected at least 4"),
        (([1] * 4, [1] * 4, [1] * 5), {}, "found catkins 4, buds 4, crop 5; expected one length"),
        (([1] * 4, [1, 1, np.nan, 1], [1] * 4), {}, r"buds\[2\]: found nan"),
        (([1] * 4, [1] * 4, [1, 1, -1, 1]), {}, r"crop\[2\]: found -1.0, expected 0 to inf"),
        (([1] * 4, [1] * 4, [1] * 4), {"shrub": [1, 2]}, "shrub: found 2 labels, expected 4"),
        (
            ([1] * 4, [1] * 4, [1] * 4),
            {"year": [1.5] * 4},
            r"year\[0\]: found 1.5, expected a whole",
        ),
    ],
)
def test_wrong_records_are_named(arguments, labels, told):
    with pytest.raises(ValueError, match=told):
        fit_next_crop(*arguments, **labels)


def test_wrong_labels_of_a_forecast_are_named():
    catkins, buds, crop, shrub, _ = planting(7)
    fit = fit_next_crop(catkins, buds, crop, shrub=shrub)
    with pytest.raises(ValueError, match="shrub: found 2 labels, expected 1"):
        fit.predict([1.0], [1.0], shrub=[1, 2])
