import numpy as np
import pytest
from numpy.testing import assert_allclose

from nuttery.science.crop import DryingCurve, fit_drying, wet_to_dry_basis

HOURS = np.array([0.0, 3.0, 6.0, 12.0, 20.0, 28.0, 36.0])


def lot(hours, *, k=0.0566, n=1.0, start=1 / 3, equilibrium=0.05, dry=750.0):
    return dry * (1 + equilibrium + (start - equilibrium) * np.exp(-k * hours**n))


# WSU Extension 2013: about 36 h near 38 °C; by hand 25 % -> 8 % wet basis with Me 0.05: ratio
# 0.1304, k 0.0566 per hour, half-time 12.25 h
def test_the_worked_lot_of_thirty_six_hours():
    ratio = (float(wet_to_dry_basis(0.08)) - 0.05) / (1 / 3 - 0.05)
    assert ratio == pytest.approx(0.1304, abs=5e-5)
    curve = fit_drying(HOURS, lot(HOURS), 750.0, equilibrium=0.05)
    assert curve.model == "newton"
    assert curve.k == pytest.approx(0.0566, rel=1e-6)
    assert float(curve.hours_to(0.08)) == pytest.approx(36.0, abs=0.05)
    assert np.log(2) / curve.k == pytest.approx(12.25, abs=0.005)


@pytest.mark.parametrize("known", [True, False])
@pytest.mark.parametrize("n", [0.7, 1.0, 1.4])
def test_exact_weighings_give_back_their_curve(n, known):
    curve = fit_drying(HOURS, lot(HOURS, k=0.1, n=n), 750.0, 0.05 if known else None)
    assert curve.model == ("newton" if n == 1.0 else "page")
    assert_allclose([curve.k, curve.n, curve.equilibrium], [0.1, n, 0.05], rtol=1e-4)
    target = 0.09
    moisture = curve.moisture(curve.hours_to(target).median)
    assert moisture == pytest.approx(float(wet_to_dry_basis(target)), rel=1e-9)


@pytest.mark.parametrize("target", [0.0, 0.04, 0.05 / 1.05])
def test_a_target_at_or_below_the_airs_equilibrium_is_unreachable(target):
    answer = fit_drying(HOURS, lot(HOURS), 750.0, 0.05).hours_to(target)
    assert answer.status == "unreachable in this air"
    assert answer.median == answer.low == answer.high == np.inf


def test_a_lot_that_is_dry_already_needs_no_hours():
    answer = fit_drying(HOURS, lot(HOURS), 750.0, 0.05).hours_to(0.30)
    assert (answer.status, answer.median) == ("reached already", 0.0)


def test_a_target_near_a_doubtful_equilibrium_has_no_upper_end():
    rng = np.random.default_rng(3)
    curve = fit_drying(HOURS, lot(HOURS) + rng.normal(0, 4.0, HOURS.size), 750.0)
    assert curve.equilibrium_fitted
    near = float(curve.equilibrium + 0.2 * np.sqrt(curve.covariance[3, 3]))
    assert curve.hours_to(near / (1 + near)).high == np.inf


def covered(known, draws=300):
    rng = np.random.default_rng(20260)
    early = np.array([0.0, 2.0, 5.0, 9.0, 14.0, 20.0, 26.0])
    truth = (np.log((1 / 3 - 0.05) / (float(wet_to_dry_basis(0.09)) - 0.05)) / 0.0566) ** 1.0
    hits = 0
    for _ in range(draws):
        weighed = lot(early) + rng.normal(0, 2.0, early.size)
        t = fit_drying(early, weighed, 750.0, 0.05 if known else None).hours_to(0.09)
        hits += t.low <= truth <= t.high
    return hits / draws


def test_intervals_hold_as_often_as_they_say():
    assert 0.72 < covered(known=True) < 0.88
    assert 0.70 < covered(known=False) <= 0.95


def test_the_clock_of_the_weighings_may_start_anywhere():
    a = fit_drying(HOURS, lot(HOURS), 750.0, 0.05).hours_to(0.08).median
    b = fit_drying(HOURS + 100, lot(HOURS), 750.0, 0.05).hours_to(0.08).median
    assert a == pytest.approx(b, rel=1e-9)


def test_few_weighings_give_newtons_curve():
    curve = fit_drying(HOURS[:3], lot(HOURS[:3]), 750.0, 0.05)
    assert isinstance(curve, DryingCurve)
    assert curve.model == "newton"


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        ((HOURS[:2], lot(HOURS[:2]), 750.0, 0.05), "found 2 weighings, expected at least 3"),
        ((HOURS[:3], lot(HOURS[:3]), 750.0), "found 3 weighings, expected at least 4"),
        ((HOURS[::-1], lot(HOURS), 750.0), r"hours\[1\]: found 28.0, expected later"),
        ((HOURS, lot(HOURS)[::-1], 750.0), "no drying since the first weighing"),
        ((HOURS, lot(HOURS)[:4], 750.0), "found hours 7, mass 4; expected one length"),
        ((HOURS, lot(HOURS), 820.0), r"mass\[6\]: found .*, expected at least the dry mass, 820"),
        ((HOURS, lot(HOURS), 0.0), "dry_mass: found 0.0, expected more than 0"),
        ((HOURS, lot(HOURS), 750.0, 0.4), "equilibrium: found 0.4, expected 0 to below 0.333"),
        ((HOURS, np.where(HOURS == 6, np.nan, lot(HOURS)), 750.0), r"mass\[2\]: found nan"),
    ],
)
def test_weighings_that_make_no_curve_are_named(arguments, told):
    with pytest.raises(ValueError, match=told):
        fit_drying(*arguments)


def test_a_target_in_per_cent_is_refused():
    with pytest.raises(ValueError, match=r"wet_basis: found 8\.0, expected 0 to below 1"):
        fit_drying(HOURS, lot(HOURS), 750.0, 0.05).hours_to(8.0)
