"""When nuts come ripe: heat from each shrub's leaf-out on, and this season's roll-out tests."""

import hashlib
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nuttery.science.arguments import Floats, Ints
from nuttery.science.bloom import Clock, Ripening, fit_ripening, prior_ripening, ripening_habits
from nuttery.science.bloom.heat import heat_sums, reached
from nuttery.season.sightings import BLOOM_STAGES, Sightings
from nuttery.season.weather import Record, daily_means

RIPENING_DAYS = 300
"""Days of a year that ripening needs, from 1 January to late October."""
ENOUGH = 400
"""Tests from which the shared values of ripening are learned; further shrubs learn their own."""
_RUSH = 60.0
_JITTER = 0.5


@dataclass(frozen=True)
class Tests:
    """Roll-out tests of earlier seasons, ready to learn from.

    Attributes
    ----------
    label, season : (k,) genotype, and row of `temps`
    leaf : (k,) day of year of first leaves of that genotype in that season, seen or reckoned
    day, tried, rolled : (k,) day of year, nuts pressed, and of those rolled out
    temps : (seasons, RIPENING_DAYS) °C, to the end of the season as `ending` makes it
    """

    label: Ints
    season: Ints
    leaf: Floats
    day: Ints
    tried: Ints
    rolled: Ints
    temps: Floats

    @property
    def mark(self) -> str:
        """A name that changes with anything that the tests tell."""
        digest = hashlib.sha256()
        for part in vars(self).values():
            digest.update(np.ascontiguousarray(part).tobytes())
        return digest.hexdigest()


def ending(temps: Floats, latest: float) -> Floats:
    """Temperatures that bring every nut to an end soon after the latest day.

    What heat has not ripened by then comes loose with the leaf: from that day on each day counts as
    a great deal of heat. It keeps a cool summer from putting ripening off for ever.
    """
    whole = temps.copy()
    whole[:, max(round(latest) - 3, 0) :] = _RUSH
    return whole


def earlier_tests(
    seen: Sightings, known: Record, year: int, *, leaf: Clock, who: tuple[Ints, Ints], latest: float
) -> Tests:
    """Tests of the seasons before this one whose weather is on record.

    Parameters
    ----------
    seen, known : what was seen, and the weather
    year : the season to come
    leaf : clock of the first leaves
    who : (n,) genotype and (n,) seed lot of each shrub
    latest : day of year about which what heat has not ripened comes loose
    """
    years = np.array(known.whole_years(RIPENING_DAYS), dtype=np.int64)
    years = years[years < year]
    use = np.isin(seen.test_year, years) & (seen.test_day <= RIPENING_DAYS) & (seen.tried > 0)
    season = np.searchsorted(years, seen.test_year[use])
    temps = daily_means(known, years, RIPENING_DAYS)
    shrub = seen.test_shrub[use]
    logs = leaf.log_requirements(len(who[0]), *who)[:, 0]
    days = _leaf_days(leaf, logs, temps, seen, years=years)[shrub, season]
    genotype = who[0][shrub]
    return Tests(
        label=genotype,
        season=season,
        leaf=_one_each(days, genotype * len(years) + season),
        day=seen.test_day[use],
        tried=seen.tried[use],
        rolled=seen.rolled[use],
        temps=ending(temps, latest),
    )


def _one_each(days: Floats, group: Ints) -> Floats:
    """Mean day of each group, told of each of its members."""
    _, index = np.unique(group, return_inverse=True)
    means: Floats = np.bincount(index, days) / np.maximum(np.bincount(index), 1)
    return means[index].round(1)


def _leaf_days(leaf: Clock, logs: Floats, temps: Floats, seen: Sightings, *, years: Ints) -> Floats:
    """Day of first leaves of every shrub in every season: by its clock, within what was seen."""
    n, y = len(logs), len(years)
    sums = heat_sums(temps, 1, leaf.base, leaf.softness, leaf.start_doy)
    rows = np.tile(np.arange(y), n)
    days = reached(sums, rows, 1, np.repeat(logs, y), onward=True)[0].reshape(n, y)
    bounds = np.full((n, y, 2), [-np.inf, np.inf])
    there = np.isin(years, seen.years)
    column = np.searchsorted(seen.years, years[there])
    bounds[:, there] = seen.seen[:, column, BLOOM_STAGES.index("leaf_11")]
    found: Floats = np.clip(days, bounds[..., 0] + 0.5, bounds[..., 1] + 0.5)
    return found


def learn_ripening(tests: Tests) -> Ripening:
    """Ripening as earlier tests taught it; the shipped belief where there are none."""
    if not len(tests.day):
        return prior_ripening()
    labels, counts = np.unique(tests.label, return_counts=True)
    order = np.random.default_rng(12).permutation(len(labels))
    chosen = order[: int(np.searchsorted(np.cumsum(counts[order]), ENOUGH)) + 1]
    some = np.isin(tests.label, labels[chosen])
    shared = fit_ripening(
        tests.leaf[some],
        tests.temps[tests.season[some]],
        tests.day[some],
        tests.tried[some],
        tests.rolled[some],
        shrub=tests.label[some],
    )
    if some.all():
        return shared
    return ripening_habits(
        shared,
        tests.leaf,
        tests.temps,
        np.column_stack([tests.day, tests.tried, tests.rolled]),
        season=tests.season,
        shrub=tests.label,
    )


def draw_ripe(
    ripening: Ripening,
    leaf: NDArray[np.float32],
    temps: Floats,
    *,
    label: Ints,
    rng: np.random.Generator,
) -> Floats:
    """Middle day of ripening of every shrub in every course, (n, courses), infinite where none.

    Parameters
    ----------
    ripening : as learned
    leaf : (n, courses) day of first leaves
    temps : (courses, days) daily mean °C to the end of the season, 1 January first
    label : (n,) genotypes
    rng : for habit and the season's error
    """
    n, m = leaf.shape
    logs = np.array([ripening.log_requirement(int(k)) for k in label]).reshape(n, 2)
    heat = np.exp(logs[:, :1] + np.sqrt(logs[:, 1:]) * rng.normal(size=(n, m)))
    error = ripening.season_sd * rng.normal(size=(n, m))
    days = np.full((n, m), np.inf)
    comes = np.isfinite(leaf)
    first = np.where(comes, leaf, 1.0).astype(np.int64) - 1
    for f in range(m):
        total = np.concatenate([[0.0], np.cumsum(np.maximum(temps[f] - ripening.base, 0.0))])
        wanted = total[np.clip(first[:, f], 0, len(temps[f]))] + heat[:, f]
        days[:, f] = np.interp(wanted, total, np.arange(len(total)) + 0.5, right=np.inf)
    return np.where(comes, days + error, np.inf)


def held_to_tests(
    ripe: Floats, seen: Sightings, year: int, *, within_sd: float, rng: np.random.Generator
) -> Floats:
    """Draws of the middle day made to agree with this season's tests, shrub by shrub.

    Each course counts by how likely it makes what was pressed and what rolled out.
    """
    from scipy.special import log_ndtr

    found = ripe.copy()
    now = seen.test_year == year
    z = (seen.test_day[now, None] + 0.5 - ripe[seen.test_shrub[now]]) / within_sd
    rolled, stuck = seen.rolled[now, None], (seen.tried - seen.rolled)[now, None]
    z = np.clip(z, -1e3, 1e3)
    fit = rolled * log_ndtr(z) + stuck * log_ndtr(-z)
    for shrub in np.unique(seen.test_shrub[now]):
        total = fit[seen.test_shrub[now] == shrub].sum(axis=0)
        weight = np.exp(total - total.max())
        edges = np.cumsum(weight) / weight.sum()
        picked = np.searchsorted(edges, (np.arange(ripe.shape[1]) + rng.random()) / ripe.shape[1])
        mine = ripe[shrub, np.minimum(picked, ripe.shape[1] - 1)]
        found[shrub] = mine + _JITTER * rng.normal(size=mine.size)
    return found
