"""When nuts come ripe: heat from leaf-out to roll-out, shrub by shrub."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike

from nuttery.reference import value
from nuttery.science.arguments import Bools, Floats, float_array
from nuttery.science.bloom.clock import Dates, labels_of, season_table
from nuttery.science.bloom.heat import GAUSS, mixed_quantile, reached
from nuttery.science.errors import BadArgumentError

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
        start = one_each("leaf_out", leaf_out, len(temps))
        labels = labels_of("shrub", shrub, len(temps))
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


def one_each(
    name: str, values: ArrayLike, n: int, *, low: float = -np.inf, high: float = np.inf
) -> Floats:
    """A column with one number for each of `n` records.

    Raises
    ------
    BadArgumentError
        For a gap, a number outside low to high, or another length.
    """
    column = float_array(name, values, ndim=1, low=low, high=high)
    if len(column) != n:
        raise BadArgumentError(f"{name}: found length {len(column)}, expected {n} as season_temps")
    return column
