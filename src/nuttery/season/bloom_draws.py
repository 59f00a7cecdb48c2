"""Draws of the days on which stages come: a shrub's own habit, the weather's course, the eye."""

import itertools

import numpy as np

from nuttery.science.arguments import Floats, Ints
from nuttery.science.bloom import Clock
from nuttery.science.bloom.heat import heat_sums, reached
from nuttery.season.sightings import Sightings

FEWEST = 12
"""Draws that must agree with this year's looks to be taken as they are."""
_BLOCK = 256


def draw_days(
    clock: Clock, temps: Floats, lots: Ints, luck: Floats, rng: np.random.Generator
) -> Floats:
    """Days of year on which a stage comes, (n shrubs, m courses); infinite where it does not.

    Parameters
    ----------
    clock : of the stage
    temps : (m, n_days) daily mean of each course, °C, 1 January first
    lots : (n,) seed lot of each shrub
    luck : (n, m) standard normal draws of where a shrub stands within its own doubt; stages of one
        organ share them
    rng : for the error of a date
    """
    n, m = luck.shape
    logs = clock.log_requirements(n, np.arange(n), lots)
    heat = logs[:, :1] + np.sqrt(logs[:, 1:]) * luck
    sums = heat_sums(temps, 1, clock.base, clock.softness, clock.start_doy)
    course = np.tile(np.arange(m), n)
    days = reached(sums, course, 1, heat.ravel())[0].reshape(n, m)
    return np.where(np.isnan(days), np.inf, days + clock.residual_sd * rng.normal(size=(n, m)))


def condition(days: Floats, seen: Sightings, rng: np.random.Generator) -> Floats:
    """Draws made to agree with what was seen this year, shrub by shrub.

    Draws that agree stand for those that do not; where too few agree, the days are put between the
    last look at which it was not yet so and the first at which it was.
    """
    found = days.copy()
    for shrub, (low, high) in zip(seen.shrub.tolist(), seen.seen, strict=True):
        mine = days[shrub]
        fit = np.flatnonzero((mine > low + 0.5) & (mine <= high + 0.5))
        if fit.size >= FEWEST:
            found[shrub] = mine[rng.choice(fit, size=mine.size)]
        elif np.isfinite(low) and np.isfinite(high):
            found[shrub] = rng.uniform(low + 0.5, high + 0.5, size=mine.size)
        elif np.isfinite(low):
            found[shrub] = np.maximum(mine, low + 0.5 + rng.exponential(3.0, size=mine.size))
        else:
            found[shrub] = np.minimum(mine, high + 0.5 - rng.exponential(3.0, size=mine.size))
    return found


def between(before: Floats, after: Floats, share: float) -> Floats:
    """Days that lie a share of the way from one stage to another, draw by draw."""
    days: Floats = before + share * np.maximum(after - before, 0)
    return np.where(np.isfinite(after), days, np.inf)


def in_order(days: dict[str, Floats], chain: tuple[str, ...]) -> None:
    """Put the stages of one organ in their order, draw by draw: none before the one before it."""
    for before, after in itertools.pairwise(chain):
        days[after] = np.maximum(days[after], days[before])


def curves(days: dict[str, Floats], span: Floats) -> tuple[Floats, Floats]:
    """Expected pollen shed and chance of open stigmas, each (n, len(span)).

    Shed rises from first pollen to half shedding and falls to the end, as a triangle of height 1.
    """
    n = len(days["catkin_60"])
    shed, receptive = np.zeros((n, span.size)), np.zeros((n, span.size))
    for first in range(0, n, _BLOCK):
        part = slice(first, first + _BLOCK)
        start, peak, end = (days[f"catkin_{k}"][part, :, None] for k in (60, 65, 69))
        with np.errstate(invalid="ignore"):
            rise = (span - start + 1) / np.maximum(peak - start + 1, 1)
            fall = (end - span) / np.maximum(end - peak, 1)
            flying = np.clip(np.minimum(rise, fall), 0, 1)
        shed[part] = np.nan_to_num(flying).mean(axis=1)
        out, withered = (days[f"pistillate_{k}"][part, :, None] for k in ("out", "withered"))
        receptive[part] = ((span >= out) & (span < withered)).mean(axis=1)
    return shed, receptive
