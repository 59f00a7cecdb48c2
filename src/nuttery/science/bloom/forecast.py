"""Dates of all stages of all shrubs over many futures of the weather, and what a look would add."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numba import njit
from numpy.typing import ArrayLike, NDArray

from nuttery.science.arguments import Floats, Ints, int_array, refuse_where
from nuttery.science.bloom.clock import Clock, season_table
from nuttery.science.bloom.common import (
    Common,
    StageModel,
    common_draws,
    laid_out,
    strata,
)
from nuttery.science.bloom.heat import heat_sums
from nuttery.science.bloom.own_looks import (
    ERROR_STEP,
    HABIT_STEP,
    error_of,
    hold_to_looks,
)
from nuttery.science.errors import BadArgumentError

Draws = NDArray[np.float32]

ORDERS = (
    ("catkin_60", "catkin_65", "catkin_69"),
    ("pistillate_out", "pistillate_withered"),
    ("bud_07", "bud_09", "leaf_11"),
    ("roll_out_first", "roll_out_main"),
)


@dataclass(frozen=True)
class StageDates:
    """Draws of the day of year of each stage, shrub by shrub.

    Attributes
    ----------
    stages : names
    draws : (n, n_stages, n_futures) float32, day of year, inf where the days given do not reach it;
        one future is one course of the weather for all shrubs and stages
    last_doy : last day of year of the weather given
    """

    stages: tuple[str, ...]
    draws: Draws
    last_doy: int

    def of(self, stage: str) -> Draws:
        """Draws of one stage, `(n, n_futures)`.

        Raises
        ------
        BadArgumentError
            For a stage that was not asked for.

        Notes
        -----
        Source: a part of `draws`; nothing is computed.
        Valid:  one of `stages`.

        Examples
        --------
        >>> draws = np.array([[[100.0, 101.0]]], dtype=np.float32)
        >>> StageDates(("leaf_11",), draws, 120).of("leaf_11")
        array([[100., 101.]], dtype=float32)
        """
        if stage not in self.stages:
            raise BadArgumentError(
                f"stage: found {stage!r}, expected one of {', '.join(self.stages)}"
            )
        return self.draws[:, self.stages.index(stage)]

    def quantiles(self, shares: Sequence[float]) -> Floats:
        """Days by which shares of the futures have come, `(n_shares, n, n_stages)`, NaN if later.

        Notes
        -----
        Source: order statistics of the draws.
        Valid:  shares from 0 to 1; a hundred draws or more for shares near either end.

        Examples
        --------
        >>> draws = np.array([[[100.0, 101, 102, 103, np.inf]]], dtype=np.float32)
        >>> StageDates(("leaf_11",), draws, 120).quantiles([0.5, 0.9]).ravel()
        array([102.,  nan])
        """
        n_futures = self.draws.shape[2]
        ranks = [min(n_futures - 1, int(share * n_futures + 1e-9)) for share in shares]
        ordered = np.partition(self.draws, sorted(set(ranks)), axis=2)
        days = np.stack([ordered[:, :, rank] for rank in ranks]).astype(np.float64)
        return np.where(days > self.last_doy + 0.5, np.nan, days)

    def interval(self, coverage: float = 0.8) -> tuple[Floats, Floats, Floats]:
        """Median, low and high day of year, each `(n, n_stages)`.

        Notes
        -----
        Source: `quantiles`.
        Valid:  coverage between 0 and 1; as far as the weather given, NaN past it.

        Examples
        --------
        >>> draws = np.arange(100.0, 110.0, dtype=np.float32).reshape(1, 1, 10)
        >>> [float(d[0, 0]) for d in StageDates(("leaf_11",), draws, 120).interval()]
        [105.0, 101.0, 109.0]
        """
        median, low, high = self.quantiles([0.5, 0.5 - coverage / 2, 0.5 + coverage / 2])
        return median, low, high

    def chance_by(self, day: float) -> Floats:
        """Probability that each stage has come by the end of a day, `(n, n_stages)`.

        Notes
        -----
        Source: share of the draws.
        Valid:  days up to `last_doy`.

        Examples
        --------
        >>> draws = np.arange(100.0, 110.0, dtype=np.float32).reshape(1, 1, 10)
        >>> StageDates(("leaf_11",), draws, 120).chance_by(101).round(2)
        array([[0.2]])
        """
        return np.asarray((self.draws <= day + 0.5).mean(axis=2), dtype=np.float64)

    def sd_after_look(self, stage: str, days: ArrayLike) -> Floats:
        """Expected standard deviation of a stage's date once someone has looked on a day.

        Parameters
        ----------
        stage : one of `stages`
        days : (n_days,) int, days of year on which to look

        Returns
        -------
        (n, n_days) float, days; compare with the standard deviation now. NaN where more than a
        tenth of the futures do not reach the stage.

        Notes
        -----
        Source: law of total variance over the two answers, "already" and "not yet".
        Valid:  a look that is not mistaken.

        Examples
        --------
        >>> draws = np.arange(100.0, 110.0, dtype=np.float32).reshape(1, 1, 10)
        >>> StageDates(("leaf_11",), draws, 120).sd_after_look("leaf_11", [90, 104]).round(2)
        array([[2.87, 1.41]])
        """
        dates = self.of(stage).astype(np.float64)
        comes = np.isfinite(dates)
        filled = np.where(comes, dates, self.last_doy + 1.0)
        looks = [_split_sd(filled, day + 0.5) for day in np.atleast_1d(np.asarray(days))]
        expected = np.column_stack(looks)
        return np.where(comes.mean(axis=1)[:, None] < 0.9, np.nan, expected)


def _split_sd(dates: Floats, day: float) -> Floats:
    """Expected standard deviation of dates (n, n_draws) once it is known whether they are past."""
    past = dates <= day
    total = np.zeros(len(dates))
    for side in (past, ~past):
        share = side.mean(axis=1)
        count = np.maximum(side.sum(axis=1), 1)
        mean = np.where(side, dates, 0).sum(axis=1) / count
        squares = np.where(side, (dates - mean[:, None]) ** 2, 0).sum(axis=1)
        total += share * np.sqrt(squares / count)
    return total


@njit(cache=True)
def _draw_stage(  # noqa: PLR0917 - compiled functions have no keyword-only arguments
    sums: Floats,
    first_doy: int,
    kind: Ints,
    mean: Floats,
    own: Floats,
    share: Floats,
    shared: Floats,
    scale: Floats,
    habit: Floats,
    error: Floats,
    steps: tuple[int, int],
    out: Draws,
) -> None:
    """Days of one stage for every shrub and future, written into `out` (n, n_futures).

    `shared` (2, n_futures) is what all shrubs share: level (logarithm) and season's error (days).
    """
    n, n_futures = out.shape
    n_days = sums.shape[1]
    for i in range(n):
        for f in range(n_futures):
            k = kind[f]
            # every shrub has the same strata of habit and error, but meets them in other weather
            z = habit[(f + steps[0] * i) % n_futures]
            heat = np.exp(mean[k, i] + share[k, i] * shared[0, f] + own[k, i] * z)
            d = np.searchsorted(sums[f], heat)
            if d >= n_days:
                out[i, f] = np.inf
                continue
            before = sums[f, d - 1] if d > 0 else 0.0
            day = first_doy + d - 0.5 + (heat - before) / max(sums[f, d] - before, 1e-9)
            out[i, f] = day + shared[1, f] + scale[k] * error[(f + steps[1] * i) % n_futures]


def window_dates(
    clocks: Mapping[str, Clock],
    season_temps: ArrayLike,
    shrub: ArrayLike,
    *,
    rng: np.random.Generator,
    first_doy: int = 1,
    lot: ArrayLike | None = None,
    seen: ArrayLike | None = None,
) -> StageDates:
    """Dates of all stages of all shrubs over many futures of one season's weather.

    Parameters
    ----------
    clocks : stage → Clock
    season_temps : (n_futures, n_days) float, daily mean °C: what was measured so far, then a future
    shrub : (n,) int labels
    rng : source of the draws
    first_doy : day of year of column 0
    lot : (n,) int labels of seed lots, for shrubs without notes of their own
    seen : (n, n_stages, 2) float, this season's notes: last day it was not yet so, first day it
        was; ±inf where open. A note on one stage also moves the others of the shrub, and by
        what all share in a season those of every other shrub

    Returns
    -------
    StageDates
        One draw for each shrub, stage and future.

    Raises
    ------
    BadArgumentError
        For gaps, wrong shapes, or crossed bounds.

    Notes
    -----
    Source: the season's error and the planting's level are drawn once a future for all shrubs, as
            this season's notes of any of them leave them; each shrub's requirement and each date's
            error by quantile strata. Stages share half of the variance of each
            (`bloom.stage_correlation` in the reference room, assumed). A shrub's own notes repeat
            the futures that make them likely, and its errors are drawn anew between its looks.
    Valid:  from some 100 futures on.
    Limits: stages of one organ are put in order within a future.

    Examples
    --------
    >>> clock = Clock(base=3.0, start_doy=32.0, requirement=120.0, residual_sd=3.0, n_records=0)
    >>> futures = np.full((200, 120), 6.0) + np.linspace(-1, 1, 200)[:, None]
    >>> dates = window_dates({"leaf_11": clock}, futures, [1, 2], rng=np.random.default_rng(1))
    >>> dates.draws.shape, bool(abs(dates.interval()[0][0, 0] - 72) < 2)
    ((2, 1, 200), True)
    """
    temps = season_table(season_temps)
    labels = int_array("shrub", shrub, ndim=1)
    n, n_futures = len(labels), len(temps)
    bounds = _bounds(seen, n, len(clocks))
    if not clocks or not n_futures:
        raise BadArgumentError(
            f"clocks: found {len(clocks)} and {n_futures} futures, expected at least one of each"
        )
    lots = None if lot is None else int_array("lot", lot, ndim=1)
    models = [laid_out(clock, temps, labels, lots, first_doy) for clock in clocks.values()]
    common = common_draws(models, bounds, n_futures, rng)
    own = strata(len(clocks), n_futures, rng)
    draws = np.empty((n, len(clocks), n_futures), dtype=np.float32)
    for j, model in enumerate(models):
        _stage(model, temps, common, j, scores=own.scores[j], out=draws)
    if bounds is not None:
        hold_to_looks(draws, models, common, own, bounds=bounds, rng=rng)
    _put_in_order(tuple(clocks), draws)
    return StageDates(tuple(clocks), draws, first_doy + temps.shape[1] - 1)


def _bounds(seen: ArrayLike | None, n: int, n_stages: int) -> Floats | None:
    if seen is None:
        return None
    bounds = np.array(seen, dtype=np.float64)
    if bounds.shape != (n, n_stages, 2):
        raise BadArgumentError(f"seen: found shape {bounds.shape}, expected {(n, n_stages, 2)}")
    refuse_where("seen", bounds, np.isnan(bounds), "a day of year, or ±inf for an open side")
    crossed = bounds[..., 0] > bounds[..., 1]
    refuse_where("seen", bounds[..., 0], crossed, "at most the second day")
    exact = bounds[..., 0] == bounds[..., 1]
    bounds[..., 0] += np.where(exact, -0.5, 0.5)
    bounds[..., 1] += 0.5
    return bounds


def _stage(
    model: StageModel, temps: Floats, common: Common, j: int, *, scores: Floats, out: Draws
) -> None:
    kind = common.kind[j]
    sums = np.empty_like(temps)
    for k, one in enumerate(model.clocks):
        rows = np.ascontiguousarray(temps[kind == k])
        sums[kind == k] = heat_sums(rows, model.first_doy, one.base, one.softness, one.start_doy)
    found = np.empty((out.shape[0], out.shape[2]), dtype=np.float32)
    _draw_stage(
        sums,
        model.first_doy,
        kind,
        model.mean,
        model.own,
        model.share,
        np.stack([model.level[kind] * common.level[j], model.season[kind] * common.season[j]]),
        model.scale,
        scores[0],
        error_of(model.tail, scores[1]),
        (HABIT_STEP, ERROR_STEP),
        found,
    )
    out[:, j] = found


def _put_in_order(stages: tuple[str, ...], draws: Draws) -> None:
    for order in ORDERS:
        places = [stages.index(stage) for stage in order if stage in stages]
        for before, after in pairwise(places):
            np.maximum(draws[:, before], draws[:, after], out=draws[:, after])
