"""Chill against published totals and class tables.

Flynn & Wolkovich 2018 (New Phytologist 219:1353), table S2: field chill of two sites, and what
their cuttings gained in 52 days (1248 h) at a constant 4 °C.
Richardson, Seeley & Walker 1974, HortScience 9:331: Utah class tables, as restated later.
Weinberger 1950: chilling hours.
"""

import numpy as np
import pytest

from nuttery.science.weather import chill_hours, chill_portions, utah_units

AT_4_DEGREES = np.full(52 * 24, 4.0)
DAY = np.ones(24)


# Table S2 prints totals before and after the chamber; the difference is what 1248 h at 4 °C add.
@pytest.mark.parametrize(
    ("before", "after"),
    [
        pytest.param(56.62, 94.06, id="Harvard Forest"),
        pytest.param(44.63, 82.06, id="St-Hippolyte"),
    ],
)
def test_portions_of_52_days_at_4_degrees_are_those_of_table_s2(before, after):
    # Each printed total is rounded to 0.01, so their difference is good to 0.01.
    assert chill_portions(AT_4_DEGREES)[-1] == pytest.approx(after - before, abs=0.0125)


def test_kelvin_from_273_is_needed_for_the_printed_portions():
    assert chill_portions(AT_4_DEGREES + 0.15)[-1] == pytest.approx(38.24, abs=0.005)


@pytest.mark.parametrize(
    ("before", "after"),
    [
        pytest.param(814.5, 2062.5, id="Harvard Forest, Utah"),
        pytest.param(892.0, 2140.0, id="Harvard Forest, hours"),
    ],
)
def test_hours_and_utah_units_of_52_days_at_4_degrees_are_those_of_table_s2(before, after):
    assert utah_units(AT_4_DEGREES)[-1] == after - before
    assert utah_units(AT_4_DEGREES, classes="fahrenheit")[-1] == after - before
    assert chill_hours(AT_4_DEGREES)[-1] == after - before


@pytest.mark.parametrize(
    ("temp", "units"), [(1, 0), (2, 12), (5, 24), (9.5, 12), (14, 0), (17, -12), (20, -24)]
)
@pytest.mark.parametrize("classes", ["celsius", "fahrenheit"])
def test_utah_units_of_a_day_at_one_temperature(temp, units, classes):
    assert utah_units(temp * DAY, classes)[-1] == units


@pytest.mark.parametrize(
    ("fahrenheit", "weight"),
    [
        (33.9, 0), (34, 0), (34.01, 0.5), (36, 0.5), (36.01, 1), (48, 1), (48.01, 0.5),
        (54, 0.5), (54.01, 0), (60, 0), (60.01, -0.5), (65, -0.5), (65.01, -1),
    ],
)  # fmt: skip
def test_fahrenheit_classes_hold_their_printed_edges(fahrenheit, weight):
    assert utah_units([(fahrenheit - 32) / 1.8], classes="fahrenheit")[0] == weight


@pytest.mark.parametrize(
    ("celsius", "weight"),
    [
        (1.4, 0), (1.5, 0.5), (2.4, 0.5), (2.5, 1), (9.1, 1), (9.2, 0.5), (12.4, 0.5),
        (12.5, 0), (15.9, 0), (16.0, -0.5), (18.0, -0.5), (18.1, -1),
    ],
)  # fmt: skip
def test_celsius_classes_hold_their_printed_edges(celsius, weight):
    assert utah_units([celsius])[0] == weight


def test_no_temperature_falls_between_two_celsius_classes():
    assert utah_units([1.45, 9.15, 15.95]).tolist() == [0.5, 1.0, 0.5]


@pytest.mark.parametrize(("temp", "hours"), [(0, 24), (7.2, 24), (-0.1, 0), (7.3, 0)])
def test_chilling_hours_of_a_day_at_one_temperature(temp, hours):
    assert chill_hours(temp * DAY)[-1] == hours


def test_constant_13_degrees_never_make_a_portion():
    assert chill_portions(np.full(24 * 400, 13.0))[-1] == 0
    assert chill_portions(np.full(24 * 400, 12.9))[-1] > 0
