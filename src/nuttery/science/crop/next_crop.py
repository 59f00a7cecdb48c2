"""Next year's crop from catkins and female buds counted in winter, calibrated over the years.

Square roots of counts and crops are regressed on one another with shrubs and years as partially
pooled effects; how strongly they are pooled is chosen by the evidence of the records themselves.
"""

from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import gammaln, stdtrit

from nuttery.science.arguments import Floats, Ints, float_array, int_array, same_length
from nuttery.science.crop.estimate import Estimate, checked_coverage
from nuttery.science.errors import BadArgumentError

# ratios of residual variance to that of slopes, shrubs and years among which evidence chooses
SLOPE_RATIOS = (0.01, 0.1, 1.0, 10.0)
EFFECT_RATIOS = (0.1, 0.5, 2.0, 10.0, 1e6)
PRIOR_SHAPE = 1.0
PRIOR_SCALE = 0.1


@dataclass(frozen=True)
class NextCrop:
    """Regression of crop on counts, ready to predict.

    `beta` are the effects of the constant, of buds, of catkins, of size (where the fit was given
    it) and of the years seen, all on the scale of square roots; `covariance` theirs over the
    residual variance; `shrub_effect` those of the shrubs seen. `residual_sd` is on that of √kg.
    """

    beta: Floats
    covariance: Floats
    shrubs: Ints
    shrub_effect: Floats
    shrub_pull: Floats
    shrub_centre: Floats
    centre: Floats
    scale: Floats
    shrub_ratio: float
    year_ratio: float
    slope_ratio: float
    degrees: float
    residual_sd: float
    n_records: int
    n_years: int

    def predict(
        self,
        catkins: ArrayLike,
        buds: ArrayLike,
        *,
        size: ArrayLike | None = None,
        shrub: ArrayLike | None = None,
        coverage: float = 0.8,
    ) -> Estimate:
        """Crop of the coming season.

        Parameters
        ----------
        catkins, buds : (m,) float, counted or scored as in the records of the fit
        size : (m,) float, as in the records of the fit; given if and only if they had it
        shrub : (m,) int labels; one never seen gets the planting's spread, as does None
        coverage : probability that the interval aims at

        Returns
        -------
        Estimate, kg, each part `(m,)`; an interval that reaches below nothing ends at 0

        Raises
        ------
        BadArgumentError
            If lengths differ, a count is missing or negative, or sizes are not given as in the fit.

        Notes
        -----
        Source: predictive Student distribution of the conjugate linear model, squared.
        Valid:  counts within those of the records; the coming year's own effect is in the interval.
        Limits: frost, blanks and wildlife after the count are known only as in past years.

        Examples
        --------
        >>> buds = np.array([10.0, 40.0, 90.0, 160.0, 20.0, 70.0])
        >>> fit = fit_next_crop(buds, buds, buds / 100, year=[1, 1, 1, 2, 2, 2])
        >>> fit.predict([40.0], [40.0]).median.round(1).tolist()
        [0.4]
        """
        checked_coverage(coverage)
        x = self._rows(catkins, buds, size)
        pull, effect, centre = self._of_shrubs(shrub, len(x))
        mean = x @ self.beta + effect
        off = x - centre
        explained = np.einsum("ij,jk,ik->i", off, self.covariance, off)
        variance = 1 + explained + pull + 1 / self.year_ratio
        half = stdtrit(self.degrees, 0.5 + coverage / 2) * self.residual_sd * np.sqrt(variance)
        low, median, high = (np.maximum(0.0, q) ** 2 for q in (mean - half, mean, mean + half))
        basis = "learned" if self.n_years > 1 else "learned in one year: its weather is not known"
        return Estimate(median, low, high, self.n_records, basis)

    def _rows(self, catkins: ArrayLike, buds: ArrayLike, size: ArrayLike | None = None) -> Floats:
        raw = _roots(catkins, buds, size)
        if raw.shape[1] != len(self.centre):
            told = "none" if size is None else "some"
            raise BadArgumentError(
                f"size: found {told}, expected them as in the records of the fit"
            )
        slopes = (raw - self.centre) / self.scale
        years = np.zeros((len(raw), len(self.beta) - 1 - len(self.centre)))
        return np.column_stack([np.ones(len(raw)), slopes, years])

    def _of_shrubs(self, shrub: ArrayLike | None, m: int) -> tuple[Floats, Floats, Floats]:
        """Variance ratio, effect and centre of each row's shrub; the planting's for a new one."""
        pull = np.full(m, 1 / self.shrub_ratio)
        effect, centre = np.zeros(m), np.zeros((m, len(self.beta)))
        if shrub is None or self.shrubs.size == 0:
            return pull, effect, centre
        labels = int_array("shrub", shrub, ndim=1)
        if len(labels) != m:
            raise BadArgumentError(f"shrub: found {len(labels)} labels, expected {m}")
        place = np.minimum(np.searchsorted(self.shrubs, labels), self.shrubs.size - 1)
        seen = self.shrubs[place] == labels
        pull[seen] = self.shrub_pull[place[seen]]
        effect[seen] = self.shrub_effect[place[seen]]
        centre[seen] = self.shrub_centre[place[seen]]
        return pull, effect, centre


def _roots(
    catkins: ArrayLike, buds: ArrayLike, size: ArrayLike | None = None, **also: Floats
) -> Floats:
    """Square roots of buds, catkins and, where given, sizes, a column each."""
    given = {"catkins": catkins, "buds": buds} | ({} if size is None else {"size": size})
    columns = {name: float_array(name, x, ndim=1, low=0) for name, x in given.items()}
    same_length(**columns, **also)
    buds_first = [columns.pop("buds"), *columns.values()]
    return np.sqrt(np.column_stack(buds_first))


@dataclass(frozen=True)
class _Records:
    """Sums over the records that every choice of variances needs: of all, and by shrub.

    `counts`, `sums` and `y_sums` are records, rows of the design and square roots of crop by shrub.
    """

    inner: Floats
    right: Floats
    squares: float
    n: int
    counts: Floats
    sums: Floats
    y_sums: Floats

    @staticmethod
    def of(wide: Floats, shrub: Ints, n_shrubs: int, y: Floats) -> "_Records":
        """Sums of a design without shrubs, with the shrub and the root of the crop of each row."""

        def by_shrub(values: Floats) -> Floats:
            return np.bincount(shrub, weights=values, minlength=n_shrubs).astype(np.float64)

        return _Records(
            inner=wide.T @ wide,
            right=wide.T @ y,
            squares=float(y @ y),
            n=len(y),
            counts=by_shrub(np.ones(len(y))),
            sums=np.column_stack([by_shrub(column) for column in wide.T]),
            y_sums=by_shrub(y),
        )


@dataclass(frozen=True)
class _Posterior:
    beta: Floats
    covariance: Floats
    centre: Floats
    pull: Floats
    effect: Floats
    shape: float
    rate: float
    evidence: float


def _posterior(records: _Records, ratios: Floats, shrub_ratio: float) -> _Posterior:
    """Conjugate posterior with the shrubs absorbed, so that their number costs little."""
    sums, y_sums = records.sums, records.y_sums
    pull = 1 / (records.counts + shrub_ratio)
    inner = records.inner + np.diag(ratios) - sums.T @ (pull[:, None] * sums)
    right = records.right - sums.T @ (pull * y_sums)
    covariance = np.asarray(np.linalg.inv(inner), dtype=np.float64)
    beta = covariance @ right
    effect = pull * (y_sums - sums @ beta)
    squares = float(records.squares - y_sums @ (pull * y_sums) - right @ beta)
    shape = PRIOR_SHAPE + records.n / 2
    rate = PRIOR_SHAPE * PRIOR_SCALE**2 + max(squares, 0.0) / 2
    logdet = np.linalg.slogdet(inner)[1] - np.sum(np.log(ratios))
    logdet += np.sum(-np.log(pull)) - pull.size * np.log(shrub_ratio)
    evidence = float(-0.5 * logdet - shape * np.log(rate) + gammaln(shape))
    return _Posterior(beta, covariance, pull[:, None] * sums, pull, effect, shape, rate, evidence)


def _labels(name: str, values: ArrayLike | None, n: int) -> tuple[Ints, Ints]:
    """Known labels and the place of each record's among them."""
    if values is None:
        return np.empty(0, dtype=np.int64), np.zeros(n, dtype=np.int64)
    labels = int_array(name, values, ndim=1)
    if len(labels) != n:
        raise BadArgumentError(f"{name}: found {len(labels)} labels, expected {n}")
    known, place = np.unique(labels, return_inverse=True)
    return known, place.astype(np.int64)


def fit_next_crop(
    catkins: ArrayLike,
    buds: ArrayLike,
    crop: ArrayLike,
    *,
    size: ArrayLike | None = None,
    shrub: ArrayLike | None = None,
    year: ArrayLike | None = None,
) -> NextCrop:
    """Calibration of winter counts against the crops that followed.

    Parameters
    ----------
    catkins, buds : (n,) float, counts or scores of one winter
    crop : (n,) float, kg of the season that followed
    size : (n,) float, how big the shrub was, such as its bearing canes or its years, if known
    shrub, year : (n,) int labels, if known

    Returns
    -------
    NextCrop

    Raises
    ------
    BadArgumentError
        If lengths differ, a value is missing or negative, or there are fewer than 4 records.

    Notes
    -----
    Source: conjugate Bayesian linear model (normal, inverse gamma) as in any textbook, on square
            roots; ratios of variances by the largest evidence. Inferred: no published relation of
            catkin and bud counts to the crop of hybrids was found.
    Valid:  counts made the same way every winter.
    Limits: records of one year carry that year's weather; several years are worth more than shrubs.

    Examples
    --------
    >>> fit = fit_next_crop([4.0, 9.0, 16.0, 25.0], [4.0, 9.0, 16.0, 25.0], [0.2, 0.4, 0.8, 1.2])
    >>> fit.n_records, fit.n_years
    (4, 1)
    """
    kg = float_array("crop", crop, ndim=1, low=0)
    raw, n = _roots(catkins, buds, size, crop=kg), len(kg)
    if n < 4:
        raise BadArgumentError(f"crop: found {n} records, expected at least 4")
    shrubs, shrub_place = _labels("shrub", shrub, n)
    years, year_place = _labels("year", year, n)
    centre, spread = raw.mean(axis=0), raw.std(axis=0)
    scale = np.where(spread > 0, spread, 1.0)
    year_columns = (year_place[:, None] == np.arange(years.size)).astype(np.float64)
    wide = np.column_stack([np.ones(n), (raw - centre) / scale, year_columns])
    records = _Records.of(wide, shrub_place, max(1, shrubs.size), np.sqrt(kg))
    chosen, ratios = _most_evident(records, years.size, pooled=shrubs.size > 0)
    return NextCrop(
        beta=chosen.beta,
        covariance=chosen.covariance,
        shrubs=shrubs,
        shrub_effect=chosen.effect,
        shrub_pull=chosen.pull,
        shrub_centre=chosen.centre,
        centre=centre,
        scale=scale,
        slope_ratio=ratios[0],
        shrub_ratio=ratios[1],
        year_ratio=ratios[2],
        degrees=2 * chosen.shape,
        residual_sd=float(np.sqrt(chosen.rate / chosen.shape)),
        n_records=n,
        n_years=max(1, years.size),
    )


def _most_evident(
    records: _Records, n_years: int, *, pooled: bool
) -> tuple[_Posterior, tuple[float, float, float]]:
    """Posterior under the ratios of variances that the records make most likely."""
    shrub_ratios = EFFECT_RATIOS if pooled else EFFECT_RATIOS[-1:]
    year_ratios = EFFECT_RATIOS if n_years else EFFECT_RATIOS[-1:]
    n_slopes = records.sums.shape[1] - 1 - n_years
    best: tuple[_Posterior, tuple[float, float, float]] | None = None
    for slope, shrub, year in product(SLOPE_RATIOS, shrub_ratios, year_ratios):
        ratios = np.array([1e-6, *[slope] * n_slopes, *[year] * n_years])
        found = _posterior(records, ratios, shrub)
        if best is None or found.evidence > best[0].evidence:
            best = found, (slope, shrub, year)
    if best is None:
        raise AssertionError("no ratio of variances was tried")
    return best
