"""Published values on canes: each check names its source.

Li et al. 2010, Lutz et al. 2017 and the height of Corylus cornuta: coefficients as restated in the
ForestGEO table of equations, values computed from them. Roversi and Malvicini 2014, Acta Hort
1052:175: 162 to 177 s a plant, about 16 h/ha at 325 to 356 plants/ha. RHS and Michigan State
University Extension 2019: up to a third of the older stems in one winter, about three winters for
a neglected bush.
"""

import numpy as np
import pytest

from nuttery.science.canes import (
    base_diameter,
    canes_a_year,
    cutting_hours,
    height_cornuta,
    mass_li,
    mass_lutz,
    plan_renewal,
    thinning,
)


# Li et al. 2010: 20 mm -> 114.0 g, 10 mm -> 16.1 g; Lutz et al. 2017: 2 cm -> 665.4 g
@pytest.mark.parametrize(
    ("equation", "diameter", "printed", "digit"),
    [
        pytest.param(mass_li, 20.0, 114.0, 0.05, id="Li 20 mm"),
        pytest.param(mass_li, 10.0, 16.1, 0.05, id="Li 10 mm"),
        pytest.param(mass_lutz, 2.0, 665.4, 0.05, id="Lutz 2 cm"),
        pytest.param(height_cornuta, 5.0, 5.994, 0.0005, id="height at 5 cm"),
    ],
)
def test_stem_allometry_as_published(equation, diameter, printed, digit):
    found = equation([diameter])
    assert found.value == pytest.approx([printed], abs=digit)
    assert not found.outside.any()
    assert not found.warning


# Two species and two ways of measuring agree within 2 % at 1 cm: 258.5 and 261.5 g
def test_two_published_equations_agree_on_a_small_stem():
    by_breast = mass_lutz([1.0]).value
    by_base = mass_li(10 * base_diameter([1.0])).value
    assert by_breast == pytest.approx([258.5], abs=0.05)
    assert by_base == pytest.approx([261.5], abs=0.05)


@pytest.mark.parametrize(
    ("equation", "diameter", "told"),
    [
        (mass_li, 40.0, "fitted to 3.7 to 32.1, found 40"),
        (mass_lutz, 7.0, "fitted to 0.1 to 6, found 7"),
        (height_cornuta, 0.5, "fitted to 1 to 5, found 0.5"),
    ],
)
def test_outside_the_fitted_range_the_value_is_given_with_a_warning(equation, diameter, told):
    found = equation([diameter])
    assert found.outside.all()
    assert np.isfinite(found.value).all()
    assert told in found.warning


# 6 stems on 6 years: one out and one recruit a year; 12 on 6: two
@pytest.mark.parametrize(("canes", "rotation", "yearly"), [(6, 6, 1), (12, 6, 2)])
def test_a_steady_stool_renews_its_canes_once_a_rotation(canes, rotation, yearly):
    assert canes_a_year(canes, rotation) == yearly


# 14 stems, a third a winter, target 6: at most 4 this winter, three winters in all
def test_a_neglected_stool_takes_three_winters():
    assert thinning(14, 6).tolist() == [4, 3, 1]
    neglected = np.zeros((1, 12), dtype=int)
    neglected[0, 11] = 14
    plan = plan_renewal(neglected, np.zeros(12), 3, target=0, suckers=0, crowding=1.0, overdue=1.0)
    standing = (plan.cut + plan.kept)[0].sum(axis=1)
    assert standing.tolist() == [14, 10, 7]
    assert plan.cut[0].sum(axis=1).tolist() == [4, 3, 2]


# The plan comes to the steady state by itself: 12 places, a cane worth keeping for 6 winters
def test_the_plan_settles_at_canes_over_rotation():
    bearing = np.array([0, 1, 1, 1, 1, 1, 1, 0, 0, 0.0])
    counts = np.array([[0, 2, 2, 2, 2, 2, 2, 0, 0, 0]])
    words = {"target": 12, "suckers": 4, "max_age": 7, "crowding": 5.0}
    plan = plan_renewal(counts, bearing, 8, **words)
    assert plan.status == "optimal"
    assert plan.crop == pytest.approx(np.full((1, 8), 12.0))
    assert plan.cut[0, 1:, 2:].sum() / 7 == pytest.approx(2, abs=0.3)
    assert plan.kept[0, :, 1].sum() / 8 == pytest.approx(2, abs=0.3)


# Roversi and Malvicini 2014: 170 s a plant for 300 plants is 14.17 h; 16 h/ha at 340 plants/ha
def test_hours_of_pruning_as_published():
    assert cutting_hours(300)[0] == pytest.approx(14.17, abs=0.005)
    low, high = cutting_hours(340)[1:]
    assert low < 16.0 < high
