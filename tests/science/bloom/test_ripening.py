import numpy as np
import pytest

from nuttery.science.bloom import fit_ripening, prior_ripening

DAYS = np.arange(1, 331)


def summers(n, rng):
    wave = -8 + 33 * np.sin(np.pi * (DAYS - 30) / 335)
    return wave + rng.normal(0, 1.5, (n, 1)) + rng.normal(0, 3, (n, len(DAYS)))


def middle_days(temps, leaf_out, heat):
    sums = np.cumsum(np.maximum(temps - 10, 0) * (leaf_out[:, None] <= DAYS), axis=1)
    return DAYS[np.argmax(sums >= heat[:, None], axis=1)]


def roll_outs(n_shrubs, n_seasons, *, seed, spread=0.07, season_sd=3.0, within_sd=2.3, nuts=4):
    """Three tests a week apart about each shrub's middle day of each season."""
    rng = np.random.default_rng(seed)
    weather = summers(n_seasons + 1, rng)
    own = rng.normal(0, spread, n_shrubs)
    shrub = np.repeat(np.arange(n_shrubs), n_seasons + 1)
    season = np.tile(np.arange(n_seasons + 1), n_shrubs)
    leaf = np.round(rng.normal(128, 4, len(shrub)))
    middle = middle_days(weather[season], leaf, 1000 * np.exp(own[shrub]))
    middle = middle + rng.normal(0, season_sd, len(shrub))
    past = season < n_seasons
    first = np.round(middle[past] - rng.integers(3, 12, past.sum()))
    tested = (first[:, None] + [0, 7, 14]).ravel()
    row = np.repeat(np.flatnonzero(past), 3)
    ripe = rng.normal(middle[row][:, None], within_sd, (len(row), nuts)) <= tested[:, None] + 0.5
    known = {
        "leaf_out": leaf[row],
        "season_temps": weather[season[row]],
        "tested": tested,
        "tried": np.full(len(row), nuts),
        "rolled": ripe.sum(axis=1),
        "shrub": shrub[row],
    }
    ahead = {"leaf_out": leaf[~past], "season_temps": weather[season[~past]]}
    return known, ahead, shrub[~past], middle[~past]


def test_spread_within_a_shrub_and_within_the_planting_are_told_apart():
    known, _, _, _ = roll_outs(40, 5, seed=1)
    fit = fit_ripening(**known)
    assert fit.within_sd == pytest.approx(2.3, abs=0.5)
    assert fit.season_sd == pytest.approx(3.0, abs=0.7)
    assert fit.spread == pytest.approx(0.07, abs=0.025)
    assert fit.requirement == pytest.approx(1000, rel=0.05)
    assert fit.n_tests == len(known["tested"])


def test_intervals_of_ripening_hold_in_a_season_not_seen():
    held = []
    for seed in range(6):
        known, ahead, shrub, middle = roll_outs(30, 2, seed=10 + seed)
        dates = fit_ripening(**known).predict(**ahead, shrub=shrub)
        held.append((dates.low <= middle) & (middle <= dates.high))
    assert np.mean(held) == pytest.approx(0.8, abs=0.06)


def test_the_first_nuts_roll_out_before_the_main_part():
    _, ahead, _, _ = roll_outs(3, 1, seed=3)
    prior = prior_ripening()
    first, main = prior.predict(**ahead, share=0.1), prior.predict(**ahead)
    assert main.median - first.median == pytest.approx(
        np.full(3, 1.2816 * prior.within_sd), abs=0.1
    )


def test_one_test_moves_a_shrub_and_leaves_the_rest_wide():
    warm = np.full((1, 330), 20.0)
    prior = prior_ripening()
    expected = prior.predict([130], warm).median[0]
    late = fit_ripening([130], warm, [int(expected) + 10], [4], [0], shrub=[7])
    moved = late.predict([130], warm, [7])
    assert moved.median[0] > expected + 4
    assert late.log_requirement(8)[1] > late.log_requirement(7)[1]
    assert late.predict([130], warm, [8]).median[0] > expected


@pytest.mark.parametrize("rolled", [0, 4])
def test_tests_that_all_say_the_same_give_a_finite_answer(rolled):
    warm = np.full((20, 330), 20.0)
    fit = fit_ripening(
        np.full(20, 130), warm, np.full(20, 230), [4] * 20, [rolled] * 20, shrub=np.arange(20)
    )
    numbers = [fit.requirement, fit.spread, fit.season_sd, fit.within_sd, fit.level_sd]
    assert np.all(np.isfinite(numbers))
    assert np.all(np.isfinite(fit.predict([130], warm[:1], [3]).high))


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"rolled": [5, 1]}, r"rolled\[0\]: found 5.0, expected at most as many as were tried"),
        ({"tried": [0, 4]}, r"tried\[0\]: found 0.0, expected 1 to inf"),
        ({"tested": [230, 400]}, r"tested\[1\]: found 400.0, expected 1 to 330"),
        ({"leaf_out": [130]}, r"leaf_out: found length 1, expected 2 as season_temps"),
        ({"leaf_out": [130, 131]}, r"leaf_out\[1\]: found 131.0, expected one day"),
        ({"shrub": [1, 2, 3]}, r"shrub: found length 3, expected 2"),
    ],
)
def test_bad_roll_out_tests_are_named(change, told):
    good = {
        "leaf_out": [130, 130],
        "season_temps": np.full((2, 330), 20.0),
        "tested": [230, 237],
        "tried": [4, 4],
        "rolled": [1, 3],
        "shrub": [1, 1],
    }
    with pytest.raises(ValueError, match=told):
        fit_ripening(**(good | change))
