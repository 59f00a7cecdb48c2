"""Relatives: exact Mendelian counts, derived by hand for parents that share no allele.

Source: Mendel's law with the rule of acceptance of Mehlenbacher 1997; each value is a fraction
of equally likely pairs, written out in the method page.
"""

from itertools import permutations, product

import numpy as np
import pytest

from nuttery.science.pollen import (
    Hierarchy,
    assurance,
    donors_needed,
    infer_genotypes,
    is_compatible,
    offspring,
    sibling_compatibility,
)

LEVEL = Hierarchy(dict.fromkeys(range(1, 34), 1))


@pytest.mark.parametrize("ranks", list(permutations(range(4))))
def test_full_sibs_accept_half_for_every_order_of_four_alleles(ranks):
    order = Hierarchy(dict(zip((1, 2, 3, 4), ranks, strict=True)))
    assert sibling_compatibility((1, 2), (3, 4), order) == 0.5


def test_full_sibs_accept_a_quarter_where_both_alleles_show():
    assert sibling_compatibility((1, 2), (3, 4), LEVEL) == 0.25


def test_full_sibs_of_parents_with_a_recessive_in_common():
    order = Hierarchy({3: 3, 1: 2, 2: 1})
    assert sibling_compatibility((1, 2), (3, 2), order) == 7 / 16
    sibs = offspring((1, 2), (3, 2))
    donors = {s: sum(is_compatible(s, p, order) for p in sibs) for s in sibs}
    assert donors == {(1, 3): 1, (1, 2): 2, (2, 3): 1, (2, 2): 3}


@pytest.mark.parametrize(("top", "expected"), [({1: 6, 2: 5}, 0.5), ({1: 2, 2: 1}, 1.0)])
def test_half_sibs(top, expected):
    order = Hierarchy({3: 3.1, 4: 3.2, 5: 3.3, 6: 3.4, **top})
    assert mean(offspring((1, 2), (3, 4)), offspring((1, 2), (5, 6)), order) == expected


def test_half_sibs_average_three_quarters_over_all_orders_and_half_where_both_show():
    first, second = offspring((1, 2), (3, 4)), offspring((1, 2), (5, 6))
    orders = [Hierarchy(dict(zip(range(1, 7), r, strict=True))) for r in permutations(range(6))]
    assert np.mean([mean(first, second, order) for order in orders]) == pytest.approx(0.75)
    assert mean(first, second, LEVEL) == 0.5


@pytest.mark.parametrize("ranks", list(permutations(range(4))))
def test_a_parent_feeds_half_of_its_offspring(ranks):
    order = Hierarchy(dict(zip((1, 2, 3, 4), ranks, strict=True)))
    assert mean(offspring((1, 2), (3, 4)), [(1, 2)], order) == 0.5


def test_where_both_alleles_show_no_parent_feeds_its_offspring_nor_they_it():
    sibs = offspring((1, 2), (3, 4))
    assert mean(sibs, [(1, 2)], LEVEL) == mean([(1, 2)], sibs, LEVEL) == 0


def mean(seeds, pollens, order):
    return np.mean([is_compatible(s, p, order) for s, p in product(seeds, pollens)])


@pytest.mark.parametrize(
    ("n", "one", "both"), [(10, 0.80, 0.622), (20, 0.90, 0.805), (33, 0.939, 0.881)]
)
def test_unrelated_heterozygotes_with_equally_frequent_alleles(n, one, both):
    pairs = [(a, b) for a in range(1, n + 1) for b in range(a + 1, n + 1)]
    linear = Hierarchy({a: a for a in range(1, n + 1)})
    some = pairs[:: max(1, len(pairs) // 120)]
    assert mean(pairs, [(1, 2)], linear) == pytest.approx(1 - 2 / n)
    assert 1 - 2 / n == pytest.approx(one, abs=0.0005)
    assert mean(pairs, some, LEVEL) == pytest.approx(both, abs=0.0005)


@pytest.mark.parametrize(
    ("probability", "at_95", "at_99"), [(0.25, 11, 17), (0.5, 5, 7), (0.75, 3, 4), (0.9, 2, 2)]
)
def test_independent_donors_needed(probability, at_95, at_99):
    assert donors_needed(probability, 0.95) == at_95
    assert donors_needed(probability, 0.99) == at_99


def test_siblings_are_not_independent_donors():
    order = Hierarchy({3: 3, 1: 2, 2: 1})
    curve = assurance((1, 2), (3, 2), order, k_max=6)
    by_hand = [np.mean([1 - (1 - a) ** k for a in (1 / 4, 2 / 4, 1 / 4, 3 / 4)]) for k in range(7)]
    assert curve.chance == pytest.approx(by_hand)
    assert curve.chance[6] < 1 - (1 - 7 / 16) ** 6


def test_everyone_fed_agrees_with_all_plantings_of_five_siblings():
    order = Hierarchy({1: 4, 2: 3, 3: 2, 4: 1})
    sibs = offspring((1, 2), (3, 4))
    fed = [
        all(any(is_compatible(s, p, order) for p in planting) for s in planting)
        for planting in product(sibs, repeat=5)
    ]
    assert assurance((1, 2), (3, 4), order, k_max=5).everyone[5] == pytest.approx(np.mean(fed))


def test_full_sibs_inferred_accept_half():
    found = infer_genotypes(
        [-1, -1, 0, 0],
        [-1, -1, 1, 1],
        alleles=[1, 2, 3, 4],
        frequencies=[0.25] * 4,
        hierarchy=Hierarchy({1: 4, 2: 3, 3: 2, 4: 1}),
        known={0: (1, 2), 1: (3, 4)},
    )
    assert found.compatibility[2, 3] == pytest.approx(0.5)
    assert found.compatibility[2, 0] == pytest.approx(0.5)


def test_ten_suckers_of_one_bush_are_one_donor_for_none():
    clones = [-1] + [0] * 9
    found = infer_genotypes(
        [-1] * 10,
        [-1] * 10,
        alleles=[1, 2],
        frequencies=[0.5, 0.5],
        hierarchy=LEVEL,
        clone_of=clones,
    )
    assert not found.compatibility.any()
