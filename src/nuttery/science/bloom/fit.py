"""Learning a thermal clock from notes: base, start day, requirement, and each shrub's own habit."""

from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike

from nuttery.science.arguments import Floats
from nuttery.science.bloom.clock import Clock, season_table
from nuttery.science.bloom.likelihood import Search, Theta
from nuttery.science.bloom.notes import (
    Notes,
    different_seasons,
    expected_days,
    guessed_days,
    label_indices,
    noted_bounds,
)
from nuttery.science.bloom.search import searched
from nuttery.science.errors import BadArgumentError

_FLAT = (
    Clock(  # what is believed of a clock of which nothing is known: wide, and of the data's date
        base=3.0,
        start_doy=32.0,
        requirement=np.nan,
        residual_sd=3.5,
        n_records=0,
        spread=0.1,
        lot_spread=0.05,
        season_sd=1.5,
        level_sd=1.0,
        theta_sd=(2.5, 30.0),
    )
)


def fit_clock(
    season_temps: ArrayLike,
    seen: ArrayLike,
    *,
    shrub: ArrayLike | None = None,
    first_doy: int = 1,
    lot: ArrayLike | None = None,
    prior: Clock | None = None,
) -> Clock:
    """A thermal clock learned from notes, exact or "not yet … now it is".

    Parameters
    ----------
    season_temps : (n, n_days) float, daily mean °C of each note's season
    seen : (n,) day of year, or (n, 2): last day it was not yet so, first day it was; ±inf where one
        side is open; two equal days are an exact sighting
    shrub : (n,) int labels; without them all notes are taken as of one kind
    first_doy : day of year of column 0; 0 is 31 December
    lot : (n,) int labels of seed lots, one for each shrub; shrubs are pooled towards their lot
    prior : Clock, what was believed before (as `prior_clock` gives it)

    Returns
    -------
    Clock

    Raises
    ------
    BadArgumentError
        For gaps, wrong shapes, days outside those given, a note open on both sides, a shrub of two
        lots, or no notes at all.

    Notes
    -----
    Source: heat sum with base and start day, log-normal requirements pooled by a nested
            random-intercept model; marginal likelihood by Laplace's approximation, its maximum
            (with wide priors) by the simplex method. `docs/methods/bloom.md`.
    Valid:  from one note on; the fewer the notes, the more the prior speaks.
    Limits: notes with the same row of temperatures share an error of their season (up to 100 such
            rows); notes of one planting whose rows differ are taken to err alone.

    Examples
    --------
    >>> temps = np.tile(np.linspace(-5, 15, 150), (3, 1)) + np.array([[-1.0], [0.0], [1.0]])
    >>> clock = fit_clock(temps, [108, 101, 93])
    >>> clock.n_records, clock.predict(temps).median.round(-1)
    (3, array([110., 100.,  90.]))
    """
    temps = season_table(season_temps)
    low, high = noted_bounds(seen, first_doy, temps.shape[1])
    if not len(low) or len(low) != len(temps):
        raise BadArgumentError(
            f"seen: found {len(low)} notes, expected as many as season_temps has rows "
            f"({len(temps)}), at least one"
        )
    labels, index, lot_labels, lot_index = label_indices(shrub, lot, len(low))
    belief = _belief(prior)
    guess = guessed_days(low, high)
    order = np.argsort(index, kind="stable")
    temps, index = temps[order], index[order]
    low, high, guess = low[order], high[order], guess[order]
    keep = min(temps.shape[1], int(guess.max()) + 30 - first_doy)
    cut = np.ascontiguousarray(temps[:, :keep])
    expected = expected_days(cut, first_doy, belief, guess)
    seasons, season = different_seasons(cut)
    notes = Notes(seasons, season, first_doy, low, high, index, lot_index, expected)
    seasonal = bool(notes.effect.max() >= 0)
    free = np.array([True, True, True, True, shrub is not None, lot is not None, seasonal])
    search, vectors = searched(notes, belief, free)
    clock, *others = (
        _clock(search, vector, labels, lot_labels, given=shrub is not None) for vector in vectors
    )
    theta_sd = (
        float(np.std([one.base for one in (clock, *others)])),
        float(np.std([one.start_doy for one in (clock, *others)])),
    )
    return replace(clock, theta_sd=theta_sd, others=tuple(others))


def _belief(prior: Clock | None) -> Clock:
    """The prior with no spread of zero, so that notes can always move it."""
    if prior is None:
        return _FLAT
    base_sd, start_sd = prior.theta_sd
    return replace(
        prior,
        level_sd=max(prior.level_sd, 0.02),
        spread=max(prior.spread, 0.01),
        season_sd=max(prior.season_sd, 0.3),
        theta_sd=(max(base_sd, 0.1), max(start_sd, 1.0)),
    )


def _clock(
    search: Search, vector: Floats, labels: list[int], lot_labels: list[int], *, given: bool
) -> Clock:
    theta = Theta.of(vector)
    _, planting, lots, shrubs = search.solve(theta)
    tail = search.tail
    widened = np.sqrt(tail / (tail - 2)) if tail else 1.0
    scale, spread, lot_spread, season_sd = theta.scales
    by_shrub = {k: _pair(row) for k, row in zip(labels, shrubs, strict=True)}
    by_lot = {k: _pair(row) for k, row in zip(lot_labels, lots, strict=True)}
    return Clock(
        base=theta.base,
        start_doy=search.start(theta),
        requirement=float(np.exp(planting[0])),
        residual_sd=float(np.hypot(scale * widened, season_sd)),
        n_records=len(search.notes.low),
        softness=theta.softness,
        spread=float(spread) if given else 0.0,
        lot_spread=float(lot_spread) if search.free[5] else 0.0,
        season_sd=float(season_sd) if search.free[6] else 0.0,
        level_sd=float(np.sqrt(planting[1])),
        tail=tail,
        shrubs=by_shrub if given else {},
        lots=by_lot if search.free[5] else {},
    )


def _pair(row: Floats) -> tuple[float, float]:
    return float(row[0]), float(row[1])
