"""Belief about the half-dose from counts of set: a chain over all that is not known of them."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numba import njit

from nuttery.science.arguments import Floats, Ints

SPREADS = np.array([0.01, 0.02, 0.05, 0.1, 0.2, 0.3])
CHANCES = 161
"""Chances of set, evenly spaced in arcsine, at which the likelihood of each count is tabled."""
SWEEPS, LEFT_OUT = 6000, 1000
CEILING_SD = 0.15
"""Of the ceiling as believed before any count; our assumption."""
STEP = 0.4


@dataclass(frozen=True)
class SetRecords:
    """Counts of set and what cover is expected for each, by half-dose.

    Attributes
    ----------
    cover : (m, halves) expected share of stigmas met
    log_likelihood : (m, spreads, chances) of the count, at sin² of even steps from 0 to 90°
    groups : (g, m) group of each count in each grouping (shrub, lot, year), from 0 without a gap
    first, step : log of the lowest half-dose, and from each to the next
    """

    cover: Floats
    log_likelihood: Floats
    groups: Ints
    first: float
    step: float


@dataclass(frozen=True)
class SetPrior:
    """What is believed before any count.

    Attributes
    ----------
    log_half, log_half_sd : normal belief about the log of the half-dose
    ceiling : normal belief about the ceiling, ± CEILING_SD, within 0.05 to 1
    group_sd : (g,) half-normal scales of what the groups of each grouping add to the log of the
        dose
    """

    log_half: float
    log_half_sd: float
    ceiling: float
    group_sd: Floats


def set_chain(
    told: SetRecords, prior: SetPrior, rng: np.random.Generator, sweeps: int = SWEEPS
) -> Floats:
    """Draws of log half-dose, ceiling and spread.

    Parameters
    ----------
    told : counts
    prior : belief before them
    rng : source of randomness
    sweeps : kept passes over all unknowns

    Returns
    -------
    (sweeps, 3), one row a pass, neighbours alike

    Notes
    -----
    Source: Metropolis within Gibbs (Tierney 1994, Ann. Stat. 22:1701–1728). Unknown are the
        half-dose, the ceiling, the spread, how much of the differences of expected cover between
        counts is real (0 to 1, each as likely), what each group adds to the log of the dose, and
        the scale of that for each grouping.
    Valid:  covers expected without looking at these counts.
    """
    order = np.argsort(told.groups, axis=1, kind="stable")
    most = int(told.groups.max()) + 2
    ends = [
        np.searchsorted(row[by], np.arange(most))
        for row, by in zip(told.groups, order, strict=True)
    ]
    given = _Given(
        told.cover,
        told.cover.mean(axis=0),
        told.log_likelihood,
        told.groups,
        order,
        np.stack(ends),
        told.groups.max(axis=1) + 1,
        np.array([told.first, told.step]),
        np.array([prior.log_half, prior.log_half_sd, prior.ceiling, CEILING_SD]),
    )
    kept: Floats = _chain(given, prior.group_sd, SPREADS, sweeps, rng)
    return kept


class _Given(NamedTuple):
    """What the chain never changes; `starts` tells where each group begins in `order`."""

    cover: Floats
    usual: Floats
    tables: Floats
    groups: Ints
    order: Ints
    starts: Ints
    sizes: Ints
    grid: Floats
    beliefs: Floats


class _Now(NamedTuple):
    """Where the chain stands: half-dose, ceiling and real part; spread; what each group adds.

    `lift` is the sum of what its groups add, for each count.
    """

    main: Floats
    spread: Ints
    scales: Floats
    adds: Floats
    lift: Floats
    told: Floats
    tried: Floats


@njit(cache=True)
def _one(given: _Given, k: int, lift: float, main: Floats, spread: int) -> float:
    """Log-likelihood of count k whose dose is lifted by so much."""
    cover, usual, table = given.cover[k], given.usual, given.tables[k, spread]
    halves, steps = len(cover), len(table) - 1
    place = (main[0] - lift - given.grid[0]) / given.grid[1]
    place = min(max(place, 0.0), halves - 1.000001)
    low = int(place)
    part, real = place - low, main[2]
    own = (1 - part) * cover[low] + part * cover[low + 1]
    share = main[1] * (real * own + (1 - real) * ((1 - part) * usual[low] + part * usual[low + 1]))
    angle = np.arcsin(np.sqrt(min(max(share, 1e-6), 1 - 1e-6))) * (2 / np.pi) * steps
    below = min(int(angle), steps - 1)
    told: float = table[below] + (angle - below) * (table[below + 1] - table[below])
    return told


@njit(cache=True)
def _move_groups(given: _Given, now: _Now, by: int, rng: np.random.Generator) -> None:
    """Try for each group of a grouping to add something else to its doses."""
    scale, spread = now.scales[by], now.spread[0]
    for g in range(given.sizes[by]):
        rows = given.order[by, given.starts[by, g] : given.starts[by, g + 1]]
        step = scale * rng.standard_normal()
        adds = now.adds[by, g] + step
        gain = 0.5 * (now.adds[by, g] ** 2 - adds**2) / scale**2
        for k in rows:
            now.tried[k] = _one(given, k, now.lift[k] + step, now.main, spread)
            gain += now.tried[k] - now.told[k]
        if np.log(rng.random()) < gain:
            now.adds[by, g] = adds
            now.lift[rows] += step
            now.told[rows] = now.tried[rows]


@njit(cache=True)
def _believed(main: Floats, beliefs: Floats) -> float:
    if not (0.05 <= main[1] <= 1.0 and 0.0 <= main[2] <= 1.0):
        return -np.inf
    half, ceiling = (main[0] - beliefs[0]) / beliefs[1], (main[1] - beliefs[2]) / beliefs[3]
    log: float = -0.5 * (half * half + ceiling * ceiling)
    return log


@njit(cache=True)
def _move_main(
    given: _Given, now: _Now, main: Floats, spread: int, rng: np.random.Generator
) -> None:
    """Try another half-dose, ceiling, real part or spread for all counts."""
    gain = _believed(main, given.beliefs) - _believed(now.main, given.beliefs)
    if gain == -np.inf:
        return
    for k in range(len(now.told)):
        now.tried[k] = _one(given, k, now.lift[k], main, spread)
        gain += now.tried[k] - now.told[k]
    if np.log(rng.random()) < gain:
        now.main[:], now.told[:] = main, now.tried
        now.spread[0] = spread


@njit(cache=True)
def _slide(given: _Given, now: _Now, by: int, rng: np.random.Generator) -> None:
    """Move half-dose and all groups of a grouping together, which changes no likelihood."""
    step, count = STEP * rng.standard_normal(), given.sizes[by]
    main, adds = now.main + np.array([step, 0.0, 0.0]), now.adds[by, :count] + step
    gain = _believed(main, given.beliefs) - _believed(now.main, given.beliefs)
    gain += 0.5 * (np.sum(now.adds[by, :count] ** 2) - np.sum(adds**2)) / now.scales[by] ** 2
    if np.log(rng.random()) < gain:
        now.main[:], now.adds[by, :count] = main, adds
        now.lift[:] += step


@njit(cache=True)
def _new_scale(scale: float, adds: Floats, most: float, rng: np.random.Generator) -> float:
    """Next scale of normal effects under a half-normal belief, by a step of its logarithm."""
    tried = scale * np.exp(0.5 * rng.standard_normal())
    squares, count = np.sum(adds * adds), len(adds)
    before = -count * np.log(scale) - 0.5 * squares / scale**2 - 0.5 * (scale / most) ** 2
    after = -count * np.log(tried) - 0.5 * squares / tried**2 - 0.5 * (tried / most) ** 2
    return tried if np.log(rng.random()) < after - before + np.log(tried / scale) else scale


@njit(cache=True)
def _chain(
    given: _Given, most: Floats, spreads: Floats, sweeps: int, rng: np.random.Generator
) -> Floats:
    """Kept passes of log half-dose, ceiling and spread."""
    m = given.groups.shape[1]
    main, spread = np.array([given.beliefs[0], given.beliefs[2], 0.5]), np.array([2])
    adds = np.zeros((len(most), given.starts.shape[1]))
    now = _Now(main, spread, 0.5 * most, adds, np.zeros(m), np.full(m, -np.inf), np.empty(m))
    kept = np.empty((sweeps, 3))
    for sweep in range(-LEFT_OUT, sweeps):
        for move in range(4):
            size = STEP * 10.0 ** (-rng.random())
            by = np.array([3.0 * (move != 1), 0.5 * (move % 3 != 0), 1.0 * (move > 1)]) * size
            tried = now.main + by * rng.standard_normal(3)
            _move_main(given, now, tried, now.spread[0], rng)
        other = now.spread[0] + (1 if rng.random() < 0.5 else -1)
        if 0 <= other < len(spreads):
            _move_main(given, now, now.main.copy(), other, rng)
        for grouping in range(len(most)):
            _move_groups(given, now, grouping, rng)
            _slide(given, now, grouping, rng)
            effects = now.adds[grouping, : given.sizes[grouping]]
            now.scales[grouping] = _new_scale(now.scales[grouping], effects, most[grouping], rng)
        if sweep >= 0:
            kept[sweep] = now.main[0], now.main[1], spreads[now.spread[0]]
    return kept
