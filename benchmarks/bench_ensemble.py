"""How long the season's calendar takes: clocks, draws and summary, against one shrub at a time.

Run: python benchmarks/bench_ensemble.py [shrubs]
"""

import resource
import sys
import tempfile
import time
from datetime import date
from pathlib import Path

import numpy as np

from nuttery.demo.make import make_planting
from nuttery.season.bloom import bloom
from nuttery.season.bloom_clocks import learned
from nuttery.season.bloom_draws import COURSES, season_draws
from nuttery.season.planting import open_planting
from nuttery.season.sightings import sightings
from nuttery.season.weather import futures

ON = date(2026, 4, 12)


def seconds(task):
    begin = time.perf_counter()
    result = task()
    return time.perf_counter() - begin, result


def one_at_a_time(clocks, labels, lots, temps, rng):
    """Every stage of every shrub by plain NumPy: a sum, a search and three quantiles each."""
    for clock in clocks.values():
        sums = np.cumsum(np.maximum(temps - clock.base, 0)[:, int(clock.start_doy) :], axis=1)
        for label, lot in zip(labels, lots, strict=True):
            mean, variance = clock.log_requirement(label, lot)
            heat = np.exp(mean + variance**0.5 * rng.normal(size=len(sums)))
            day = (sums < heat[:, None]).sum(axis=1) + clock.residual_sd * rng.normal(
                size=len(sums)
            )
            np.quantile(day, [0.1, 0.5, 0.9])


def main(shrubs):
    with tempfile.TemporaryDirectory() as folder:
        where = Path(folder) / "bench.db"
        make_planting(where, shrubs=shrubs, years=9)
        planting = open_planting(where, on=ON)
        read, seen = seconds(lambda: sightings(planting))
        learn, known = seconds(lambda: learned(planting, seen))
        temps = futures(planting, draws=COURSES).mean
        draw, _ = seconds(lambda: season_draws(planting))
        again, _ = seconds(lambda: bloom(open_planting(where, on=ON)))
        kept, _ = seconds(lambda: bloom(open_planting(where, on=ON)))
        rng = np.random.default_rng(1)
        labels, lots = known.label.tolist(), known.lot.tolist()
        plain, _ = seconds(lambda: one_at_a_time(known.clocks, labels, lots, temps, rng))
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{len(labels)} shrubs, {len(known.clocks)} stages, {COURSES} courses")
    print(f"read notes {read:.1f} s, learn clocks {learn:.1f} s (once a season)")
    ratio = plain / max(draw - read, 1e-9)
    print(f"draw and keep {draw - read:.2f} s, one by one {plain:.2f} s: {ratio:.1f} times")
    print(f"summary {again:.2f} s, from what was kept {kept:.3f} s; memory {memory:.0f} MB")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 400)
