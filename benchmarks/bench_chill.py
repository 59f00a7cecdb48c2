"""Chill portions of 50 years of hours against a plain loop and the bare exponentials.

Run: python benchmarks/bench_chill.py
"""

import math
import time
from collections.abc import Callable

import numpy as np
from numba import njit

from nuttery.science.weather import (
    MonthlyClimate,
    WeatherMaker,
    chill_portions,
    growing_degree_days,
    hourly_from_daily,
)

YEARS = 50


def best(work: Callable[[], object], times: int = 3) -> float:
    """Least seconds of the processor: other work on the machine does not count."""
    seconds = []
    for _ in range(times):
        start = time.process_time()
        work()
        seconds.append(time.process_time() - start)
    return min(seconds)


def plain_loop(temps: list[float]) -> float:
    """Recursion as anyone would write it first."""
    total = left = 0.0
    for temp in temps:
        kelvin = temp + 273.0
        steady = 139500.0 / 2.567e18 * math.exp(8735.3 / kelvin)
        left = steady - (steady - left) * math.exp(-2.567e18 * math.exp(-12888.8 / kelvin))
        if left >= 1:
            share = 1 / (1 + math.exp(-1.6 * 277 * (kelvin - 277) / kelvin))
            total += left * share
            left *= 1 - share
    return total


def numpy_loop(temps: np.ndarray) -> float:
    """The same, one NumPy scalar at a time."""
    total = left = np.float64(0.0)
    for temp in temps:
        kelvin = temp + 273.0
        steady = 139500.0 / 2.567e18 * np.exp(8735.3 / kelvin)
        left = steady - (steady - left) * np.exp(-2.567e18 * np.exp(-12888.8 / kelvin))
        if left >= 1:
            share = 1 / (1 + np.exp(-1.6 * 277 * (kelvin - 277) / kelvin))
            total += left * share
            left *= 1 - share
    return float(total)


@njit
def compiled_exponentials(temps: np.ndarray) -> float:
    """The four of every hour, one hour after another."""
    total = 0.0
    for temp in temps:
        kelvin = temp + 273.0
        total += np.exp(8735.3 / kelvin) + np.exp(-2.567e18 * np.exp(-12888.8 / kelvin))
        total += np.exp(-1.6 * 277 * (kelvin - 277) / kelvin)
    return total


def vector_exponentials(temps: np.ndarray) -> None:
    """The same by NumPy, in blocks that stay in the cache: the least that they can cost here."""
    for first in range(0, temps.size, 8192):
        kelvin = temps[first : first + 8192] + 273.0
        np.exp(8735.3 / kelvin)
        np.exp(-2.567e18 * np.exp(-12888.8 / kelvin))
        np.exp(-1.6 * 277 * (kelvin - 277) / kelvin)


def main() -> None:
    climate = MonthlyClimate.stated(
        tmin=[-16, -14, -7, -1, 5, 10, 13, 12, 8, 2, -5, -12],
        tmax=[-5, -3, 4, 12, 20, 25, 27, 26, 21, 13, 4, -3],
        spread=4.5,
        wet_share=0.28,
        rain=55,
    )
    maker = WeatherMaker(climate)
    made = maker.make(YEARS, np.random.default_rng(1))
    hours = hourly_from_daily(made.tmin, made.tmax, made.dates, 46.1).ravel()
    chill_portions(hours[:10])
    compiled_exponentials(hours[:10])
    ours = best(lambda: chill_portions(hours), 15)
    listed = hours.tolist()
    assert abs(plain_loop(listed) - chill_portions(hours)[-1]) < 1e-6
    print(f"chill portions of {hours.size} hours ({YEARS} years): {1e3 * ours:.1f} ms")
    for name, seconds in {
        "NumPy scalar loop": best(lambda: numpy_loop(hours), 2),
        "plain Python loop": best(lambda: plain_loop(listed), 3),
    }.items():
        print(f"  {name}: {1e3 * seconds:.0f} ms, {seconds / ours:.0f} times ours")
    for name, seconds in {
        "bare exponentials, compiled": best(lambda: compiled_exponentials(hours), 15),
        "bare exponentials, NumPy in blocks": best(lambda: vector_exponentials(hours), 15),
    }.items():
        print(f"  {name}: {1e3 * seconds:.1f} ms, ours {ours / seconds:.2f} times that")
    rebuilt = best(lambda: hourly_from_daily(made.tmin, made.tmax, made.dates, 46.1))
    print(f"hours from days: {1e3 * rebuilt:.0f} ms")
    sine = best(lambda: growing_degree_days(made.tmin, made.tmax, 5.0, 30.0))
    print(f"degree-days of {made.dates.size} days: {1e3 * sine:.1f} ms")
    days = np.arange("2026-04-01", "2026-11-17", dtype="datetime64[D]")
    futures = best(lambda: maker.futures(days, 200, np.random.default_rng(1)))
    print(f"200 futures of {days.size} days: {1e3 * futures:.0f} ms")


if __name__ == "__main__":
    main()
