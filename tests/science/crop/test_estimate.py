import numpy as np
import pytest
from numpy.testing import assert_allclose
from statsmodels.stats.proportion import proportion_confint

from nuttery.science.crop import jeffreys, mean_interval, water_activity, wilson


# Newcombe 1998, Stat. Med. 17:857, table I, method 3 (values from memory, recomputed by hand)
@pytest.mark.parametrize(
    ("hits", "examined", "low", "high"),
    [
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_score_interval(hits, examined, low, high):
    _, found_low, found_high = wilson(hits, examined)
    assert (found_low, found_high) == pytest.approx((low, high), abs=5e-5)


@pytest.mark.parametrize("method", [wilson, jeffreys])
def test_a_general_library_gives_the_same(method):
    examined = np.repeat([5, 20, 100], 3)
    hits = np.array([1, 2, 4, 1, 7, 19, 3, 50, 98])
    _, low, high = method(hits, examined, coverage=0.9)
    name = "wilson" if method is wilson else "jeffreys"
    expected = proportion_confint(hits, examined, alpha=0.1, method=name)
    assert_allclose([low, high], expected, rtol=1e-9)


@pytest.mark.parametrize("method", [wilson, jeffreys])
def test_none_and_all_reach_the_ends(method):
    _, low, high = method([0, 12], [12, 12])
    assert low[0] == 0
    assert high[1] == 1
    assert high[0] < 0.3
    assert low[1] > 0.7


def test_score_interval_covers_as_often_as_it_says():
    rng = np.random.default_rng(7)
    for share in (0.05, 0.2, 0.5):
        hits = rng.binomial(25, share, 4000)
        _, low, high = wilson(hits, 25, coverage=0.9)
        assert 0.86 < np.mean((low <= share) & (share <= high)) < 0.97


def test_one_nut_tells_nothing_of_spread():
    one = mean_interval([2.1])
    assert one.median == 2.1
    assert np.isnan([one.low, one.high]).all()


@pytest.mark.parametrize("moisture", [0.019, 0.091, 0.3])
def test_water_activity_is_not_told_outside_its_range(moisture):
    with pytest.raises(ValueError, match=rf"found {moisture}, expected 0.02 to 0.09"):
        water_activity(moisture)


def test_water_activity_rises_with_moisture_and_keeps_its_doubt():
    dry, wet = water_activity(0.03), water_activity(0.08)
    assert dry.high < wet.low + 0.15
    assert dry.median == pytest.approx(0.475 - 2 * 0.05)
    # Koç Güler 2022: slopes 0.047 to 0.062 a point span three points either side of the anchor
    assert wet.high - wet.low == pytest.approx(3 * (0.062 - 0.047) + 2 * 0.05)


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (lambda: wilson(5, 4), "hits: found 5.0, expected no more than were examined"),
        (lambda: wilson([1, 2.5], 4), r"hits\[1\]: found 2.5, expected a whole number"),
        (lambda: jeffreys(0, 0), "examined: found 0.0, expected 1 to inf"),
        (lambda: jeffreys(1, 2, coverage=1.0), "coverage: found 1.0, expected more than 0"),
        (lambda: mean_interval([]), "values: found none, expected at least one"),
        (lambda: mean_interval([1.0, np.nan]), r"values\[1\]: found nan"),
    ],
)
def test_wrong_counts_are_named(call, told):
    with pytest.raises(ValueError, match=told):
        call()
