"""Genotypes inferred: against brute-force enumeration, and laws that must hold."""

from itertools import combinations_with_replacement, product

import numpy as np
import pytest

from nuttery.science.pollen import (
    Hierarchy,
    UnknownDominance,
    infer_genotypes,
    is_compatible,
)

ALLELES = [1, 2, 3, 4]
FREQUENCIES = [0.4, 0.3, 0.2, 0.1]
ORDER = Hierarchy({1: 3, 2: 2, 3: 3, 4: 1})


def passes(genotype, allele):
    return genotype.count(allele) / 2


def gamete(parent, genotypes, allele):
    if parent == -1:
        return dict(zip(ALLELES, FREQUENCIES, strict=True))[allele]
    return passes(genotypes[parent], allele)


def descent(i, genotypes, mother, fathers):
    x, y = genotypes[i]
    total = 0.0
    for father, weight in fathers[i].items():
        chance = gamete(mother[i], genotypes, x) * gamete(father, genotypes, y)
        if x != y:
            chance += gamete(mother[i], genotypes, y) * gamete(father, genotypes, x)
        total += weight * chance
    return total


def by_enumeration(mother, father, known, crosses, possible_fathers):
    """Every combination of genotypes, weighed by hand: shares no code with the engine."""
    pairs = list(combinations_with_replacement(ALLELES, 2))
    n = len(mother)
    fathers = [possible_fathers.get(i, {father[i]: 1.0}) for i in range(n)]
    accepts = np.array([[is_compatible(a, b, ORDER) for b in pairs] for a in pairs])
    probability, compatibility, total = np.zeros((n, len(pairs))), np.zeros((n, n)), 0.0
    ways = [[pairs.index(known[i])] if i in known else range(len(pairs)) for i in range(n)]
    for combination in product(*ways):
        genotypes = [pairs[k] for k in combination]
        weight = 1.0
        for i in range(n):
            weight *= descent(i, genotypes, mother, fathers)
        for seed, pollen, took in crosses:
            good = accepts[combination[seed], combination[pollen]]
            chance = 0.9 if good else 0.02
            weight *= chance if took else 1 - chance
        total += weight
        probability[range(n), combination] += weight
        compatibility += weight * accepts[np.ix_(combination, combination)]
    np.fill_diagonal(compatibility, 0)
    return probability / total, compatibility / total


CASES = {
    "full and half sibs, crossed in a ring": (
        [-1, -1, 0, 0, 0],
        [-1, -1, 1, 1, -1],
        {},
        [(2, 3, True), (3, 4, False), (4, 2, True)],
        {},
    ),
    "three generations, the last one tested": (
        [-1, -1, 0, 0, 2],
        [-1, -1, 1, 1, 3],
        {4: (1, 2)},
        [(2, 3, True), (0, 3, False)],
        {},
    ),
    "half sibs of an unknown mother, nothing known": ([-1, 0, 0, 0], [-1] * 4, {}, [], {}),
    "several possible fathers": (
        [-1, -1, -1, 0, 0],
        [-1] * 5,
        {},
        [(3, 4, True)],
        {3: {1: 0.5, 2: 0.3, -1: 0.2}, 4: {1: 0.5, 2: 0.5}},
    ),
    "selfed and backcrossed": ([-1, 0, 1, 2], [-1, 0, 0, 1], {3: (2, 3)}, [(1, 2, True)], {}),
    "rows in any order": ([1, -1, 1, 0], [2, -1, -1, -1], {3: (1, 1)}, [(0, 2, False)], {}),
}


def posterior(case):
    mother, father, known, crosses, possible = case
    return infer_genotypes(
        mother,
        father,
        alleles=ALLELES,
        frequencies=FREQUENCIES,
        hierarchy=ORDER,
        known=known,
        crosses=crosses,
        possible_fathers=possible,
    )


@pytest.mark.parametrize("case", CASES.values(), ids=CASES)
def test_exact_answers_agree_with_enumeration(case):
    found = posterior(case)
    probability, compatibility = by_enumeration(*case)
    assert found.exact
    assert found.probability == pytest.approx(probability, abs=1e-12)
    assert found.compatibility == pytest.approx(compatibility, abs=1e-12)


def test_a_layer_shares_its_genotype_and_feeds_neither_itself_nor_its_original():
    found = infer_genotypes(
        [-1, 0, -1],
        [-1, -1, -1],
        alleles=ALLELES,
        frequencies=FREQUENCIES,
        hierarchy=ORDER,
        clone_of=[-1, -1, 1],
        crosses=[(0, 2, True)],
    )
    assert np.array_equal(found.probability[1], found.probability[2])
    assert found.compatibility[1, 2] == found.compatibility[2, 1] == 0
    assert np.array_equal(found.compatibility[0, 1:], [found.compatibility[0, 1]] * 2)


def test_an_unknown_order_gives_a_range_and_no_guess():
    found = infer_genotypes(
        [-1, -1],
        [-1, -1],
        alleles=[1, 2],
        frequencies=[0.5, 0.5],
        hierarchy=Hierarchy({}),
        known={0: (1, 1), 1: (1, 2)},
    )
    low, high = found.compatibility_range()
    assert (low[0, 1], high[0, 1]) == (0, 1)
    assert (low[1, 0], high[1, 0]) == (0, 0)
    with pytest.raises(UnknownDominance, match="found alleles 1 and 2"):
        _ = found.compatibility
