"""Prices that follow the cuts made so far."""

import numpy as np
import pytest

from nuttery.science.canes.following import DRIFT, PULL, Following

TIMES = np.array([1, 1, 2, 4])
CAPS = np.array([8, 16])


@pytest.fixture
def following():
    return Following(
        TIMES, CAPS, np.array([1.0, 1.0]), unit=2.0, picked=np.zeros(len(TIMES), dtype=np.int64)
    )


def test_the_first_stools_are_planned_at_the_prices_given(following):
    assert following.prices_for(np.array([0])).tolist() == [1.0, 1.0]


def test_a_winter_with_as_many_cuts_as_are_due_keeps_its_price_and_one_with_more_is_dearer(
    following,
):
    following.take(np.array([2]), np.array([7]), np.array([[1, 3]]))  # two stools, 2 and 4 due
    prices = following.prices_for(np.array([3]))  # four stools, due 4 and 8
    assert prices[0] == 1.0
    assert prices[1] == pytest.approx(1.0 + PULL * 2.0 * (6 - 4) / 8)
    assert following.prices[1] == pytest.approx(1.0 + DRIFT * PULL * 2.0 * (6 - 4) / 8)
    assert following.picked.tolist() == [0, 0, 7, 0]


def test_stools_planned_again_do_not_count_against_themselves(following):
    following.take(np.array([2, 3]), np.array([5, 6]), np.array([[1, 2], [9, 2]]))
    assert following.prices_for(np.array([3])).tolist() == [1.0, 1.0]


def test_prices_of_cuts_that_nobody_makes_fall_but_what_stays_is_never_below_nothing(following):
    following.take(np.array([3]), np.array([5]), np.array([[0, 0]]))
    for _ in range(500):
        following.prices_for(np.array([0]))
    assert following.prices.min() == 0.0
