"""Bearing by age and the cost of crowding, learned together from yearly crops of stools."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike
from scipy import linalg, optimize, special

from nuttery.science.arguments import Floats, Ints, float_array, int_array, same_length
from nuttery.science.canes.bearing import COVERAGE, Bearing
from nuttery.science.canes.crop_effects import CropEffects, Told
from nuttery.science.canes.crowding import CropOfStool, mean_above_zero
from nuttery.science.errors import BadArgumentError

ROUNDS = 3  # the crop expected scales effects and noise, so both are fitted in turn
MOST_TIMES = 10.0  # by which the level of the prior may be off
FIRST_LOGS = (-3.0, -3.0)  # logarithms of the variances of shrubs and years, before any record
SPREAD = float(special.ndtri(0.5 + COVERAGE / 2))


@dataclass(frozen=True)
class CropPrior:
    """What is held of bearing and crowding before the records.

    Attributes
    ----------
    curve : (A,) float, kg a cane bears by age
    covariance : (A, A) float, kg², of the curve
    starts : (g,) float, counts of canes above which crowding may start
    share : (g,) float, probability of each
    cost, cost_sd : float, kg lost for each cane above the start, and its standard deviation
    """

    curve: Floats
    covariance: Floats
    starts: Floats
    share: Floats
    cost: float
    cost_sd: float


def fit_crop_of_stool(
    canes: ArrayLike,
    crop: ArrayLike,
    *,
    prior: CropPrior,
    shrub: ArrayLike,
    year: ArrayLike,
) -> CropOfStool:
    """Bearing by age and the cost of crowding from yearly records of stools.

    Parameters
    ----------
    canes : (m, A) float, canes of each age kept in the winter before each record
    crop : (m,) float, kg of each record
    prior : what is held before the records
    shrub, year : (m,) int labels; each has its own factor, pooled over the planting

    Returns
    -------
    CropOfStool

    Raises
    ------
    BadArgumentError
        With the argument, the index, the value found and what was expected.

    Notes
    -----
    Source: normal linear model with random effects that multiply the fitted crop, variances by
            marginal likelihood; the start of crowding by its probability under all of them
            (Bayesian model averaging, Hoeting et al. 1999, Stat. Sci. 14:382); the level of the
            prior is that of the curve found (empirical Bayes), its shape is kept.
    Valid:  stools of different counts among the records; where all stand with as many, the prior
            of crowding comes back.
    Limits: crops of nothing tell where the fit expects a crop (active set of a line cut at zero);
            variance grows with the crop expected; the variances are taken as known, but for that
            of the years' mean (`Bearing.of_years`).

    Examples
    --------
    >>> rng = np.random.default_rng(1)
    >>> canes = rng.poisson(rng.uniform(0.5, 4, (200, 1)), (200, 4)) * [0, 1, 1, 1.0]
    >>> crop = canes @ [0, 0, 1, 1] - 0.5 * np.maximum(0, canes.sum(axis=1) - 6)
    >>> flat, even = np.array([0, 0, 1, 1]), np.full(18, 1 / 18)
    >>> prior = CropPrior(flat, np.eye(4), np.arange(2.0, 20), even, 1.0, 1.0)
    >>> found = fit_crop_of_stool(canes, crop, prior=prior, shrub=range(200), year=[0] * 200)
    >>> found.starts[found.share.argmax()].item(), round(found.charge(10).item(), 1)
    (6.0, 2.0)
    """
    stools = float_array("canes", canes, ndim=2, low=0.0)
    crops = float_array("crop", crop, ndim=1, low=0.0)
    groups = (_places("shrub", shrub), _places("year", year))
    same_length(canes=stools, crop=crops, shrub=groups[0], year=groups[1])
    if not crops.any():
        raise BadArgumentError(f"crop: found {len(crops)} records, none with a crop; expected some")
    over = np.maximum(0.0, stools.sum(axis=1)[:, None] - prior.starts)
    columns = np.column_stack([stools, -over])
    at = _AtStarts(prior)
    logs = np.array([*FIRST_LOGS, np.log(0.1 * crops.mean() ** 2)])
    usual = max(float((stools @ prior.curve).sum()), 1e-9)
    expected = (crops > 0) * (stools @ (prior.curve * crops.sum() / usual))
    best = int(prior.share.argmax())
    for _ in range(ROUNDS):
        records = _telling(columns, crops, groups, expected)
        logs = _variances(records, at, best, logs)
        posterior = at.posterior(records.told(*np.exp(logs)))
        best, mean = int(posterior.share.argmax()), posterior.mean
        bare = stools @ mean[:-1]
        expected = bare - over @ (posterior.share * posterior.costs)
        at = _AtStarts(_at_level(prior, float(bare.sum()) / usual))
    winters = int(groups[1].max()) + 1
    variance = float(np.exp(logs[1])) if winters > 1 else 0.0
    bearing = posterior.bearing(at.prior, len(crops), winters, variance)
    return CropOfStool(
        bearing, prior.starts, posterior.share, posterior.means, posterior.covariances
    )


def _telling(
    columns: Floats, crops: Floats, groups: tuple[Ints, Ints], expected: Floats
) -> CropEffects:
    """Records that tell of the line, which a stool that is to bear nothing has left.

    A crop of nothing tells only while something was to be expected.
    """
    tells = (crops > 0) | (expected > 0)
    shrubs, years = (np.unique(part[tells], return_inverse=True)[1] for part in groups)
    return CropEffects.of(columns[tells], crops[tells], (shrubs, years), expected[tells])


def _at_level(prior: CropPrior, level: float) -> CropPrior:
    """The same shape, with as much doubt for its size, at a multiple of the level.

    Crowding lowers the crops that told the level, and bearing and cost would be held down with it.
    """
    times = float(np.clip(level, 1 / MOST_TIMES, MOST_TIMES))
    return replace(
        prior,
        curve=times * prior.curve,
        covariance=times**2 * prior.covariance,
        cost=times * prior.cost,
        cost_sd=times * prior.cost_sd,
    )


def _places(name: str, labels: ArrayLike) -> Ints:
    given = int_array(name, labels, ndim=1)
    return np.unique(given, return_inverse=True)[1].astype(np.int64)


def _variances(records: CropEffects, at: "_AtStarts", start: int, logs: Floats) -> Floats:
    """Logarithms of the variances that make the records likeliest, given a start of crowding."""
    ages = len(at.prior.curve)
    few = CropEffects(
        records.columns[:, [*range(ages), ages + start]],
        records.crops,
        records.shrubs,
        records.years,
        records.expected,
    )

    def deviance(logs: Floats) -> float:
        told = few.told(*np.exp(np.clip(logs, -14, 14)))
        shy = ((logs[:2] + 3) ** 2).sum()
        return float(at.deviance(told.left, told.right) + told.square + told.log_determinant + shy)

    found = optimize.minimize(
        deviance,
        logs,
        method="Nelder-Mead",
        options={"xatol": 0.02, "fatol": 0.02, "maxiter": 250},
    )
    return np.asarray(np.clip(found.x, -14, 14))


@dataclass(frozen=True)
class _Posterior:
    """Bearing and cost given each start, and the probability of each start."""

    share: Floats
    means: Floats
    covariances: Floats

    @property
    def costs(self) -> Floats:
        return mean_above_zero(self.means[:, -1], np.sqrt(self.covariances[:, -1, -1]))

    @property
    def given(self) -> Floats:
        """Means given each start, the cost not below nothing, (g, A + 1)."""
        pull = self.covariances[:, :, -1] / self.covariances[:, -1:, -1]
        return self.means + (self.costs - self.means[:, -1])[:, None] * pull

    @property
    def mean(self) -> Floats:
        found: Floats = np.maximum(0.0, self.share @ self.given)
        return found

    def bearing(self, prior: CropPrior, records: int, winters: int, variance: float) -> Bearing:
        """The curve over all starts, as a normal whose precision is the prior's and the rest."""
        off = self.given[:, :-1] - self.share @ self.given[:, :-1]
        among = (self.share[:, None] * off).T @ off
        curve = np.einsum("g,gij->ij", self.share, self.covariances[:, :-1, :-1]) + among
        known = linalg.inv(prior.covariance)
        told = linalg.inv(curve) - known
        size, axes = linalg.eigh((told + told.T) / 2)
        information = axes @ (np.maximum(size, 0.0)[:, None] * axes.T)
        mean = self.mean[:-1]
        bare = Bearing(
            mean, mean, mean, records, known, information, variance, winters, assumed=False
        )
        wide = SPREAD * np.sqrt(np.diag(bare.covariance()))
        return Bearing(
            mean,
            np.maximum(0.0, mean - wide),
            mean + wide,
            records,
            known,
            information,
            variance,
            winters,
            assumed=False,
        )


@dataclass(frozen=True)
class _AtStarts:
    """The normal posterior given each start of crowding."""

    prior: CropPrior

    def _known(self) -> tuple[Floats, Floats]:
        middle = np.append(self.prior.curve, self.prior.cost)
        trust = linalg.block_diag(
            linalg.inv(self.prior.covariance), np.full((1, 1), self.prior.cost_sd**-2)
        )
        return middle, trust

    def deviance(self, left: Floats, right: Floats) -> float:
        """Minus twice the log of the evidence, but for what does not hang on the start."""
        middle, trust = self._known()
        toward = right - left @ middle
        root = linalg.cholesky(left + trust, lower=True)
        half = linalg.solve_triangular(root, toward, lower=True)
        size = 2 * np.log(np.diag(root)).sum() - np.linalg.slogdet(trust)[1]
        return float(middle @ left @ middle - 2 * middle @ right - half @ half + size)

    def posterior(self, told: Told) -> _Posterior:
        """Bearing and cost given each start, and how probable each start is."""
        middle, trust = self._known()
        ages = len(middle) - 1
        means, covariances, evidence = [], [], []
        for g in range(len(self.prior.starts)):
            rows = [*range(ages), ages + g]
            left, right = told.left[np.ix_(rows, rows)], told.right[rows]
            covariance = linalg.inv(left + trust)
            mean = middle + covariance @ (right - left @ middle)
            sd = np.sqrt(covariance[-1, -1])
            above = special.log_ndtr(mean[-1] / sd)
            evidence.append(above - self.deviance(left, right) / 2)
            means.append(mean)
            covariances.append((covariance + covariance.T) / 2)
        with np.errstate(divide="ignore"):
            share = special.softmax(np.array(evidence) + np.log(self.prior.share))
        return _Posterior(np.asarray(share), np.array(means), np.array(covariances))
