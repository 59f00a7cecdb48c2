"""Last and first frost of years, by rule and against a plain loop."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nuttery.science.weather import frost_dates


def dates_by_loop(tmin, dates, threshold):
    """The definition, day by day: the oracle."""
    spring, autumn = {}, {}
    for low, day in zip(tmin, dates.astype(object), strict=True):
        if low <= threshold and day.month <= 7:
            spring[day.year] = day
        elif low <= threshold:
            autumn.setdefault(day.year, day)
    return spring, autumn


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 1000), st.integers(1, 1500), st.floats(-20, 20))
def test_frost_dates_are_those_of_a_loop(seed, days, threshold):
    rng = np.random.default_rng(seed)
    dates = np.datetime64("2019-11-01") + np.sort(rng.choice(2000, days, replace=False))
    tmin = rng.normal(0, 10, days).round(1)
    spring, autumn = dates_by_loop(tmin, dates, threshold)
    found = frost_dates(tmin, dates, threshold)
    for row, year in enumerate(found.years.tolist()):
        assert found.last_spring[row].astype(object) == spring.get(year)
        assert found.first_autumn[row].astype(object) == autumn.get(year)


def test_july_belongs_to_spring_and_august_to_autumn():
    found = frost_dates([-1, -1], ["2026-07-31", "2026-08-01"], 0.0)
    assert found.last_spring[0] == np.datetime64("2026-07-31")
    assert found.first_autumn[0] == np.datetime64("2026-08-01")
    assert found.frost_free_days.tolist() == [0]


def test_a_day_right_at_the_threshold_has_frost():
    assert frost_dates([-2.0], ["2026-05-01"], -2.0).last_spring[0] == np.datetime64("2026-05-01")


def test_a_year_without_frost_has_no_date_and_says_how_many_days_it_has():
    found = frost_dates([5.0, 5.0], ["2026-05-01", "2026-10-01"], 0.0)
    assert np.isnat(found.last_spring[0])
    assert np.isnat(found.first_autumn[0])
    assert (found.spring_days[0], found.autumn_days[0]) == (1, 1)
    assert np.isnan(found.frost_free_days[0])


def test_frost_free_days_leave_both_frosts_out():
    found = frost_dates([-1, -1], ["2026-05-10", "2026-09-20"], 0.0)
    assert found.frost_free_days == pytest.approx([132])
