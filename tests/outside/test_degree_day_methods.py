"""Degree-days against printed and independently derived values.

Test set of TrenchR, a general microclimate library (thresholds 12 and 33 °C); its single-sine
value 5 for a day from 35 to 40 °C is wrong (a day above both thresholds gives their difference).
Values marked "derived" were worked out from the formulas of Baskerville & Emin 1969, Allen 1976
and Zalom et al. 1983; the integral below checks every method a second time.
"""

import numpy as np
import pytest
from scipy.integrate import quad

from nuttery.science.weather import growing_degree_days


@pytest.mark.parametrize(
    ("low", "high", "printed", "derived"),
    [
        (7, 14, 0.47, 0.4681),
        (7, 10, 0, 0),
        (13, 14, 1.5, 1.5),
        (13, 40, 12.94, 12.9443),
        (7, 40, 10.94, 10.9397),
        (7, 20, 2.87, 2.8744),
        (35, 40, 21, 21),
    ],
)
def test_single_sine_with_both_thresholds(low, high, printed, derived):
    days = growing_degree_days([low], [high], 12, upper=33)
    assert days == pytest.approx([printed], abs=0.005)
    assert days == pytest.approx([derived], abs=0.00005)


def test_single_triangle_with_both_thresholds():
    days = growing_degree_days([7], [14], 12, upper=33, method="single_triangle")
    assert days == pytest.approx([0.29], abs=0.005)


METHODS = ("average", "clipped_average", "single_triangle", "single_sine")


@pytest.mark.parametrize(
    ("low", "high", "base", "derived"),
    [
        (2, 16, 5, (4, 5.5, 4.3214, 4.6030)),
        (-3, 11, 5, (0, 3, 1.2857, 1.7509)),
        (0, 10, 5, (0, 2.5, 1.25, 5 / np.pi)),
        (-5, 9, 2, (0, 3.5, 1.75, 2.2282)),
        (8, 26, 10, (7, 8, 7.1111, 7.2862)),
    ],
)
def test_four_methods_without_an_upper_threshold(low, high, base, derived):
    found = [growing_degree_days([low], [high], base, method=m)[0] for m in METHODS]
    assert found == pytest.approx(derived, abs=0.00005)


@pytest.mark.parametrize(
    ("method", "derived"), [("double_sine", 5.3015), ("double_triangle", 5.1607)]
)
def test_double_methods_take_tomorrows_minimum_for_the_second_half(method, derived):
    days = growing_degree_days([2, 6], [16, 16], 5, method=method)
    assert days[0] == pytest.approx(derived, abs=0.00005)


# Single sine in °C with base 10 (15 °C day, 9 °C night …), as derived; in °F with base 50.
@pytest.mark.parametrize(
    ("low", "high", "base", "derived"),
    [
        (5, 25, 10, 6.090),
        (40, 80, 50, 12.180),
        (9, 15, 10, 2.1763),
        (14, 30, 10, 12.0),
        (2, 9, 10, 0),
    ],
)
def test_single_sine_in_either_scale(low, high, base, derived):
    assert growing_degree_days([low], [high], base) == pytest.approx([derived], abs=0.0005)


def test_horizontal_cutoff_differs_from_the_clipped_average():
    sine = growing_degree_days([12], [30], 15, upper=21.7)
    clipped = growing_degree_days([12], [30], 15, upper=21.7, method="clipped_average")
    assert (sine[0], clipped[0]) == pytest.approx((4.0055, 3.35), abs=0.00005)


def sine_day(low, high, hour):
    return (low + high) / 2 + (high - low) / 2 * np.sin(np.pi * hour / 12)


def triangle_day(low, high, hour):
    return low + (high - low) * (1 - abs(hour / 12 - 1))


RESPONSES = {
    "horizontal": lambda t, base, upper: min(max(t - base, 0), upper - base),
    "vertical": lambda t, base, upper: t - base if base < t < upper else 0,
}


@pytest.mark.parametrize("cutoff", RESPONSES)
@pytest.mark.parametrize(
    ("method", "curve"), [("single_sine", sine_day), ("single_triangle", triangle_day)]
)
@pytest.mark.parametrize(("low", "high"), [(-4, 3), (2, 16), (8, 34), (12, 18), (26, 33), (10, 10)])
def test_each_shape_is_the_integral_of_its_curve(low, high, method, curve, cutoff):
    base, upper = 5.0, 25.0
    respond = RESPONSES[cutoff]
    summed = quad(lambda h: respond(curve(low, high, h), base, upper), 0, 24, limit=400)[0] / 24
    days = growing_degree_days([low], [high], base, upper, method, cutoff=cutoff)
    assert days == pytest.approx([summed], abs=2e-3)


@pytest.mark.parametrize(("low", "high", "base"), [(2, 12, 6), (-2, 8, 6), (1, 21, 6)])
def test_the_four_case_rule_of_met_eireann_is_near_the_sine(low, high, base):
    """Met Éireann's hand rule: (x − base)/4, or (x − base)/2 − (base − n)/4."""
    mean = (low + high) / 2
    by_hand = (high - base) / 4 if mean < base else (high - base) / 2 - (base - low) / 4
    assert growing_degree_days([low], [high], base) == pytest.approx([by_hand], abs=0.6)
