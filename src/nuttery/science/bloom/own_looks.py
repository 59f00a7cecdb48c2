"""Draws of a shrub's stages held to the looks at it this season."""

from collections.abc import Sequence

import numpy as np
from numba import njit
from numpy.typing import NDArray

from nuttery.reference import value
from nuttery.science.arguments import Floats, Ints
from nuttery.science.bloom.common import Common, StageModel, Strata, log_told

HABIT_STEP, ERROR_STEP = 7919, 6841
"""Futures by which each shrub's strata of habit and of error stand off those of the one before."""
_AT_ONCE = 500  # shrubs laid out in memory together
_SCORES = np.linspace(-6.0, 6.0, 481)
_LEAST = 1e-12  # chance below which futures differ no more


@njit(cache=True)
def repeated(weight: Floats) -> Ints:
    """Which future stands in each place: futures as often as they weigh, in their own place first.

    Parameters
    ----------
    weight : (n, n_futures) float, 0 or more

    Returns
    -------
    (n, n_futures) int; a future that stays in its place keeps its weather

    Notes
    -----
    Source: systematic resampling.
    Valid:  rows with a weight above 0.

    Examples
    --------
    >>> repeated(np.array([[0.0, 2.0, 1.0, 1.0]]))
    array([[1, 1, 2, 3]])
    """
    n, n_futures = weight.shape
    source = np.full((n, n_futures), -1)
    spare = np.empty(n_futures, dtype=np.int64)
    for i in range(n):
        mass = np.cumsum(weight[i])
        n_spare, last = 0, -1
        for f in range(n_futures):
            place = min(np.searchsorted(mass, (f + 0.5) / n_futures * mass[-1]), n_futures - 1)
            if place == last:
                spare[n_spare] = place
                n_spare += 1
            else:
                source[i, place], last = place, place
        for f in range(n_futures):
            if source[i, f] < 0:
                n_spare -= 1
                source[i, f] = spare[n_spare]
    return source


def error_of(tail: int, score: Floats) -> Floats:
    """Error in units of its scale at a normal score: the same, or Student's t of equal share."""
    from scipy.special import ndtr, stdtrit

    if not tail:
        return score
    found: Floats = np.interp(score, _SCORES, stdtrit(tail, ndtr(_SCORES)))
    return found


def _score_of(tail: int, error: Floats) -> Floats:
    from scipy.special import ndtr, stdtrit

    known = stdtrit(tail, ndtr(_SCORES)) if tail else _SCORES
    found: Floats = np.interp(error, known, _SCORES)
    return found


def hold_to_looks(
    draws: NDArray[np.float32],
    models: Sequence[StageModel],
    common: Common,
    strata: Strata,
    *,
    bounds: Floats,
    rng: np.random.Generator,
) -> None:
    """Make the draws of every shrub that was looked at agree with its looks, in place.

    Parameters
    ----------
    draws : (n, n_stages, n_futures) day of year, as drawn without its own looks
    models, common, strata : what they were drawn from
    bounds : (n, n_stages, 2) day of year between which each stage came, ±inf where open
    rng : source of the new errors

    Notes
    -----
    Source: each future weighs by the chance of the looks given its habit and what it shares,
            divided by the chance that its shared values alone gave them, as those looks have moved
            the shared values already; futures are repeated by weight and the errors of stages with
            looks drawn anew between the bounds (truncated normal, or Student's t).
    Valid:  any looks; stages of one shrub share `bloom.stage_correlation` of their errors.
    """
    looked = np.flatnonzero(np.isfinite(bounds).any(axis=(1, 2)))
    for first in range(0, looked.size, _AT_ONCE):
        rows = looked[first : first + _AT_ONCE]
        part = _Part(models, common, strata, draws=draws[rows], bounds=bounds[rows], rows=rows)
        draws[rows] = part.held(rng)


class _Part:
    """Some shrubs with looks: where their stages would be without an error, and its bounds."""

    def __init__(
        self,
        models: Sequence[StageModel],
        common: Common,
        strata: Strata,
        *,
        draws: NDArray[np.float32],
        bounds: Floats,
        rows: Ints,
    ) -> None:
        n_futures = draws.shape[2]
        self.place = (np.arange(n_futures) + ERROR_STEP * rows[:, None]) % n_futures
        self.models, self.bounds = models, bounds
        self.shared = value("bloom.stage_correlation").value
        self.even = np.sqrt(self.shared) * strata.common[1][self.place]
        self.draws = draws.astype(np.float64)
        self.scales = [m.scale[k] for m, k in zip(models, common.kind, strict=True)]
        self.middles = [
            self.draws[:, j] - self.scales[j] * error_of(m.tail, strata.scores[j, 1])[self.place]
            for j, m in enumerate(models)
        ]
        self.log_weight = -log_told(models, common, self.bounds)

    def shares(self, j: int) -> tuple[Floats, Floats]:
        """Shares of a stage's own error below its two bounds, each (n, n_futures)."""
        from scipy.special import ndtr

        found = []
        for side in (0, 1):
            bound = self.bounds[:, j, side, None]
            with np.errstate(invalid="ignore"):
                error = np.where(np.isinf(bound), bound, (bound - self.middles[j]) / self.scales[j])
            score = _score_of(self.models[j].tail, error)
            found.append(ndtr((score - self.even) / np.sqrt(1 - self.shared)))
        return found[0], found[1]

    def held(self, rng: np.random.Generator) -> Floats:
        """Days of all stages, (n, n_stages, n_futures), in agreement with the looks."""
        from scipy.special import ndtri

        told = np.flatnonzero(np.isfinite(self.bounds).any(axis=(0, 2))).tolist()
        shares = {j: self.shares(j) for j in told}
        log = self.log_weight + sum(np.log(b - a + _LEAST) for a, b in shares.values())
        source = repeated(np.exp(log - log.max(axis=1, keepdims=True)))
        new = np.take_along_axis(self.draws, source[:, None], axis=2)
        even = np.take_along_axis(self.even, source, axis=1)
        for j, (low, high) in shares.items():
            a, b, middle = (
                np.take_along_axis(part, source, axis=1) for part in (low, high, self.middles[j])
            )
            own = ndtri(np.clip(a + rng.random(a.shape) * (b - a), 1e-12, 1 - 1e-12))
            error = error_of(self.models[j].tail, even + np.sqrt(1 - self.shared) * own)
            days = np.clip(
                middle + self.scales[j][source] * error, *self.bounds[:, j].T[:, :, None]
            )
            noted = np.isfinite(self.bounds[:, j]).any(axis=1)
            new[noted, j] = days[noted]
        return new
