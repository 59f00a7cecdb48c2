"""How long the clock takes to learn and to forecast, against plain NumPy for the same sums.

Run: python benchmarks/bench_clock.py
"""

import resource
import time

import numpy as np

from nuttery.science.bloom import STAGES, fit_clock, prior_clock, window_dates

DAYS = np.arange(1, 181)


def springs(n, rng):
    wave = -8 + 22 * np.sin(np.pi * (DAYS - 30) / 240)
    return wave + rng.normal(0, 1.5, (n, 1)) + rng.normal(0, 3, (n, len(DAYS)))


def notes(n, n_shrubs, n_years, rng):
    weather = springs(n_years, rng)
    shrub, year = rng.integers(0, n_shrubs, n), rng.integers(0, n_years, n)
    heat = 150 * np.exp(rng.normal(0, 0.12, n_shrubs))[shrub]
    sums = np.cumsum(np.maximum(weather - 4, 0) * (DAYS > 31), axis=1)
    day = np.argmax(sums[year] >= heat[:, None], axis=1) + 1 + rng.normal(0, 2.5, n)
    before = np.round(day) - 1 - rng.integers(0, 7, n)
    return weather[year], np.clip(np.column_stack([before, before + 7]), 0, 180), shrub


def seconds(task):
    """Seconds of the processor: other work on the machine does not count."""
    begin = time.process_time()
    result = task()
    return time.process_time() - begin, result


def plain_search(temps, day):
    """One heat sum for all, base and start by grid, least squares in days; no shrubs, no error."""
    best = np.inf
    rows = np.arange(len(day))
    for base in range(9):
        for start in range(1, 62, 10):
            sums = np.cumsum(np.maximum(temps - base, 0) * (start <= DAYS), axis=1)
            heat = np.median(sums[rows, day - 1])
            best = min(best, float(np.var(np.argmax(sums >= heat, axis=1) - day)))
    return best


def plain_forecast(sums, shrubs, rng):
    """One shrub and stage after another, all futures at once."""
    for _ in range(shrubs):
        heat = 150 * np.exp(rng.normal(0, 0.1, len(sums)))
        day = (sums < heat[:, None]).sum(axis=1) + rng.normal(0, 3, len(sums))
        np.quantile(day, [0.1, 0.5, 0.9])


def bench_fit(rng):
    temps, seen, shrub = notes(4000, 150, 30, rng)
    other = notes(4000, 150, 4000, rng)
    fit_clock(temps[:60], seen[:60], shrub=shrub[:60])
    plain, _ = seconds(lambda: plain_search(temps, np.clip(seen.mean(axis=1), 1, 180).astype(int)))
    for name, one in (("30 seasons", (temps, seen, shrub)), ("a season each", other)):
        took, _ = seconds(lambda one=one: fit_clock(one[0], one[1], shrub=one[2]))
        print(f"fit, 4000 looks, 150 shrubs, {name}: {took:.2f} s, {took / plain:.1f} × plain grid")
    print(f"plain grid of 63 heat sums without shrubs: {plain:.2f} s")


def bench_forecast(rng):
    futures = np.hstack([springs(200, rng), np.full((200, 60), 18.0)])
    clocks = {stage: prior_clock(stage) for stage in STAGES[:8]}
    window_dates(clocks, futures, [1, 2], rng=rng).interval()
    took, _ = seconds(lambda: window_dates(clocks, futures, np.arange(5000), rng=rng).interval())
    sums = np.cumsum(np.maximum(futures - 3, 0), axis=1)
    plain, _ = seconds(lambda: plain_forecast(sums, 400, rng))
    print(f"forecast, 5000 shrubs × 8 stages × 200 futures with intervals: {took:.2f} s")
    print(f"plain NumPy, shrub by shrub: {100 * plain:.1f} s, {100 * plain / took:.0f} × as long")
    seen = np.full((5000, 8, 2), [-np.inf, np.inf])
    middle = np.round(window_dates(clocks, futures, [1], rng=rng).interval()[0][0])
    seen[::3] = np.stack([middle - 4, middle + 3], axis=-1)
    looked, _ = seconds(
        lambda: window_dates(clocks, futures, np.arange(5000), rng=rng, seen=seen).interval()
    )
    print(f"the same with looks at every stage of 1667 of them: {looked:.2f} s")
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"memory at most: {memory:.0f} MB")


if __name__ == "__main__":
    generator = np.random.default_rng(1)
    bench_fit(generator)
    bench_forecast(generator)
