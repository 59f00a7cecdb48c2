from itertools import permutations

import numpy as np
import pytest

from nuttery.science.crop import walk_length, walking_order

ROWS = np.repeat(["A", "B", "C"], 4)
NUMBERS = np.tile([1, 2, 3, 4], 3)
XY = np.column_stack([np.repeat([0.0, 4.5, 9.0], 4), np.tile([0.0, 1.8, 3.6, 5.4], 3)])


def test_up_one_row_and_down_the_next():
    order = walking_order(XY, row=ROWS.tolist(), number=NUMBERS, start=[0.0, -1.0])
    assert order.tolist() == [0, 1, 2, 3, 7, 6, 5, 4, 8, 9, 10, 11]


def test_the_walk_begins_at_the_end_nearest_to_the_gate():
    order = walking_order(XY, row=ROWS.tolist(), number=NUMBERS, start=[9.0, 7.0])
    assert order[0] == 11
    assert order[-1] == 0


def test_a_row_without_work_does_not_turn_the_walk():
    wanted = np.ones(12, dtype=bool)
    wanted[4:8] = False
    order = walking_order(XY, row=ROWS.tolist(), wanted=wanted, start=[0.0, -1.0])
    assert order.tolist() == [0, 1, 2, 3, 11, 10, 9, 8]


def test_rows_that_run_askew_are_still_rows():
    angle = np.radians(30)
    turned = XY @ np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    order = walking_order(turned, row=ROWS.tolist(), start=turned[0])
    assert order.tolist() == [0, 1, 2, 3, 7, 6, 5, 4, 8, 9, 10, 11]


@pytest.mark.parametrize("seed", range(6))
def test_without_rows_the_walk_is_near_the_shortest_of_all(seed):
    xy = np.random.default_rng(seed).uniform(0, 50, (7, 2))
    start = np.zeros(2)

    def length(order):
        return walk_length(np.vstack([start, xy]), [0, *(1 + np.array(order))])

    best = min(length(order) for order in permutations(range(7)))
    found = walking_order(xy, start=start)
    assert sorted(found.tolist()) == list(range(7))
    assert best <= length(found) + 1e-9 <= 1.15 * best


def test_nothing_to_do_is_no_walk():
    assert walking_order(XY, wanted=np.zeros(12, dtype=bool)).size == 0
    assert walking_order(np.empty((0, 2))).size == 0


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (lambda: walking_order([[0.0, np.nan]]), r"xy\[0, 1\]: found nan"),
        (lambda: walking_order([[0.0, 1.0, 2.0]]), r"xy: found shape \(1, 3\), expected \(n, 2\)"),
        (
            lambda: walking_order(XY, row=["A"]),
            "found xy 12, row 1, number 12; expected one length",
        ),
        (lambda: walking_order(XY, wanted=[True]), r"wanted: found shape \(1,\), expected \(12,\)"),
        (lambda: walk_length(XY, [0, 12]), r"order\[1\]: found 12.0, expected 0 to 11"),
    ],
)
def test_wrong_input_is_named(call, told):
    with pytest.raises(ValueError, match=told):
        call()
