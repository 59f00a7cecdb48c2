"""When nuts come ripe: heat from leaf-out to roll-out, learned from each shrub's roll-out tests."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import ArrayLike

from nuttery.reference import value
from nuttery.science.arguments import Bools, Floats, Ints, float_array, int_array, refuse_where
from nuttery.science.bloom.clock import Dates, season_table
from nuttery.science.bloom.heat import GAUSS, mixed_quantile, reached
from nuttery.science.errors import BadArgumentError

_REACH = np.arange(-45.0, 46.0)  # days about a test on which the nuts' middle day is considered
_HABITS = np.linspace(-3.2, 3.2, 33)  # points of a shrub's habit, in standard deviations
_PRIOR = np.exp(-0.5 * _HABITS**2) / np.exp(-0.5 * _HABITS**2).sum()
_POINTS, _WEIGHTS = np.polynomial.hermite_e.hermegauss(7)
_WEIGHTS = _WEIGHTS / _WEIGHTS.sum()


@dataclass(frozen=True)
class Ripening:
    """Heat from leaf-out to the middle of a shrub's ripening, and how nuts spread about it.

    Attributes
    ----------
    base : °C
    requirement : degree-days from leaf-out, median over shrubs
    spread : standard deviation of its logarithm over shrubs: the spread within a planting
    season_sd : days, error of one shrub in one season (drought, a cool summer, crop load)
    within_sd : days, standard deviation of single nuts about their shrub's middle day
    level_sd : how unsure the planting's own logarithm is
    n_tests : roll-out tests that it rests on
    is_prior : True while no test has been taken into account
    shrubs : label → (mean, variance) of the logarithm

    Examples
    --------
    >>> ripening = prior_ripening()
    >>> warm = np.full((1, 300), 20.0)
    >>> ripening.predict(np.array([130.0]), warm).median.round(0)
    array([234.])
    """

    base: float
    requirement: float
    spread: float
    season_sd: float
    within_sd: float
    level_sd: float
    n_tests: int
    is_prior: bool = False
    shrubs: Mapping[int, tuple[float, float]] = field(default_factory=dict, repr=False)

    def log_requirement(self, label: int | None = None) -> tuple[float, float]:
        """Mean and variance of the logarithm of a shrub's requirement, or the planting's.

        Parameters
        ----------
        label : the shrub, or None for any shrub of the planting

        Notes
        -----
        Source: posterior of a random-intercept model.
        Valid:  any label; one never seen gets the planting's spread.
        """
        if label is not None and label in self.shrubs:
            return self.shrubs[label]
        return float(np.log(self.requirement)), self.spread**2 + self.level_sd**2

    def predict(
        self,
        leaf_out: ArrayLike,
        season_temps: ArrayLike,
        shrub: ArrayLike | None = None,
        *,
        first_doy: int = 1,
        coverage: float = 0.8,
        share: float = 0.5,
    ) -> Dates:
        """Day on which a share of a shrub's nuts roll out, with an interval.

        Parameters
        ----------
        leaf_out : (m,) float, day of year of leaf stage 11
        season_temps : (m, n_days) float, daily mean °C
        shrub : (m,) int labels, or None for any shrub of the planting
        first_doy : day of year of column 0
        coverage : share of seasons that the interval should hold
        share : 0 to 1; 0.1 for the first roll-out, 0.5 for the main one

        Returns
        -------
        Dates
            `(m,)` each; NaN where the days given do not reach it.

        Raises
        ------
        BadArgumentError
            For gaps, wrong shapes, or a coverage or share outside 0 to 1.

        Notes
        -----
        Source: the shrub's log-normal requirement carried through the heat sum at 7 points, each
                with the season's error; single nuts normal about the middle day.
        Valid:  as far as the days given.
        """
        from scipy.special import ndtri

        temps = season_table(season_temps)
        for name, number in (("coverage", coverage), ("share", share)):
            if not 0 < number < 1:
                raise BadArgumentError(f"{name}: found {number}, expected between 0 and 1")
        start = _one_each("leaf_out", leaf_out, len(temps))
        labels = [None] * len(temps) if shrub is None else _labels(shrub, len(temps))
        logs = np.array([self.log_requirement(label) for label in labels]).reshape(-1, 2)
        sums = sums_from(temps, start, base=self.base, first_doy=first_doy)
        rows = np.arange(len(temps))
        levels = [logs[:, 0] + z * np.sqrt(logs[:, 1]) for z in _POINTS]
        days = [reached(sums, rows, first_doy, level, onward=True)[0] for level in levels]
        shifted = np.column_stack(days) + self.within_sd * float(ndtri(share))
        scales = np.full(len(_POINTS), self.season_sd)
        last = first_doy + temps.shape[1] - 0.5

        def quantile(part: float) -> Floats:
            day = mixed_quantile(shifted, scales, _WEIGHTS, GAUSS, part)
            return np.where(day > last, np.nan, day)

        return Dates(quantile(0.5), quantile(0.5 - coverage / 2), quantile(0.5 + coverage / 2))


def prior_ripening() -> Ripening:
    """The shipped belief about ripening, wide, resting on no tests.

    Returns
    -------
    Ripening

    Notes
    -----
    Source: `reference/phenology.toml`, `ripening.*`; most values are inferred.
    Valid:  hybrid hazels in a cold climate; not a measured calibration.

    Examples
    --------
    >>> prior_ripening().requirement, prior_ripening().is_prior
    (1050.0, True)
    """
    heat = value("ripening.heat_from_leaf")
    level_sd = float(np.log((heat.high or heat.value) / (heat.low or heat.value)) / 2.563)
    return Ripening(
        base=value("ripening.base").value,
        requirement=heat.value,
        spread=value("ripening.shrub_spread").value,
        season_sd=value("ripening.residual_sd").value,
        within_sd=value("ripening.within_sd").value,
        level_sd=level_sd,
        n_tests=0,
        is_prior=True,
    )


def sums_from(temps: Floats, start: Floats, *, base: float, first_doy: int) -> Floats:
    """Running degree-days above a base, each season from its own start day.

    Parameters
    ----------
    temps : (n, n_days) float, daily mean °C
    start : (n,) float, day of year from whose beginning heat counts
    base : °C
    first_doy : day of year of column 0

    Returns
    -------
    (n, n_days) float, degree-days to the end of each day

    Notes
    -----
    Source: definition.
    Valid:  any temperature.

    Examples
    --------
    >>> temps = np.full((2, 3), 15.0)
    >>> sums_from(temps, np.array([1.0, 2.0]), base=10.0, first_doy=1)
    array([[ 5., 10., 15.],
           [ 0.,  5., 10.]])
    """
    days = first_doy + np.arange(temps.shape[1])
    counted: Bools = days >= np.floor(start)[:, None]
    return np.cumsum(np.maximum(temps - base, 0.0) * counted, axis=1)


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
    start = _one_each("leaf_out", leaf_out, n)
    day = _one_each("tested", tested, n, low=first_doy, high=last)
    nuts = _one_each("tried", tried, n, low=1)
    loose = _one_each("rolled", rolled, n, low=0)
    refuse_where("rolled", loose, loose > nuts, "at most as many as were tried")
    names = _labels(shrub, n)
    keys = [(name, row.tobytes()) for name, row in zip(names, temps, strict=True)]
    place: dict[tuple[int, bytes], int] = {}
    group = np.array([place.setdefault(key, len(place)) for key in keys])
    _, first = np.unique(group, return_index=True)
    differs = start != start[first][group]
    refuse_where("leaf_out", start, differs, "one day for all tests of a shrub in a season")
    labels, owner = np.unique(np.array(names)[first], return_inverse=True)
    sums = sums_from(temps[first], start[first], base=base, first_doy=first_doy)
    middle = np.round(np.bincount(group, day) / np.bincount(group))
    found = _Tests(sums, first_doy, group, owner.astype(np.int64), day, nuts, loose, middle)
    return found, [int(label) for label in labels]


def _one_each(
    name: str, values: ArrayLike, n: int, *, low: float = -np.inf, high: float = np.inf
) -> Floats:
    column = float_array(name, values, ndim=1, low=low, high=high)
    if len(column) != n:
        raise BadArgumentError(f"{name}: found length {len(column)}, expected {n} as season_temps")
    return column


def _labels(shrub: ArrayLike, n: int) -> list[int]:
    column = int_array("shrub", shrub, ndim=1)
    if len(column) != n:
        raise BadArgumentError(f"shrub: found length {len(column)}, expected {n} as season_temps")
    return [int(label) for label in column]


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
