"""Genotypes inferred: against brute-force enumeration, and laws that must hold."""

from functools import cache
from itertools import combinations_with_replacement, product

import numpy as np
import pytest

from nuttery.science.pollen import (
    ExponentialKernel,
    Hierarchy,
    UnknownDominance,
    infer_genotypes,
    is_compatible,
    pollen_cover,
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


@cache
def enumerated(name):
    return by_enumeration(*CASES[name])


@pytest.mark.parametrize("name", CASES)
def test_exact_answers_agree_with_enumeration(name):
    found = posterior(CASES[name])
    probability, compatibility = enumerated(name)
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


def test_a_tested_plant_of_unknown_parents_may_have_an_allele_that_others_lack(monkeypatch):
    """Its offspring inherit the allele, though no unknown parent brings it; drawn as summed."""
    words = {
        "alleles": [1, 2, 9],
        "frequencies": [0.5, 0.5, 0.0],
        "hierarchy": Hierarchy({1: 1, 2: 2, 9: 3}),
        "known": {0: (2, 9)},
        "crosses": [(2, 1, True)],
    }
    summed = infer_genotypes([-1, 0, 0], [-1, -1, -1], **words)
    monkeypatch.setattr("nuttery.science.pollen.inference.LARGEST_TABLE", 1)
    drawn = infer_genotypes([-1, 0, 0], [-1, -1, -1], **words)
    assert (summed.exact, drawn.exact) == (True, False)
    assert drawn.probability == pytest.approx(summed.probability, abs=0.02)
    assert drawn.probability[0].max() == 1


@pytest.mark.parametrize("name", CASES)
def test_drawn_answers_agree_with_enumeration_within_their_stated_error(name, monkeypatch):
    monkeypatch.setattr("nuttery.science.pollen.inference.LARGEST_TABLE", 1)
    monkeypatch.setattr("nuttery.science.pollen.sampler.WORK", 2e8)
    found = posterior(CASES[name])
    probability, compatibility = enumerated(name)
    assert not found.exact
    assert 0 < found.error < 0.03
    assert found.probability == pytest.approx(probability, abs=0.01 + 3 * found.error)
    assert found.compatibility == pytest.approx(compatibility, abs=0.01 + 4 * found.pair_error)


def test_the_probability_of_a_father_is_that_of_enumeration(monkeypatch):
    mother, father, known, crosses, possible = CASES["several possible fathers"]
    each = {}
    for i, chances in possible.items():
        for f in chances:
            sure = {**possible, i: {f: 1.0}}
            each[i, f] = chances[f] * evidence(mother, father, known, crosses, sure)
    for exact in (True, False):
        if not exact:
            monkeypatch.setattr("nuttery.science.pollen.inference.LARGEST_TABLE", 1)
            monkeypatch.setattr("nuttery.science.pollen.sampler.WORK", 2e8)
        found = posterior(CASES["several possible fathers"]).father_probability
        for i, chances in possible.items():
            total = sum(each[i, f] for f in chances)
            for f in chances:
                wanted = each[i, f] / total
                assert found[i][f] == pytest.approx(wanted, abs=1e-9 if exact else 0.02)


def evidence(*case):
    return np.exp(posterior(case).log_evidence)


def test_joint_draws_have_the_posterior_s_chances_and_those_of_pairs():
    case = CASES["half sibs of an unknown mother, nothing known"]
    found = posterior(case)
    drawn = found.draw(40_000, np.random.default_rng(2))
    accepts = found.alphabet.accepts[0]
    for i in range(4):
        share = np.bincount(drawn[:, i], minlength=len(found.pairs)) / len(drawn)
        assert share == pytest.approx(found.probability[i], abs=0.01)
        for j in set(range(4)) - {i}:
            share = accepts[drawn[:, i], drawn[:, j]].mean()
            assert share == pytest.approx(found.compatibility[i, j], abs=0.01)


def test_siblings_of_an_unknown_mother_are_no_independent_pair():
    found = posterior(CASES["half sibs of an unknown mother, nothing known"])
    apart = found.probability[1] @ found.alphabet.accepts[0] @ found.probability[2]
    assert found.compatibility[1, 2] < apart - 0.02


def test_renaming_alleles_changes_nothing():
    mother, father, _, crosses, _ = CASES["full and half sibs, crossed in a ring"]
    new = {1: 30, 2: 7, 3: 12, 4: 1}
    given = posterior((mother, father, {}, crosses, {}))
    order = Hierarchy({new[a]: level for a, level in ORDER.levels.items()})
    renamed = infer_genotypes(
        mother,
        father,
        alleles=[new[a] for a in ALLELES],
        frequencies=FREQUENCIES,
        hierarchy=order,
        crosses=crosses,
    )
    same = [renamed.pairs.index(tuple(sorted((new[a], new[b])))) for a, b in given.pairs]
    assert renamed.probability[:, same] == pytest.approx(given.probability)
    assert renamed.compatibility == pytest.approx(given.compatibility)


def test_renumbering_shrubs_changes_nothing():
    mother, father, known, crosses, _ = CASES["three generations, the last one tested"]
    new = [3, 0, 4, 1, 2]
    given = posterior((mother, father, known, crosses, {}))
    moved_mother, moved_father = np.empty((2, 5), dtype=int)
    for old in range(5):
        moved_mother[new[old]] = new[mother[old]] if mother[old] >= 0 else -1
        moved_father[new[old]] = new[father[old]] if father[old] >= 0 else -1
    moved = posterior(
        (
            moved_mother,
            moved_father,
            {new[i]: g for i, g in known.items()},
            [(new[s], new[p], t) for s, p, t in crosses],
            {},
        )
    )
    assert moved.probability[new] == pytest.approx(given.probability)
    assert moved.compatibility[np.ix_(new, new)] == pytest.approx(given.compatibility)


def test_a_block_of_compatibility_is_part_of_the_whole():
    found = posterior(CASES["half sibs of an unknown mother, nothing known"])
    assert np.array_equal(
        found.compatibility_block(slice(1, 3), slice(0, 4)), found.compatibility[1:3]
    )


def test_cover_takes_the_posterior_s_blocks_in_place_of_its_table():
    found = posterior(CASES["half sibs of an unknown mother, nothing known"])
    season = np.random.default_rng(1).random((2, 4, 5))
    covers = [
        pollen_cover(
            np.eye(4, 2) * 9,
            *season,
            given,
            np.ones(4),
            kernel=ExponentialKernel(),
            half_dose=1.0,
        ).cover
        for given in (found.compatibility, found.compatibility_block)
    ]
    assert np.array_equal(*covers)


def test_a_known_founder_may_carry_an_allele_nobody_else_has():
    found = infer_genotypes(
        [-1, 0],
        [-1, -1],
        alleles=[1, 2, 9],
        frequencies=[0.5, 0.5, 0.0],
        hierarchy=ORDER,
        known={0: (9, 9)},
    )
    assert found.probability[1, found.pairs.index((1, 9))] == pytest.approx(0.5)


WRONG = {
    "a parent out of range": ({"mother": [-1, 7]}, r"mother\[1\]: found 7, expected -1 to 1"),
    "its own ancestor": ({"mother": [1, 0]}, r"found rows \[0, 1\] that descend"),
    "frequencies that do not add up": ({"frequencies": [0.5] * 4}, "found a sum of 2, expected 1"),
    "a frequency missing": ({"frequencies": [1.0]}, "found 1, expected one for each of 4"),
    "an allele twice": ({"alleles": [1, 1, 2, 3]}, "found 1 twice"),
    "an allele not in play": ({"known": {0: (1, 9)}}, r"known\[0\]: found \(1, 9\)"),
    "half a genotype": ({"known": {0: (1,)}}, r"known\[0\]: found \(1,\), expected a pair"),
    "parent and child at odds": (
        {"known": {0: (1, 1), 1: (2, 2)}},
        "cannot be those of shrub 1",
    ),
    "a cross with nobody": ({"crosses": [(0, 5, True)]}, r"crosses\[0\]: found pollen 5"),
    "a cross with no result": ({"crosses": [(0, 1, None)]}, r"found took None, expected True"),
    "a rate above one": ({"false_set": 2.0}, "false_set: found 2.0, expected 0 to 1"),
    "a ring of layers": ({"clone_of": [1, 0]}, r"clone_of\[0\]: found a ring"),
    "chances of fathers": (
        {"possible_fathers": {1: {0: 0.4}}},
        "expected none below 0 and a sum of 1",
    ),
    "a hint of the wrong length": ({"hints": {0: [1.0]}}, "found 1.0, expected 10 to 10"),
    "a result that cannot be": (
        {
            "known": {0: (1, 1), 1: (1, 1)},
            "crosses": [(0, 1, True)],
            "false_set": 0.0,
        },
        "found a result that shrubs",
    ),
}


@pytest.mark.parametrize(("change", "told"), WRONG.values(), ids=WRONG)
def test_impossible_input_is_named(change, told):
    arguments = {
        "mother": [-1, 0],
        "father": [-1, -1],
        "alleles": ALLELES,
        "frequencies": FREQUENCIES,
        "hierarchy": ORDER,
        **change,
    }
    with pytest.raises(ValueError, match=told):
        infer_genotypes(arguments.pop("mother"), arguments.pop("father"), **arguments)


def test_a_cross_that_hangs_on_an_unknown_order_is_refused_by_name():
    with pytest.raises(UnknownDominance, match="found alleles 1 and 2"):
        infer_genotypes(
            [-1, -1],
            [-1, -1],
            alleles=[1, 2],
            frequencies=[0.5, 0.5],
            hierarchy=Hierarchy({}),
            known={0: (1, 1)},
            crosses=[(0, 1, True)],
        )
