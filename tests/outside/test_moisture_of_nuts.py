"""Moisture arithmetic: definitions of the two bases (ASABE S352 and any food text), by hand.

Limits: UNECE DDP-03 and DDP-04 (kernel 6.0 and 7.0 %), OAR 603-051-0283 (whole nut
10 %), as read in November 2026.
"""

import numpy as np
import pytest

from nuttery.science.crop import (
    dry_to_wet_basis,
    grade,
    mass_at_moisture,
    wet_to_dry_basis,
    whole_nut_moisture,
)


# by hand: m (1 - from) / (1 - to)
@pytest.mark.parametrize(
    ("mass", "before", "after", "expected"),
    [(100, 0.25, 0.08, 81.5217), (10, 0.12, 0.06, 9.36170), (1000, 0.35, 0.07, 698.925)],
)
def test_mass_follows_the_water_that_leaves(mass, before, after, expected):
    assert mass_at_moisture(mass, before, after) == pytest.approx(expected, rel=1e-6)


# wet % -> dry %, by hand to a thousandth
@pytest.mark.parametrize(
    ("wet", "dry"),
    [
        (4, 4.167),
        (6, 6.383),
        (7, 7.527),
        (8, 8.696),
        (10, 11.111),
        (12, 13.636),
        (25, 33.333),
        (30, 42.857),
    ],
)
def test_dry_basis_of_a_wet_basis(wet, dry):
    assert 100 * wet_to_dry_basis(wet / 100) == pytest.approx(dry, abs=5e-4)


def test_the_two_bases_are_each_others_inverse():
    wet = np.linspace(0, 0.999, 500)
    assert dry_to_wet_basis(wet_to_dry_basis(wet)) == pytest.approx(wet, abs=1e-12)


@pytest.mark.parametrize("wet", [1.0, 25.0, -0.1, np.nan, np.inf])
def test_what_is_no_fraction_of_all_mass_is_refused(wet):
    with pytest.raises(ValueError, match=rf"m: found {wet}, expected"):
        wet_to_dry_basis(wet)


def test_the_place_of_a_wrong_moisture_is_named():
    with pytest.raises(ValueError, match=r"from_wb\[1\]: found 1.0, expected 0 to below 1"):
        mass_at_moisture([1.0, 2.0], [0.1, 1.0], 0.08)


def test_whole_nut_of_forty_grams_kernel_and_sixty_shell():
    whole = float(whole_nut_moisture(40, 0.06, 60, 0.12))
    assert whole == pytest.approx(0.096, abs=1e-12)
    assert grade({}, "US in shell", whole_wb=whole).dry_enough  # 10 %
    assert grade({}, "UNECE in shell", whole_wb=whole, kernel_wb=0.06).dry_enough  # 12 and 7 %
    assert grade({}, "UNECE kernels", kernel_wb=0.06).dry_enough  # 6 %


def test_a_kernel_of_6_1_per_cent_passes_in_shell_and_fails_shelled():
    assert grade({}, "UNECE in shell", kernel_wb=0.061).dry_enough
    shelled = grade({}, "UNECE kernels", kernel_wb=0.061)
    assert not shelled.dry_enough
    assert shelled.name is None
    assert shelled.reasons("Extra") == ("moisture of the kernel: 6.1 %, at most 6 % (wet basis)",)
