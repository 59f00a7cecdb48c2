"""What canes too many on a stool cost, learned together with what a cane bears by its age.

crop = Σ bearing · canes − cost · max(0, canes − start): where crowding starts is one of a list of
counts, each with its probability; bearing and cost are normal given the start, the cost not below
nothing.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike
from scipy import linalg, optimize, special, stats

from nuttery.science.arguments import Floats, Ints, float_array, int_array, same_length
from nuttery.science.canes.bearing import COVERAGE, Bearing
from nuttery.science.canes.crop_effects import CropEffects, Told
from nuttery.science.errors import BadArgumentError

ROUNDS = 3  # the crop expected scales effects and noise, so both are fitted in turn
MOST_TIMES = 10.0  # by which the level of the prior may be off
FIRST_LOGS = (-3.0, -3.0)  # logarithms of the variances of shrubs and years, before any record
SPREAD = float(stats.norm.ppf(0.5 + COVERAGE / 2))


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


@dataclass(frozen=True)
class CropOfStool:
    """What a stool bears by its canes: bearing by age and the cost of crowding.

    Attributes
    ----------
    bearing : of a cane that is not crowded
    starts : (g,) float, counts of canes above which crowding may start
    share : (g,) float, probability of each
    means : (g, A + 1) float, kg: bearing by age, and last the cost of a cane, given each start
    covariances : (g, A + 1, A + 1) float, kg²; those of a normal that is cut off at a cost of 0
    """

    bearing: Bearing
    starts: Floats
    share: Floats
    means: Floats
    covariances: Floats

    @property
    def cost(self) -> Floats:
        """Kg that each cane above the start is expected to cost, given each start, (g,)."""
        sd = np.sqrt(self.covariances[:, -1, -1])
        return _mean_above_zero(self.means[:, -1], sd)

    def charge(self, canes: ArrayLike) -> Floats:
        """Crop that crowding is expected to take of a stool.

        Parameters
        ----------
        canes : (...) float, canes kept on each stool

        Returns
        -------
        (...) float, kg

        Notes
        -----
        Source: mean over the starts of crowding and the cost given each.
        Valid:  counts like those of the records; above them it runs straight on.

        Examples
        --------
        >>> from nuttery.science.canes.bearing import known_bearing
        >>> known_crowding(known_bearing([0, 0, 1.5]), 6, 0.5).charge([5, 8])
        array([0., 1.])
        """
        kept = float_array("canes", canes, low=0.0)
        over = np.maximum(0.0, kept[..., None] - self.starts)
        return np.asarray(over @ (self.share * self.cost))

    def best_count(self, max_age: int, most: float) -> tuple[float, float, float]:
        """Canes on a stool, as many of each age up to the limit, that bear the most.

        Parameters
        ----------
        max_age : int, age at which a cane goes
        most : float, canes above which nothing is known; no more are wanted

        Returns
        -------
        best, low, high : float, whole canes; low and high are those of the middle 80 % of what
        bearing and crowding may be

        Raises
        ------
        BadArgumentError
            If the age is below 2 or fewer than one cane is allowed.

        Notes
        -----
        Source: a stool in a steady state has as many canes of each age (design of this project);
                the count is where one more costs as much as an average cane bears.
        Valid:  counts up to `most`.
        Limits: size of nuts, light and work are not weighed.

        Examples
        --------
        >>> from nuttery.science.canes.bearing import known_bearing
        >>> known_crowding(known_bearing([0, 0, 1.5, 1.5]), 6, 2.0).best_count(3, most=12)
        (6.0, 6.0, 6.0)
        """
        oldest = int(int_array("max_age", max_age, ndim=0, low=2))
        counts = np.arange(1.0, float(float_array("most", most, ndim=0, low=1.0)) + 1)
        curves, starts, costs = self.draw(np.random.default_rng(0), 400)
        each = curves[:, 1:oldest].mean(axis=1) if oldest > 2 else curves[:, 1]
        over = np.maximum(0.0, counts - starts[:, None])
        crop = each[:, None] * counts - costs[:, None] * over
        low, high = np.quantile(counts[crop.argmax(axis=1)], [0.1, 0.9], method="nearest")
        return float(counts[crop.mean(axis=0).argmax()]), float(low), float(high)

    def draw(self, rng: np.random.Generator, draws: int) -> tuple[Floats, Floats, Floats]:
        """Curves, starts of crowding and costs as likely together as the records make them.

        Parameters
        ----------
        rng : numpy Generator
        draws : int

        Returns
        -------
        curves : (draws, A) float, kg, none negative
        starts : (draws,) float, canes
        costs : (draws,) float, kg, none negative

        Notes
        -----
        Source: the start by its probability, the cost from its normal cut off at 0, the curve from
                its normal given the cost; the mean of the years' factors moves both alike.
        Valid:  a curve well above zero; near it the cut-off lifts the mean a little.

        Examples
        --------
        >>> from nuttery.science.canes.bearing import known_bearing
        >>> sure = known_crowding(known_bearing([0, 0, 1.5]), 6, 0.5)
        >>> [part.round(3).tolist() for part in sure.draw(np.random.default_rng(1), 1)]
        [[[0.0, 0.0, 1.5]], [6.0], [0.5]]
        """
        which = rng.choice(len(self.starts), size=draws, p=self.share)
        if self.bearing.assumed:
            return self.bearing.draw(rng, draws), self.starts[which], self.cost[which]
        ages = self.means.shape[1] - 1
        curves, costs = np.empty((draws, ages)), np.empty(draws)
        for g in np.unique(which).tolist():
            mine = np.flatnonzero(which == g)
            mean, spread = self.means[g], self.covariances[g]
            sd = np.sqrt(spread[-1, -1])
            low = special.ndtr(-mean[-1] / sd)
            costs[mine] = mean[-1] + sd * special.ndtri(low + (1 - low) * rng.random(len(mine)))
            pull = spread[:-1, -1] / spread[-1, -1]
            left = spread[:-1, :-1] - np.outer(pull, spread[:-1, -1])
            root = linalg.cholesky(left + 1e-15 * np.eye(ages), lower=True)
            shift = (costs[mine] - mean[-1])[:, None] * pull
            curves[mine] = mean[:-1] + shift + rng.standard_normal((len(mine), ages)) @ root.T
        years = self._years(rng, draws)
        return np.maximum(0.0, curves * years[:, None]), self.starts[which], costs * years

    def _years(self, rng: np.random.Generator, draws: int) -> Floats:
        """Factor of all years to come against those on record."""
        sd = np.sqrt(self.bearing.of_years())
        return np.asarray(np.maximum(0.0, 1 + sd * rng.standard_normal(draws)))


def known_crowding(bearing: Bearing, start: float, cost: float) -> CropOfStool:
    """Crowding taken as it is, without doubt: for what-ifs, tests and assumptions.

    Parameters
    ----------
    bearing : of a cane that is not crowded
    start : float, canes on a stool above which each costs crop
    cost : float, kg lost for each

    Returns
    -------
    CropOfStool

    Raises
    ------
    BadArgumentError
        If start or cost is negative or missing.

    Notes
    -----
    Source: the caller.
    Valid:  any values that are not negative.

    Examples
    --------
    >>> from nuttery.science.canes.bearing import known_bearing
    >>> known_crowding(known_bearing([0, 0, 1.5]), 6, 0.5).cost
    array([0.5])
    """
    begins = float(float_array("start", start, ndim=0, low=0.0))
    each = float(float_array("cost", cost, ndim=0, low=0.0))
    means = np.append(bearing.mean, each)[None]
    covariance = linalg.block_diag(bearing.covariance(), np.full((1, 1), 1e-24))[None]
    return CropOfStool(bearing, np.array([begins]), np.ones(1), means, covariance)


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
        return _mean_above_zero(self.means[:, -1], np.sqrt(self.covariances[:, -1, -1]))

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


def _mean_above_zero(mean: Floats, sd: Floats) -> Floats:
    """Mean of a normal that is cut off below zero."""
    at = mean / sd
    ratio = np.exp(-(at**2) / 2 - special.log_ndtr(at)) / np.sqrt(2 * np.pi)
    return np.asarray(mean + sd * ratio)
