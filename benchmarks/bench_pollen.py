"""Pollen: cover against the bare matrix product, inference, loss drill, siting and half-dose."""

import time

import numpy as np

from nuttery.science.pollen import (
    ExponentialKernel,
    Hierarchy,
    PowerKernel,
    assumed_half_dose,
    choose_sites,
    fit_half_dose,
    infer_genotypes,
    is_compatible,
    loss_drill,
    pollen_cover,
)

SHRUBS, DAYS = 10_000, 60


def seconds(run, times=3):
    best = np.inf
    for _ in range(times):
        start = time.perf_counter()
        run()
        best = min(best, time.perf_counter() - start)
    return best


def cover():
    rng = np.random.default_rng(1)
    compatibility = rng.random((SHRUBS, SHRUBS))
    shed, receptive = rng.random((2, SHRUBS, DAYS))
    xy = np.column_stack([np.arange(SHRUBS) % 100 * 4.5, np.arange(SHRUBS) // 100 * 1.8])
    bare = seconds(lambda: compatibility @ shed)
    print(f"bare product {SHRUBS} × {SHRUBS} × {DAYS}: {bare:.3f} s")
    kernels = {
        "exponential": ExponentialKernel(),
        "power": PowerKernel(),
        "plain function": lambda d: np.exp(-d / 20),
    }
    for name, kernel in kernels.items():
        took = seconds(
            lambda kernel=kernel: pollen_cover(
                xy, shed, receptive, compatibility, np.ones(SHRUBS), kernel=kernel, half_dose=1.0
            )
        )
        print(f"cover, {name}: {took:.3f} s, {took / bare:.2f} × the bare product")


def planting(seedlings, lots, tested, crosses, seed=0):
    """Seedlings of some mothers by fathers unknown, with test crosses of invented truth."""
    rng = np.random.default_rng(seed)
    alleles = list(range(1, 11))
    frequencies = rng.dirichlet(np.full(10, 3.0))
    order = Hierarchy({a: int(rng.integers(1, 5)) for a in alleles})
    mother = np.r_[np.full(lots, -1), np.arange(seedlings) % lots]
    truth = []
    for m in mother:
        egg = rng.choice(alleles, p=frequencies) if m < 0 else rng.choice(truth[m])
        truth.append(tuple(sorted((int(egg), int(rng.choice(alleles, p=frequencies))))))
    made = []
    for seed_parent, pollen_parent in rng.integers(lots, len(mother), (crosses, 2)).tolist():
        good = is_compatible(truth[seed_parent], truth[pollen_parent], order)
        made.append((seed_parent, pollen_parent, bool(rng.random() < (0.9 if good else 0.02))))
    known = {i: truth[i] for i in range(lots)} if tested else {}
    arguments = {"alleles": alleles, "frequencies": frequencies, "hierarchy": order}
    return mother, {**arguments, "known": known, "crosses": made}


def inference():
    mother, arguments = planting(20, 2, tested=False, crosses=15)
    infer_genotypes(mother, np.full(len(mother), -1), **arguments)  # compiles what is compiled
    for size, lots, crosses in ((120, 4, 60), (5000, 40, 500)):
        for tested in (True, False):
            mother, arguments = planting(size, lots, tested, crosses)
            nobody = np.full(len(mother), -1)
            start = time.perf_counter()
            found = infer_genotypes(mother, nobody, **arguments)
            took = time.perf_counter() - start
            told = "tested" if tested else "untested"
            how = "exact" if found.exact else f"drawn, standard error {found.error:.3f}"
            print(f"genotypes, {size} in {lots} lots, mothers {told}: {took:.2f} s, {how}")


def advice():
    rng = np.random.default_rng(2)
    xy = np.column_stack([np.arange(2000) % 50 * 4.5, np.arange(2000) // 50 * 1.8])
    shed, receptive = rng.random((2, 2000, DAYS))
    accepts = rng.random((2000, 2000))
    now = pollen_cover(
        xy, shed, receptive, accepts, np.ones(2000), kernel=PowerKernel(), half_dose=1.0
    )
    one = seconds(
        lambda: pollen_cover(
            xy, shed, receptive, accepts, np.ones(2000), kernel=PowerKernel(), half_dose=1.0
        )
    )
    drill = seconds(lambda: loss_drill(now), 2)
    print(f"loss drill, 2000 shrubs: {drill:.2f} s, {drill / one / 2000:.4f} × 2000 covers")
    few = slice(0, 120)
    small = pollen_cover(
        xy[few],
        shed[few],
        receptive[few],
        accepts[few, few] / 2,
        np.ones(120),
        kernel=PowerKernel(),
        half_dose=1.0,
    )
    start = time.perf_counter()
    plan = choose_sites(
        small,
        xy[:40] + np.array([2.0, 0.9]),
        accepted=rng.random((120, 4)),
        shed=rng.random((4, DAYS)),
        catkins=np.ones(4),
        k=5,
        gap=1e-3,
    )
    took = time.perf_counter() - start
    print(f"siting 5 of 40 places × 4 lots: {took:.2f} s, {plan.status}, gap {plan.gap:.1e}")


def dose():
    rng = np.random.default_rng(5)
    draws = np.exp(rng.normal(0, 1, (40, 600, 1))) * rng.random((1, 600, DAYS))
    counts = (np.ones_like(draws), np.full(600, 30), rng.integers(5, 25, 600))
    labels = {"shrub": np.arange(600) % 300, "lot": np.arange(600) % 5, "year": np.arange(600) % 4}
    before = assumed_half_dose(PowerKernel())
    few = (draws[:, :20], counts[0][:, :20], counts[1][:20], counts[2][:20])
    fit_half_dose(*few, before=before)  # compiles what is compiled
    took = seconds(lambda: fit_half_dose(draws, *counts, before=before, **labels), 1)
    print(f"half-dose from 600 counts, 40 draws of {DAYS} days: {took:.2f} s")


if __name__ == "__main__":
    cover()
    inference()
    advice()
    dose()
