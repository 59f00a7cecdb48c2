"""What canes of each age bear, learned from yearly counts and pickings."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike
from scipy import linalg, optimize, special

from nuttery.reference import value
from nuttery.science.arguments import Floats, Ints, float_array, int_array, same_length
from nuttery.science.canes.crop_effects import CropEffects
from nuttery.science.errors import BadArgumentError

COVERAGE = 0.8
ROUNDS = 4  # the effects scale what is fitted, so both are fitted in turn


@dataclass(frozen=True)
class Bearing:
    """Crop of a kept cane by age, and how sure it is.

    Attributes
    ----------
    mean, low, high : (A,) float, kg; low and high bound the middle 80 %
    n_records : int, yearly records it rests on; 0 for an assumption
    prior, information : (A, A) float, kg⁻², precision before the records and by the records
    year_variance : float, variance of the years' factors about their mean
    winters : int, seasons in the records
    assumed : bool, whether no record speaks yet
    """

    mean: Floats
    low: Floats
    high: Floats
    n_records: int
    prior: Floats
    information: Floats
    year_variance: float
    winters: int
    assumed: bool

    def covariance(self, seasons: float = 1.0) -> Floats:
        """Covariance of the curve, were there `seasons` times as many records.

        Parameters
        ----------
        seasons : float, records beside those there are, as a multiple; 1 for those there are

        Returns
        -------
        (A, A) float, kg²

        Notes
        -----
        Source: normal posterior, precision of the prior plus that of the records; the mean of the
                years' factors adds its own variance, shared by all ages.
        Valid:  records to come that tell as much as the past ones.

        Examples
        --------
        >>> known_bearing([0, 0, 1.5]).covariance().shape
        (3, 3)
        """
        curve: Floats = linalg.inv(self.prior + seasons * self.information)
        if not self.winters:
            return curve
        return curve + np.outer(self.mean, self.mean) * self.of_years(seasons)

    def of_years(self, seasons: float = 1.0) -> float:
        """Variance of the mean of the years' factors, were there `seasons` times as many.

        Parameters
        ----------
        seasons : float, winters beside those there are, as a multiple

        Returns
        -------
        float, without unit

        Notes
        -----
        Source: variance of a mean, widened as Student's quantile is against the normal's: few
                years tell poorly how much years differ (Student 1908, Biometrika 6:1).
        Valid:  years that differ at random.

        Examples
        --------
        >>> known_bearing([0, 0, 1.5]).of_years()
        0.0
        """
        count = self.winters * seasons
        if count <= 1:
            return 0.0
        middle = 0.5 + COVERAGE / 2
        wider = float(special.stdtrit(count - 1, middle) / special.ndtri(middle))
        return wider**2 * self.year_variance / count

    def draw(self, rng: np.random.Generator, draws: int) -> Floats:
        """Curves as likely as the records make them.

        Parameters
        ----------
        rng : numpy Generator
        draws : int

        Returns
        -------
        (draws, A) float, kg, none negative

        Notes
        -----
        Source: an assumption is off by one log-normal factor at all ages; what records tell is
                drawn from the normal posterior, age by age, and cut off at zero.
        Valid:  a curve well above zero; near it the cut-off lifts the mean a little.

        Examples
        --------
        >>> known_bearing([0, 0, 1.5]).draw(np.random.default_rng(1), 2).round(3)
        array([[0. , 0. , 1.5],
               [0. , 0. , 1.5]])
        """
        if self.assumed:
            spread = 2 * special.ndtri(0.5 + COVERAGE / 2)
            peak = int(self.mean.argmax())
            sd = np.log(self.high[peak] / self.low[peak]) / spread
            factors: Floats = np.exp(sd * rng.standard_normal(draws))
            return factors[:, None] * self.mean
        root = linalg.cholesky(self.covariance(), lower=True)
        curves: Floats = self.mean + rng.standard_normal((draws, len(self.mean))) @ root.T
        return np.maximum(0.0, curves)

    def winters_to_halve(self) -> int | None:
        """More winters of counts and pickings that would halve the width of the interval.

        Returns
        -------
        int, or None before the first record, and where no number of winters up to 40 times the
        past ones would do

        Notes
        -----
        Source: the information of the past winters repeated; inferred.
        Valid:  winters to come that tell as much as the past ones did on average.

        Examples
        --------
        >>> print(assumed_bearing(10).winters_to_halve())
        None
        """
        if not self.winters:
            return None
        goal = np.sqrt(np.diag(self.covariance())).mean() / 2
        for more in range(1, 40 * self.winters):
            wide = np.sqrt(np.diag(self.covariance(1 + more / self.winters))).mean()
            if wide <= goal:
                return more
        return None


def known_bearing(curve: ArrayLike) -> Bearing:
    """A curve taken as it is, without doubt: for what-ifs and tests.

    Parameters
    ----------
    curve : (A,) float, kg a cane by age

    Returns
    -------
    Bearing

    Raises
    ------
    BadArgumentError
        With the argument, the index, the value found and what was expected.

    Notes
    -----
    Source: the caller.
    Valid:  any curve without negative values.

    Examples
    --------
    >>> known_bearing([0, 0, 1.5]).high
    array([0. , 0. , 1.5])
    """
    mean = float_array("curve", curve, ndim=1, low=0.0)
    sure = np.diag(np.full(len(mean), 1e18))
    nothing = np.zeros((len(mean), len(mean)))
    return Bearing(mean, mean, mean, 0, sure, nothing, 0.0, 0, assumed=False)


def assumed_bearing(ages: int) -> Bearing:
    """Common practice's curve of crop by cane age, to use until the records speak.

    Parameters
    ----------
    ages : int, number of ages, A

    Returns
    -------
    Bearing with `assumed` true: a rise from the first bearing age to the peak, a decline to ten
    and on

    Raises
    ------
    BadArgumentError
        If fewer than 3 ages are asked for.

    Notes
    -----
    Source: `canes.bearing.*` in the reference room; common practice and assumptions.
    Valid:  a label to be shown beside every number that rests on it.

    Examples
    --------
    >>> assumed_bearing(10).mean.round(2)
    array([0.  , 0.  , 0.  , 0.06, 0.12, 0.14, 0.12, 0.1 , 0.08, 0.06])
    """
    count = int(int_array("ages", ages, ndim=0, low=3))
    best = value("canes.bearing.best")
    first, peak = value("canes.bearing.first").value, value("canes.bearing.peak").value
    at_ten = value("canes.bearing.at_ten").value
    age = np.arange(count, dtype=np.float64)
    shape = np.interp(age, [first, peak, 10.0], [0.0, 1.0, at_ten])
    shape = np.where(age > 10, at_ten * at_ten ** ((age - 10) / (10 - peak)), shape)
    spread = special.ndtri(0.5 + COVERAGE / 2)
    factor = np.array([best.value, best.low, best.high], dtype=np.float64)
    mean, low, high = factor[:, None] * shape
    sd = (high - low) / (2 * spread)
    covariance = np.outer(sd, sd) + np.diag((0.1 * sd) ** 2)
    known = linalg.inv(covariance + 1e-12 * np.eye(count))
    nothing = np.zeros((count, count))
    return Bearing(mean, low, high, 0, known, nothing, 0.0, 0, assumed=True)


def fit_bearing(
    counts: ArrayLike,
    crop: ArrayLike,
    *,
    shrub: ArrayLike | None = None,
    year: ArrayLike | None = None,
) -> Bearing:
    """Crop by cane age from yearly records, smooth over age and never negative.

    Parameters
    ----------
    counts : (m, A) int, canes of each age kept in the winter before each record
    crop : (m,) float, kg of each record
    shrub, year : (m,) int labels; each has its own factor, pooled over the planting

    Returns
    -------
    Bearing

    Raises
    ------
    BadArgumentError
        With the argument, the index, the value found and what was expected.

    Notes
    -----
    Source: penalised regression with random effects, variances by marginal likelihood (Wood 2017,
            Generalized Additive Models, ch. 6); the effects multiply the fitted crop.
    Valid:  six records or more; fewer give a wide interval.
    Limits: variance grows with the crop expected; the interval is of a normal approximation cut
            at zero.

    Examples
    --------
    >>> counts = np.random.default_rng(1).integers(0, 4, (80, 6)) * (np.arange(6) > 0)
    >>> fit_bearing(counts, counts @ [0, 0, 1, 2, 2, 1]).mean.round(1)
    array([0., 0., 1., 2., 2., 1.])
    """
    canes = int_array("counts", counts, ndim=2, low=0).astype(np.float64)
    crops = float_array("crop", crop, ndim=1, low=0.0)
    same_length(counts=canes, crop=crops)
    if not len(crops) or not canes.any() or not crops.any():
        raise BadArgumentError(f"crop: found {len(crops)} records, none with a crop; expected some")
    groups = [_labels("shrub", shrub, len(crops)), _labels("year", year, len(crops))]
    unit = float(crops.sum() / canes.sum())
    mean = np.full(canes.shape[1], unit)
    for _ in range(ROUNDS):
        mean, fit = _fit_once(canes, crops, groups, mean, unit)
    return _bearing(mean, fit, len(crops), int(groups[1].max()) + 1)


def _labels(name: str, labels: ArrayLike | None, length: int) -> Ints:
    if labels is None:
        return np.zeros(length, dtype=np.int64)
    given = int_array(name, labels, ndim=1)
    same_length(**{name: given, "crop": np.empty(length)})
    return np.unique(given, return_inverse=True)[1].astype(np.int64)


@dataclass(frozen=True)
class _Fit:
    precision: Floats
    information: Floats
    year_variance: float


def _roughness(ages: int) -> Floats:
    """Precision of a curve that bends little, for a bend of one."""
    bend = np.diff(np.eye(ages), 2, axis=0)
    matrix: Floats = bend.T @ bend
    return matrix


def _level(ages: int) -> Floats:
    """Precision of the curve's level: nothing at age 0, hardly known elsewhere."""
    return np.diag(np.where(np.arange(ages) == 0, 1e4, 0.05))


def _fit_once(
    canes: Floats, crops: Floats, groups: list[Ints], mean: Floats, unit: float
) -> tuple[Floats, _Fit]:
    """Curve and effects together, the effects scaled by the crop expected so far."""
    parts = _Parts(CropEffects.of(canes, crops, (groups[0], groups[1]), canes @ mean), unit)
    start = np.log([0.1, 0.05, 0.05, 0.1 * crops.mean() ** 2])
    best = optimize.minimize(parts.deviance, start, method="Nelder-Mead", options={"maxiter": 600})
    return parts.curve(best.x)


@dataclass(frozen=True)
class _Parts:
    """One linear model: curve + effect of the shrub + effect of the year, and its likelihood."""

    records: CropEffects
    unit: float

    def _prior(self, bend: float) -> Floats:
        ages = self.records.columns.shape[1]
        return (_roughness(ages) / bend + _level(ages)) / self.unit**2

    def deviance(self, logs: Floats) -> float:
        """Minus twice the marginal log-likelihood, but for a constant."""
        bend, *variances = np.exp(np.clip(logs, -14, 14))
        told, prior = self.records.told(*variances), self._prior(bend)
        root = linalg.cholesky(told.left + prior, lower=True)
        half = linalg.solve_triangular(root, told.right, lower=True)
        rest = told.square + told.log_determinant - np.linalg.slogdet(prior)[1]
        shy = ((logs[1:3] + 3) ** 2).sum()
        return float(rest - half @ half + 2 * np.log(np.diag(root)).sum() + shy)

    def curve(self, logs: Floats) -> tuple[Floats, _Fit]:
        """The curve, none of it negative, and its precision with the years taken out."""
        bend, *variances = np.exp(np.clip(logs, -14, 14))
        told = self.records.told(*variances)
        precision = told.left + self._prior(bend)
        middle = linalg.solve(precision, told.right, assume_a="pos")
        root = linalg.cholesky(precision)
        curve, _ = optimize.nnls(root, root @ middle)
        return curve, _Fit(precision, told.left, float(np.exp(logs[2])))


def _bearing(mean: Floats, fit: _Fit, records: int, winters: int) -> Bearing:
    bearing = Bearing(
        mean=mean,
        low=mean,
        high=mean,
        n_records=records,
        prior=fit.precision - fit.information,
        information=fit.information,
        year_variance=fit.year_variance if winters > 1 else 0.0,
        winters=winters,
        assumed=False,
    )
    wide = special.ndtri(0.5 + COVERAGE / 2) * np.sqrt(np.diag(bearing.covariance()))
    return replace(bearing, low=np.maximum(0.0, mean - wide), high=mean + wide)
