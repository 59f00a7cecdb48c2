"""Ripening learned from roll-out tests: of so many nuts tried, so many rolled out of the husk."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from nuttery.science.arguments import Floats, Ints, refuse_where
from nuttery.science.bloom.clock import labels_of, season_table
from nuttery.science.bloom.heat import reached
from nuttery.science.bloom.ripening import Ripening, one_each, prior_ripening, sums_from
from nuttery.science.errors import BadArgumentError

_REACH = np.arange(-45.0, 46.0)  # days about a test on which the nuts' middle day is considered
_HABITS = np.linspace(-3.2, 3.2, 33)  # points of a shrub's habit, in standard deviations
_PRIOR = np.exp(-0.5 * _HABITS**2) / np.exp(-0.5 * _HABITS**2).sum()


@dataclass(frozen=True)
class _Tests:
    """Roll-out tests, grouped: one group is one shrub in one season."""

    sums: Floats  # (n_groups, n_days)
    first_doy: int
    group: Ints
    shrub: Ints  # (n_groups,)
    day: Floats
    tried: Floats
    rolled: Floats
    middle: Floats  # (n_groups,) day about which the group's tests lie


def fit_ripening(
    leaf_out: ArrayLike,
    season_temps: ArrayLike,
    tested: ArrayLike,
    tried: ArrayLike,
    rolled: ArrayLike,
    *,
    shrub: ArrayLike,
    first_doy: int = 1,
    prior: Ripening | None = None,
) -> Ripening:
    """Ripening learned from roll-out tests: of so many nuts tried, so many rolled out of the husk.

    Parameters
    ----------
    leaf_out : (n,) float, day of year of leaf stage 11 of that shrub in that season
    season_temps : (n, n_days) float, daily mean °C of each test's season
    tested : (n,) day of year of the test
    tried : (n,) int, nuts tried at different places
    rolled : (n,) int, of those, nuts that rolled out
    shrub : (n,) int labels
    first_doy : day of year of column 0
    prior : Ripening, what was believed before; the shipped one by default

    Returns
    -------
    Ripening

    Raises
    ------
    BadArgumentError
        For gaps, wrong shapes, more rolled than tried, days outside those given, or no tests.

    Notes
    -----
    Source: probit model of single nuts about their shrub's middle day of the season, that day
            normal about the one on which the shrub's log-normal requirement is reached; both
            integrated on grids (1 day; 0.2 standard deviations); posterior mode of the four
            spreads and levels by the simplex method.
    Valid:  from one test on; with few the prior speaks.
    Limits: the base is the prior's; tests of one shrub and season share one error.

    Examples
    --------
    >>> warm = np.full((3, 300), 20.0)
    >>> fit = fit_ripening([130] * 3, warm, [225, 229, 233], [4, 4, 4], [0, 2, 4], shrub=[1, 1, 1])
    >>> fit.predict(np.array([130.0]), warm[:1], [1]).median.round(0)
    array([230.])
    """
    belief = prior or prior_ripening()
    tests, labels = _tests(
        season_table(season_temps),
        (leaf_out, tested, tried, rolled),
        shrub=shrub,
        base=belief.base,
        first_doy=first_doy,
    )
    theta = _search(tests, belief)
    level, spread, season_sd, within_sd = _unpacked(theta, belief)
    found = Ripening(
        base=belief.base,
        requirement=float(np.exp(level)),
        spread=spread,
        season_sd=season_sd,
        within_sd=within_sd,
        level_sd=_level_sd(tests, belief, theta),
        n_tests=len(tests.day),
    )
    return replace(found, shrubs=_posterior(found, tests, labels))


def _posterior(
    ripening: Ripening, tests: _Tests, labels: list[int]
) -> dict[int, tuple[float, float]]:
    """Mean and variance of the logarithm of each shrub's requirement."""
    level, spread = float(np.log(ripening.requirement)), ripening.spread
    own = _habits(tests, level, spread, ripening.season_sd, ripening.within_sd)
    return {
        label: (level + spread * mean, spread**2 * variance + ripening.level_sd**2)
        for label, mean, variance in zip(labels, *_moments(own), strict=True)
    }


def habits_from_tests(
    ripening: Ripening,
    columns: Sequence[ArrayLike],
    season_temps: ArrayLike,
    *,
    shrub: ArrayLike,
    first_doy: int = 1,
) -> dict[int, tuple[float, float]]:
    """Mean and variance of the logarithm of each shrub's requirement, the shared values held.

    Parameters
    ----------
    ripening : shared values
    columns : leaf-out, day of the test, nuts tried, nuts rolled out, each (n,)
    season_temps : (n, n_days) float, daily mean °C of each test's season
    shrub : (n,) int labels
    first_doy : day of year of column 0

    Returns
    -------
    label → mean, variance

    Notes
    -----
    Source: as `fit_ripening`.
    Valid:  as `fit_ripening`.
    """
    leaf_out, tested, tried, rolled = columns
    tests, labels = _tests(
        season_table(season_temps),
        (leaf_out, tested, tried, rolled),
        shrub=shrub,
        base=ripening.base,
        first_doy=first_doy,
    )
    return _posterior(ripening, tests, labels)


def _tests(
    temps: Floats,
    columns: tuple[ArrayLike, ArrayLike, ArrayLike, ArrayLike],
    *,
    shrub: ArrayLike,
    base: float,
    first_doy: int,
) -> tuple[_Tests, list[int]]:
    """Checked tests, grouped, and the labels of the shrubs."""
    leaf_out, tested, tried, rolled = columns
    n, last = len(temps), first_doy + temps.shape[1] - 1
    if not n:
        raise BadArgumentError("season_temps: found 0 tests, expected at least one")
    start = one_each("leaf_out", leaf_out, n)
    day = one_each("tested", tested, n, low=first_doy, high=last)
    nuts = one_each("tried", tried, n, low=1)
    loose = one_each("rolled", rolled, n, low=0)
    refuse_where("rolled", loose, loose > nuts, "at most as many as were tried")
    names = labels_of("shrub", shrub, n)
    keys = [(name, row.tobytes()) for name, row in zip(names, temps, strict=True)]
    place: dict[tuple[int | None, bytes], int] = {}
    group = np.array([place.setdefault(key, len(place)) for key in keys])
    _, first = np.unique(group, return_index=True)
    differs = start != start[first][group]
    refuse_where("leaf_out", start, differs, "one day for all tests of a shrub in a season")
    labels, owner = np.unique(np.array(names)[first], return_inverse=True)
    sums = sums_from(temps[first], start[first], base=base, first_doy=first_doy)
    middle = np.round(np.bincount(group, day) / np.bincount(group))
    found = _Tests(sums, first_doy, group, owner.astype(np.int64), day, nuts, loose, middle)
    return found, [int(label) for label in labels]


def _unpacked(theta: Floats, belief: Ripening) -> tuple[float, float, float, float]:
    spread, season_sd, within_sd = np.exp(np.clip(theta[1:], -7, 4))
    level = float(np.log(belief.requirement) + theta[0])
    return level, float(spread), max(float(season_sd), 0.3), max(float(within_sd), 0.3)


def _middle_days(tests: _Tests, season_sd: float, within_sd: float) -> Floats:
    """Log-likelihood of each group's tests by expected middle day, (n_groups, n_reach)."""
    from scipy.special import log_ndtr

    actual = tests.middle[tests.group][:, None] + _REACH
    z = (tests.day[:, None] + 0.5 - actual) / within_sd
    fit = tests.rolled[:, None] * log_ndtr(z) + (tests.tried - tests.rolled)[:, None] * log_ndtr(-z)
    grouped = np.zeros((len(tests.middle), len(_REACH)))
    np.add.at(grouped, tests.group, fit)
    top = grouped.max(axis=1, keepdims=True)
    wander = np.exp(-0.5 * ((_REACH[:, None] - _REACH) / season_sd) ** 2)
    wander /= np.sqrt(2 * np.pi) * season_sd
    spread = np.exp(grouped - top) @ wander
    by_day: Floats = np.log(np.maximum(spread, 1e-300)) + top
    return by_day


def _habits(
    tests: _Tests, level: float, spread: float, season_sd: float, within_sd: float
) -> Floats:
    """Log of likelihood times prior at the points of each shrub's habit, (n_shrubs, n_points)."""
    by_day = _middle_days(tests, season_sd, within_sd)
    rows = np.arange(len(tests.middle))
    joint = np.tile(np.log(_PRIOR), (tests.shrub.max() + 1, 1))
    for p, z in enumerate(_HABITS):
        heat = np.full(len(rows), level + spread * z)
        day = reached(tests.sums, rows, tests.first_doy, heat, onward=True)[0]
        place = np.clip(day - tests.middle - _REACH[0], 0, len(_REACH) - 1.001)
        k = place.astype(np.int64)
        fit = by_day[rows, k] + (place - k) * (by_day[rows, k + 1] - by_day[rows, k])
        joint[:, p] += np.bincount(tests.shrub, fit)
    return joint


def _moments(joint: Floats) -> tuple[Floats, Floats]:
    weight = np.exp(joint - joint.max(axis=1, keepdims=True))
    weight /= weight.sum(axis=1, keepdims=True)
    mean: Floats = weight @ _HABITS
    variance: Floats = weight @ _HABITS**2 - mean**2
    return mean, variance


def _cost(theta: Floats, tests: _Tests, belief: Ripening) -> float:
    """Minus the logarithm of marginal likelihood times prior."""
    from scipy.special import logsumexp

    joint = _habits(tests, *_unpacked(theta, belief))
    known = np.log([belief.spread, belief.season_sd, belief.within_sd])
    away = np.concatenate([[theta[0] / max(belief.level_sd, 0.01)], (theta[1:] - known) / 0.5])
    return float(0.5 * away @ away - logsumexp(joint, axis=1).sum())


def _search(tests: _Tests, belief: Ripening) -> Floats:
    from scipy.optimize import minimize

    first = np.array([0.0, *np.log([belief.spread, belief.season_sd, belief.within_sd])])
    corners = first + np.vstack([np.zeros(4), np.diag([0.1, 0.3, 0.3, 0.3])])
    done = minimize(
        _cost,
        first,
        args=(tests, belief),
        method="Nelder-Mead",
        options={"initial_simplex": corners, "xatol": 0.005, "fatol": 0.01, "maxfev": 250},
    )
    return np.asarray(done.x, dtype=np.float64)


def _level_sd(tests: _Tests, belief: Ripening, theta: Floats) -> float:
    """Standard deviation of the planting's level, from the curvature of the cost."""
    step = np.array([0.02, 0.0, 0.0, 0.0])
    sides = _cost(theta + step, tests, belief) + _cost(theta - step, tests, belief)
    curvature = (sides - 2 * _cost(theta, tests, belief)) / step[0] ** 2
    return float(1 / np.sqrt(max(curvature, 1 / max(belief.level_sd, 0.01) ** 2)))
