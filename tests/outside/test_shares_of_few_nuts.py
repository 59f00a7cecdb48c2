"""Intervals for a share of few nuts against SciPy's own, and the alternate-bearing index by hand.

Sources: SciPy 1.12 and later, `scipy.stats.binomtest(...).proportion_ci(method="wilson")` and
`scipy.stats.beta`; Brown, Cai and DasGupta 2001, Stat. Sci. 16:101 (Jeffreys); Hoblyn, Grubb,
Painter and Wates 1936, J. Pomol. Hort. Sci. 14:39 (index, its formula from memory).
"""

import numpy as np
import pytest
from scipy import stats

from nuttery.science.crop import biennial_index, jeffreys, wilson

FEW = [(k, n) for n in (1, 5, 10, 29, 50) for k in sorted({0, 1, n // 3, n - 1, n})]


@pytest.mark.parametrize(("blank", "cracked"), FEW)
def test_wilson_of_few_nuts_is_scipy_s(blank, cracked):
    theirs = stats.binomtest(blank, cracked).proportion_ci(0.8, method="wilson")
    _, low, high = wilson(blank, cracked, coverage=0.8)
    assert (low, high) == pytest.approx((theirs.low, theirs.high), abs=1e-12)


@pytest.mark.parametrize(("blank", "cracked"), FEW)
def test_jeffreys_of_few_nuts_is_the_beta_s_and_lies_within_the_exact_one(blank, cracked):
    middle, low, high = jeffreys(blank, cracked, coverage=0.8)
    a, b = blank + 0.5, cracked - blank + 0.5
    assert middle == pytest.approx(stats.beta.median(a, b))
    assert low == pytest.approx(stats.beta.ppf(0.1, a, b) if blank else 0.0)
    assert high == pytest.approx(stats.beta.ppf(0.9, a, b) if blank < cracked else 1.0)
    exact = stats.binomtest(blank, cracked).proportion_ci(0.8, method="exact")
    assert exact.low - 1e-9 <= low <= high <= exact.high + 1e-9


def test_the_index_of_alternate_bearing_by_hand():
    # |1 - 3| / 4 = 0.5, |3 - 2| / 5 = 0.2, mean 0.35; a missing year drops both its pairs.
    assert biennial_index([1.0, 3.0, 2.0]) == pytest.approx(0.35)
    assert biennial_index([1.0, 3.0, np.nan, 2.0]) == pytest.approx(0.5)
