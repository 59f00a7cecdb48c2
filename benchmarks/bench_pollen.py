"""Pollen: cover of 10,000 shrubs against the bare matrix product of the same size."""

import time

import numpy as np

from nuttery.science.pollen import ExponentialKernel, PowerKernel, pollen_cover

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


if __name__ == "__main__":
    cover()
