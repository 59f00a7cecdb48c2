import numpy as np
import pytest
from numpy.testing import assert_allclose

from nuttery.science.crop import describe_sample, ratio_of_sums, share_of_nuts, size_shares

NUT = [2.0, 2.2, 1.8, 2.4, 2.1]
KERNEL = [0.9, 1.0, 0.0, 1.1, np.nan]


def test_empty_nuts_count_in_the_share_and_not_in_the_mean_kernel():
    s = describe_sample(NUT, KERNEL, fill=[3, 3, 0, 3, 2])
    assert s.kernel_mass.median == pytest.approx(1.0)
    assert s.kernel_mass.n_records == 3
    assert s.kernel_share.median == pytest.approx(3.0 / 8.4)
    assert s.kernel_share.n_records == 4
    assert s.nut_mass.n_records == 5
    assert s.fill == (1, 0, 1, 3)
    assert s.faults["blank"].median == pytest.approx(0.2)
    assert s.faults["underfilled"].median == pytest.approx(0.4)


def test_share_of_dry_matter_needs_both_moistures():
    assert describe_sample(NUT, KERNEL, kernel_wb=0.06).kernel_share_dry is None
    s = describe_sample(NUT, KERNEL, kernel_wb=0.06, nut_wb=0.10)
    assert s.kernel_share_dry.median == pytest.approx(s.kernel_share.median * 0.94 / 0.90)


def test_what_was_not_looked_at_is_not_told():
    s = describe_sample(NUT, [np.nan] * 5)
    assert s.fill is None
    assert s.faults == {}
    assert np.isnan(s.kernel_share.median)
    assert s.kernel_share.n_records == 0


def test_other_defects_are_shares_with_intervals():
    s = describe_sample(NUT, KERNEL, defects={"mouldy": [0, 1, 0, 0, 0]})
    assert s.faults["mouldy"].low < 0.2 < s.faults["mouldy"].high


def test_ratio_interval_covers_as_often_as_it_says():
    rng = np.random.default_rng(11)
    hits = 0
    for _ in range(1500):
        nut = rng.normal(2.0, 0.25, 20)
        kernel = 0.42 * nut + rng.normal(0, 0.08, 20)
        e = ratio_of_sums(kernel, nut)
        hits += e.low <= 0.42 <= e.high
    assert 0.76 < hits / 1500 < 0.84


def test_share_interval_is_wider_for_fewer_nuts():
    few, many = share_of_nuts(2, 10), share_of_nuts(40, 200)
    assert few.high - few.low > 3 * (many.high - many.low)


def test_sizes_of_long_types_may_add_up_to_more_than_all():
    shares = size_shares([18.8, 18.8, 16.0], "long")
    assert_allclose([shares["Jumbo"].median, shares["Large"].median], [2 / 3, 2 / 3])
    assert sum(e.median for e in shares.values()) > 1


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (lambda: describe_sample([2.0], [2.5]), r"kernel_mass\[0\]: found 2.5, expected no more"),
        (lambda: describe_sample([0.0], [0.0]), r"nut_mass\[0\]: found 0.0, expected more than 0"),
        (lambda: describe_sample([2.0, 2.0], [1.0]), "found nut_mass 2, kernel_mass 1; expected"),
        (lambda: describe_sample([2.0], [1.0], fill=[4]), r"fill\[0\]: found 4.0, expected 0 to 3"),
        (
            lambda: describe_sample([2.0], [1.0], kernel_wb=6.0, nut_wb=0.1),
            "kernel_wb: found 6.0, expected 0 to below 1",
        ),
        (lambda: describe_sample([], []), "values: found none, expected at least one"),
        (lambda: ratio_of_sums([], []), "whole: found 0 in 0 nuts, expected more than nothing"),
        (lambda: size_shares([], "round"), "diameter_mm: found no nut, expected at least one"),
    ],
)
def test_wrong_input_is_named(call, told):
    with pytest.raises(ValueError, match=told):
        call()


@pytest.mark.parametrize("n", [5, 10, 20])
def test_the_kernel_share_of_few_nuts_holds_its_truth_four_times_in_five(n):
    # By the plain ratio estimator 10 nuts of which a tenth is empty held it 63 times in 100.
    rng = np.random.default_rng(7)
    held = []
    for _ in range(400):
        nut = rng.normal(2.0, 0.2, n)
        kernel = nut * rng.normal(0.45, 0.04, n) * (rng.random(n) > 0.1)
        share = describe_sample(nut, kernel).kernel_share
        held.append(share.low <= 0.45 * 0.9 <= share.high)
    assert np.mean(held) > 0.72


def test_the_kernel_share_never_leaves_what_a_share_can_be():
    half_empty = describe_sample([2.1, 1.9], [0.95, 0.0]).kernel_share
    assert 0 < half_empty.low < half_empty.median < half_empty.high < 1
    empty = describe_sample([2.1, 1.9, 2.0], [0.0, 0.0, 0.0]).kernel_share
    assert (empty.median, empty.low) == (0, 0)
    assert 0.2 < empty.high < 0.6
