"""Dynamic Model against its recursion written out, and the state it carries."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nuttery.science.weather import (
    ChillState,
    chill_hours,
    chill_portions,
    continue_chill,
    growing_degree_hours,
    utah_start,
    utah_units,
)


def portions_written_out(temps):
    """Recursion of Fishman, Erez & Couvillon 1987 in the order of the paper, the oracle."""
    e0, e1, a0, a1, slope, switch = 4153.5, 12888.8, 139500.0, 2.567e18, 1.6, 277.0
    kelvin = np.asarray(temps) + 273.0
    steady = (a0 / a1) * np.exp((e1 - e0) / kelvin)
    rate = a1 * np.exp(-e1 / kelvin)
    power = np.exp(slope * switch * (kelvin - switch) / kelvin)
    share = power / (1 + power)
    ends, totals, total = [], [], 0.0
    for hour in range(len(kelvin)):
        if hour == 0:
            start = 0.0
        elif ends[-1] < 1:
            start = ends[-1]
        else:
            start = ends[-1] * (1 - share[hour - 1])
        end = steady[hour] - (steady[hour] - start) * np.exp(-rate[hour])
        total += end * share[hour] if end >= 1 else 0.0
        ends.append(end)
        totals.append(total)
    return np.array(totals)


hours = st.lists(st.floats(-40, 40), min_size=0, max_size=400)


@settings(max_examples=50, deadline=None)
@given(hours)
def test_portions_follow_the_recursion(temps):
    assert chill_portions(temps) == pytest.approx(portions_written_out(temps), abs=1e-9)


def test_portions_of_a_whole_winter_follow_the_recursion():
    hour = np.arange(24 * 200)
    temps = 8 - 10 * np.sin(np.pi * hour / hour.size) + 6 * np.sin(2 * np.pi * hour / 24)
    assert chill_portions(temps) == pytest.approx(portions_written_out(temps), rel=1e-12)
    assert chill_portions(temps)[-1] > 20


@settings(max_examples=25, deadline=None)
@given(hours, st.integers(0, 400))
def test_a_record_in_two_parts_gives_what_the_whole_gives(temps, cut):
    first = continue_chill(temps[:cut], ChillState())
    second = continue_chill(temps[cut:], first.state)
    joined = np.concatenate([first.portions, second.portions])
    assert joined.tolist() == chill_portions(temps).tolist()


def test_a_started_portion_is_not_lost_between_two_parts():
    first = continue_chill(np.full(20, 5.0), ChillState())
    assert 0 < first.state.intermediate < 1
    assert first.state.portions == 0


def test_utah_counting_starts_after_the_lowest_total():
    temps = np.concatenate([np.full(48, 20.0), np.full(10, 5.0)])
    start = utah_start(utah_units(temps))
    assert start == 48
    assert utah_units(temps[start:])[-1] == 10


def test_utah_counting_starts_at_once_where_no_hour_takes_away():
    assert utah_start(utah_units([5.0, 5.0])) == 0
    assert utah_start([]) == 0


def test_the_lower_bound_of_chill_hours_can_be_left_out():
    assert chill_hours([-20.0, 3.0], low=-np.inf).tolist() == [1, 2]


@pytest.mark.parametrize("temp", [4.0, 36.0, -10.0, 50.0])
def test_no_degree_hours_at_or_beyond_the_thresholds(temp):
    assert growing_degree_hours([temp])[0] == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize(
    ("method", "temps", "hours"),
    [
        # (25 − 4)/2 · (1 + cos π(1 + ½)) = 10.5 and 21 · (1 + cos(π/2 · 1.5)) = 6.1508
        pytest.param("asymcur", [14.5, 25.0, 30.5], [10.5, 21.0, 6.1508], id="two cosines"),
        pytest.param("plateau", [14.5, 30.0, 36.0], [10.5, 21.0, 0.0], id="level to the critical"),
        pytest.param("linear", [14.5, 30.0, 40.0], [10.5, 21.0, 21.0], id="level above"),
    ],
)
def test_degree_hours_of_single_hours(method, temps, hours):
    total = growing_degree_hours(temps, method=method)
    assert np.diff(total, prepend=0) == pytest.approx(hours, abs=0.00005)


def test_the_older_linear_form_has_base_4_5():
    assert growing_degree_hours([20.0], base=4.5, method="linear")[0] == 15.5
