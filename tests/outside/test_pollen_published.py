"""Who pollinates whom, and how far pollen goes: against published statements.

Mehlenbacher 1997 and 2014, Smith et al. 2018 and others, named beside each check. Alleles and what
pollen shows come from `nuttery.reference`, where each row has its own source and certainty.
"""

from itertools import combinations, permutations

import numpy as np
import pytest

from nuttery import reference
from nuttery.science.pollen import (
    ExponentialKernel,
    Hierarchy,
    PowerKernel,
    UnknownDominance,
    WindRose,
    compatibility_range,
    every_nth,
    expressed,
    fall_speed,
    grain_diameter,
    is_compatible,
    published_hierarchy,
)

EVIDENCE = published_hierarchy()
REMEMBERED = published_hierarchy(remembered=True)
CULTIVARS = {row["name"]: tuple(row["alleles"]) for row in reference.table("cultivars")}
TRIO = ("York", "McDonald", "Wepster")


# Smith et al. 2018, Acta Hort. 1226: the three are "fully cross-compatible"; alleles of York
# there, of McDonald in US PP28200, of Wepster from memory of its patent.
@pytest.mark.parametrize(("seed", "pollen"), list(permutations(TRIO, 2)))
def test_the_released_trio_is_fully_cross_compatible(seed, pollen):
    assert is_compatible(CULTIVARS[seed], CULTIVARS[pollen], EVIDENCE)
    assert set(CULTIVARS[seed]) & set(CULTIVARS[pollen]), "a rule of shared alleles would refuse it"


@pytest.mark.parametrize("name", TRIO)
def test_each_of_the_trio_refuses_itself(name):
    assert not is_compatible(CULTIVARS[name], CULTIVARS[name], EVIDENCE)


# S1 S3: university cultivar page of Hunterdon; S2 S21: Acta Hort. 1226; S1 S2: nursery page
@pytest.mark.parametrize(
    ("genotype", "shown"), [((1, 3), {3}), ((2, 21), {21}), ((1, 2), {1}), ((2, 23), {2})]
)
def test_pollen_shows_the_dominant_allele(genotype, shown):
    assert expressed(genotype, EVIDENCE) == shown


# Nursery page: "any hazelnut that has the S1 gene in its female flower cannot be pollinated by
# Barcelona"
@pytest.mark.parametrize("other", range(1, 27))
def test_barcelona_pollinates_no_plant_with_s1(other):
    assert not is_compatible((1, other), CULTIVARS["Barcelona"], EVIDENCE)


@pytest.mark.parametrize("shown", [(1, 2), (2, 23)])
def test_barcelona_takes_no_pollen_that_shows_s1_or_s2(shown):
    assert not is_compatible(CULTIVARS["Barcelona"], shown, EVIDENCE)


# Grower's account: Barcelona and Ennis set nothing for ten years after DuChilly had died
# (Ennis from memory; DuChilly S10 S14, Mehlenbacher 1997)
def test_barcelona_and_ennis_refuse_each_other_and_duchilly_feeds_both():
    barcelona, ennis, duchilly = (CULTIVARS[n] for n in ("Barcelona", "Ennis", "DuChilly"))
    assert not is_compatible(barcelona, ennis, REMEMBERED)
    assert not is_compatible(ennis, barcelona, REMEMBERED)
    assert is_compatible(barcelona, duchilly, EVIDENCE)
    assert is_compatible(ennis, duchilly, EVIDENCE)


# Nursery lists; Jefferson and Yamhill: Ontario factsheet 20-053 (2020), Table 1
@pytest.mark.parametrize(
    ("seed", "pollen"),
    [
        ("Wepster", "Jefferson"),
        ("Yamhill", "Sacajawea"),
        ("Sacajawea", "Yamhill"),
        ("Jefferson", "Gamma"),
        ("Jefferson", "Yamhill"),
        ("Yamhill", "Gamma"),
        ("Yamhill", "Jefferson"),
    ],
)
def test_listed_pairs_are_accepted_whatever_is_not_known_of_their_order(seed, pollen):
    assert is_compatible(CULTIVARS[seed], CULTIVARS[pollen], EVIDENCE)


# Mehlenbacher 1997: one plant under two names; Hunterdon and Jefferson share a genotype
@pytest.mark.parametrize("pair", [("Römische Nuss", "Payrone"), ("Hunterdon", "Jefferson")])
def test_one_genotype_refuses_itself_under_another_name(pair):
    for seed, pollen in permutations(pair):
        assert not is_compatible(CULTIVARS[seed], CULTIVARS[pollen], EVIDENCE)


# Turk. J. Biol. 29(2), 2005: pollen of Foşa, Mincane, Sivri shows S8, of Palaz S2
@pytest.mark.parametrize(("allele", "other"), [(8, 1), (8, 14), (2, 3), (2, 5)])
def test_pollen_showing_an_allele_of_the_stigma_is_refused(allele, other):
    assert not is_compatible((allele, other), (allele, allele), EVIDENCE)


SHOWN = [row for row in reference.table("cultivars") if row["shown"]]


def test_what_pollen_shows_is_on_record_for_many_cultivars():
    assert len(SHOWN) >= 20


@pytest.mark.parametrize("row", SHOWN, ids=lambda row: row["name"])
def test_what_cultivars_show_agrees_with_the_remembered_levels(row):
    assert frozenset(row["shown"]) in REMEMBERED.possible(tuple(row["alleles"]))


def test_an_order_nobody_published_is_a_range_or_an_error_and_never_a_guess():
    assert compatibility_range((14, 1), (14, 10), EVIDENCE) == (0, 1)
    with pytest.raises(UnknownDominance, match="found alleles 10 and 14"):
        expressed((10, 14), EVIDENCE)


# Mehlenbacher 1997 (abstract): 25 alleles on 8 levels, 13 on that of S1, S4, S6, S11 and S23 each
# alone; 300 pairs of 25 alleles, 528 of 33 (2014)
def test_counts_of_the_published_levels():
    alone = {4: 1, 6: 2, 11: 3, 23: 0}
    of_s1 = dict.fromkeys([1, 5, 10, 12, 15, 20, 21, 22, 30, 31, 32, 33, 34], 6)
    left = dict(zip(range(40, 48), [4, 4, 4, 5, 5, 5, 7, 7], strict=True))
    levels = Hierarchy({**alone, **of_s1, **left})
    assert check_levels_of_1997(levels) is None
    assert levels.known_pairs(levels.levels) == 300 == len(list(combinations(range(25), 2)))
    assert len(list(combinations(range(33), 2))) == 528
    with pytest.raises(ValueError, match="found 12 alleles on the level of S1, expected 13"):
        check_levels_of_1997(Hierarchy({**levels.levels, 34: 4}))


# The same, of the alleles that our own table places: none may break what the counts allow
def test_the_remembered_levels_leave_room_for_the_published_counts():
    placed = {
        a: low for a in REMEMBERED.levels for low, high in [REMEMBERED.bounds(a)] if low == high
    }
    assert {1, 2, 3, 23} <= set(placed)
    assert len(set(placed.values())) <= 8
    assert 2 <= list(placed.values()).count(placed[1]) <= 13
    for alone in {4, 6, 11, 23} & set(placed):
        assert list(placed.values()).count(placed[alone]) == 1


def check_levels_of_1997(levels):
    from nuttery.science.pollen import check_levels

    return check_levels(levels, alleles=25, levels=8, with_s1=13, alone=(4, 6, 11, 23))


# Pistachio, 2nd Int. Symp. on Pistachios and Almonds, Davis 1997, 286-293: grains per cm² at
# 5, 10, 15, 20, 40 and 80 m
DISTANCE = np.array([5.0, 10.0, 15.0, 20.0, 40.0, 80.0])
CAUGHT = np.array([1137.9, 516.5, 388.6, 118.1, 53.8, 18.9])


def test_the_power_is_the_least_squares_line_through_the_logs_of_the_catches():
    slope, intercept = np.polyfit(np.log(DISTANCE), np.log(CAUGHT), 1)
    assert -slope == pytest.approx(PowerKernel().exponent, abs=0.0005)
    assert np.exp(intercept) == pytest.approx(16020, rel=0.001)


def test_the_exponential_is_the_least_squares_line_through_the_logs_of_the_catches():
    slope, _ = np.polyfit(DISTANCE, np.log(CAUGHT), 1)
    assert -1 / slope == pytest.approx(ExponentialKernel().scale, abs=0.05)


@pytest.mark.parametrize(
    ("kernel", "r_squared", "times"),
    [(PowerKernel(), 0.972, 1.6), (ExponentialKernel(), 0.858, 2.25)],
)
def test_ratios_of_kernels_follow_those_of_the_catches(kernel, r_squared, times):
    measured, ours = (np.log(ratios / ratios[0]) for ratios in (CAUGHT, kernel(DISTANCE)))
    left = measured - ours - (measured - ours).mean()
    spread = measured - measured.mean()
    assert 1 - (left @ left) / (spread @ spread) == pytest.approx(r_squared, abs=0.0005)
    assert np.exp(np.abs(left)).max() < times


# The same: 80 % caught on the downwind (west) side under wind from the north-east to east
def test_downwind_gets_most():
    rose = WindRose(np.array([0.1, 0.2, 0.5, 0.1, 0.025, 0.025, 0.025, 0.025]))
    east = np.array([0.0, 5.0, 0.0, -5.0])
    north = np.array([5.0, 0.0, -5.0, 0.0])
    assert rose.factor(east, north).argmax() == 3


# Stokes's law; 0.025 m/s is the fall speed of Corylus in tables of vegetation reconstruction
def test_fall_speed_by_stokes():
    assert fall_speed(25.0) == pytest.approx(0.0188, abs=0.00005)
    assert grain_diameter(0.025) == pytest.approx(28.8, abs=0.05)


# "Every third tree in every third row": BC Government hazelnut guide; 20 × 20 ft, the rest counted
@pytest.mark.parametrize(
    ("every", "percent", "feet"),
    [((3, 3), 11.11, 28.28), ((4, 3), 8.33, 44.72), ((6, 3), 5.56, 63.25), ((4, 4), 6.25, 56.57)],
)
def test_rules_of_thumb_for_pollenizer_layouts(every, percent, feet):
    share, farthest = every_nth(*every, 20.0)
    assert 100 * share == pytest.approx(percent, abs=0.005)
    assert farthest == pytest.approx(feet, abs=0.005)


def test_every_sixth_tree_in_every_third_row_keeps_within_twenty_metres():
    assert every_nth(6, 3, 6.096)[1] == pytest.approx(19.28, abs=0.005)
