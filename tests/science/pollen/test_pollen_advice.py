"""Advice on sites, layouts, crosses and the half-dose: against exhaustive search and simulation."""

from itertools import combinations, permutations, product

import numpy as np
import pytest

from nuttery.science.pollen import (
    ExponentialKernel,
    Hierarchy,
    PowerKernel,
    choose_sites,
    infer_genotypes,
    lay_out_lots,
    natural_set_hints,
    next_crosses,
    pollen_cover,
)

KERNEL = ExponentialKernel()
ORDER = Hierarchy({1: 4, 2: 3, 3: 2, 4: 1})


def standing(seed, n=8, days=5):
    rng = np.random.default_rng(seed)
    return pollen_cover(
        rng.random((n, 2)) * 60,
        rng.random((n, days)),
        rng.random((n, days)),
        rng.random((n, n)) * 0.3,
        rng.random(n),
        kernel=KERNEL,
        half_dose=1.0,
    ), rng


def after(now, lots, choice):
    """Covers with a choice planted, through `pollen_cover` of the whole planting."""
    places, accepted, shed, catkins = lots
    n, k = len(now.cover), len(choice)
    xy = np.vstack([now.drift.xy, places[[p for p, _ in choice]]])
    compatibility = np.zeros((n + k, n + k))
    compatibility[:n, :n] = now.drift.compatibility
    compatibility[:n, n:] = accepted[:, [lot for _, lot in choice]]
    whole = pollen_cover(
        xy,
        np.vstack([now.shed, shed[[lot for _, lot in choice]]]),
        np.vstack([now.receptive, np.zeros((k, shed.shape[1]))]),
        compatibility,
        np.append(now.catkins, catkins[[lot for _, lot in choice]]),
        kernel=KERNEL,
        half_dose=now.half_dose,
    )
    return whole.cover[:n]


@pytest.mark.parametrize(("seed", "lowest"), [(1, 1), (2, 3), (3, 8)])
def test_sites_chosen_are_the_best_of_all(seed, lowest):
    now, rng = standing(seed)
    places, accepted = rng.random((6, 2)) * 60, rng.random((8, 2))
    shed, catkins = rng.random((2, 5)), np.array([0.8, 1.5])
    site = (places, accepted, shed, catkins)
    plan = choose_sites(
        now, places, accepted=accepted, shed=shed, catkins=catkins, k=3, lowest=lowest
    )
    values = [
        np.sort(after(now, site, list(zip(where, lots, strict=True))))[:lowest].mean()
        for where in combinations(range(6), 3)
        for lots in product(range(2), repeat=3)
    ]
    assert plan.objective == pytest.approx(max(values), abs=1e-5)
    assert plan.status == "optimal"
    assert plan.bound >= max(values) - 1e-9
    chosen = list(zip(plan.place, plan.lot, strict=True))
    assert plan.cover == pytest.approx(after(now, site, chosen))
    assert plan.objective >= plan.before


def test_a_search_cut_short_still_has_a_bound():
    now, rng = standing(4, n=30)
    places, accepted = rng.random((25, 2)) * 60, rng.random((30, 3))
    plan = choose_sites(
        now,
        places,
        accepted=accepted,
        shed=rng.random((3, 5)),
        catkins=np.ones(3),
        k=5,
        lowest=3,
        most_nodes=1,
    )
    assert plan.bound >= plan.objective > plan.before
    assert plan.gap == pytest.approx(plan.bound - plan.objective)


def test_more_places_than_there_are_is_refused():
    now, _ = standing(1)
    with pytest.raises(ValueError, match="k: found 4, expected 0 to the number of places, 3"):
        choose_sites(
            now, np.zeros((3, 2)), accepted=np.ones((8, 1)), shed=np.ones((1, 5)), catkins=[1], k=4
        )


def test_lots_laid_out_are_the_best_of_all_layouts():
    rng = np.random.default_rng(6)
    places = np.array([[x, y] for y in (0.0, 5.0) for x in (0.0, 2.0, 4.0, 6.0)])
    accepted = np.array([[0.5, 0.9, 0.4], [0.8, 0.25, 0.9], [0.7, 0.9, 0.3]])
    plan = lay_out_lots(places, [3, 3, 2], accepted, kernel=PowerKernel(), half_dose=1.0, rng=rng)
    apart = np.hypot(*(places[:, None] - places[None]).transpose(2, 0, 1))
    weight = PowerKernel()(apart) * (1 - np.eye(8))
    best = 0.0
    for lots in set(permutations([0, 0, 0, 1, 1, 1, 2, 2])):
        lot = np.array(lots)
        dose = (weight * accepted[lot[:, None], lot[None]]).sum(axis=1)
        best = max(best, (dose / (dose + 1)).min())
    assert plan.objective == pytest.approx(best)
    assert np.array_equal(np.bincount(plan.lot), [3, 3, 2])


def siblings(crosses=(), hints=None):
    return infer_genotypes(
        [-1, -1, 0, 0, 0],
        [-1, -1, 1, 1, 1],
        alleles=[1, 2, 3, 4],
        frequencies=[0.25] * 4,
        hierarchy=ORDER,
        known={0: (1, 2), 1: (3, 4)},
        crosses=crosses,
        hints=hints,
    )


def entropy(p):
    p = p[p > 0]
    return -(p * np.log2(p)).sum()


def test_information_of_a_cross_is_what_its_outcomes_take_off_the_doubt():
    now = siblings()
    best = next_crosses(now, [(2, 3)], 1)[0]
    chance = 0.5 * 0.9 + 0.5 * 0.02
    by_hand = entropy(np.array([chance, 1 - chance])) - 0.5 * (
        entropy(np.array([0.9, 0.1])) + entropy(np.array([0.02, 0.98]))
    )
    assert best.takes == pytest.approx(chance, abs=0.02)
    assert best.gain == pytest.approx(by_hand, abs=0.02)


def test_a_cross_that_cannot_teach_is_left_out():
    assert next_crosses(siblings(), [(0, 1), (2, 2)], 2) == []


def test_crosses_that_bear_on_what_matters_come_first():
    matters = np.zeros((5, 5))
    matters[4, 3] = 1.0
    chosen = next_crosses(siblings(), [(2, 1), (4, 3)], 1, matters=matters)
    assert (chosen[0].seed, chosen[0].pollen) == (4, 3)


def test_a_second_cross_like_the_first_teaches_less():
    first, second = next_crosses(siblings(), [(2, 3), (2, 3)], 2)
    assert second.gain < 0.7 * first.gain


def test_good_set_beside_one_donor_speaks_for_genotypes_that_accept_it():
    now = infer_genotypes(
        [-1, -1],
        [-1, -1],
        alleles=[1, 2, 3, 4],
        frequencies=[0.25] * 4,
        hierarchy=ORDER,
        known={1: (1, 2)},
    )
    hints = natural_set_hints(
        now, [0, 0], np.array([[0, 3.0]] * 2), [40, 40], [30, 25], half_dose=0.5, ceiling=0.8
    )
    told = infer_genotypes(
        [-1, -1],
        [-1, -1],
        alleles=[1, 2, 3, 4],
        frequencies=[0.25] * 4,
        hierarchy=ORDER,
        known={1: (1, 2)},
        hints=hints,
    )
    assert told.compatibility[0, 1] > 0.95 > now.compatibility[0, 1]
