"""Every shrub's own habit, given a clock whose base, start day and spreads are already learned."""

from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike

from nuttery.science.arguments import (
    Floats,
    Ints,
    float_array,
    int_array,
    refuse_where,
    same_length,
)
from nuttery.science.bloom.clock import Clock, season_table
from nuttery.science.bloom.heat import heat_sums, pooled_fit
from nuttery.science.bloom.ripening import Ripening
from nuttery.science.bloom.roll_out import habits_from_tests
from nuttery.science.errors import BadArgumentError

_AT_ONCE = 300  # shrubs whose tests are laid out in memory together
_UNSURE = 1.0  # spread of the planting's own logarithm before these notes: they decide


def shrub_habits(
    clock: Clock,
    season_temps: ArrayLike,
    season: ArrayLike,
    seen: ArrayLike,
    *,
    shrub: ArrayLike,
    lot: ArrayLike,
    first_doy: int = 1,
) -> Clock:
    """Return the clock with the habit of every shrub that has notes.

    A large planting learns the base, the start day and the spreads from some of its shrubs
    (`fit_clock`) and then the habits of all of them here, each season's weather given once.

    Parameters
    ----------
    clock : as `fit_clock` learned it from some of the shrubs
    season_temps : (n_seasons, n_days) float, daily mean °C
    season : (n,) int, row of `season_temps` of each note
    seen : (n, 2) day of year on which it was last not yet so, and first so; ±inf where open
    shrub : (n,) int labels
    lot : (n,) int labels of seed lots, one for each shrub
    first_doy : day of year of column 0

    Returns
    -------
    Clock
        With `shrubs` and `lots` of all notes, and the same in each of the `others`.

    Raises
    ------
    BadArgumentError
        For gaps, days in the wrong order, a row that `season_temps` does not have, columns of
        different lengths, or no notes at all.

    Notes
    -----
    Source: the last step of `fit_clock` (posterior of a nested random-intercept model) with the
            other parameters held.
    Valid:  notes of the planting that the clock was learned in.
    Limits: the planting's own level is learned anew from these notes alone.

    Examples
    --------
    >>> temps = np.tile(np.linspace(-5, 15, 150), (2, 1)) + np.array([[-1.0], [1.0]])
    >>> clock = Clock(base=3.0, start_doy=32.0, requirement=150.0, residual_sd=2.0, n_records=9)
    >>> seen = [[100, 101], [90, 91], [107, 108], [97, 98]]
    >>> told = shrub_habits(clock, temps, [0, 1, 0, 1], seen, shrub=[5, 5, 6, 6], lot=[0] * 4)
    >>> sorted(told.shrubs), told.shrubs[5][0] < told.shrubs[6][0]
    ([5, 6], True)
    """
    temps = season_table(season_temps)
    bounds = _bounds(seen)
    columns = [
        _rows(season, temps),
        int_array("shrub", shrub, ndim=1),
        int_array("lot", lot, ndim=1),
    ]
    lengths = {len(bounds), *map(len, columns)}
    if lengths == {0} or len(lengths) > 1:
        raise BadArgumentError(
            f"seen: found {len(bounds)} notes, expected as many of each, not none"
        )
    order = np.argsort(columns[1], kind="stable")
    rows, owners, homes = (column[order].astype(np.int64) for column in columns)
    labels, first = np.unique(owners, return_index=True)
    lots, lot_index = np.unique(homes[first], return_inverse=True)
    notes = (rows, bounds[order] + 0.5, np.append(first, len(rows)), lot_index.astype(np.int64))
    levels: Floats | None = None
    found = []
    for one in (clock, *clock.others):
        by_lot, by_shrub, levels = _posterior(one, temps, first_doy, notes, levels)
        names = (map(int, labels), map(int, lots))
        tables = [
            dict(zip(n, map(tuple, t.tolist()), strict=True))
            for n, t in zip(names, (by_shrub, by_lot), strict=True)
        ]
        found.append(replace(one, shrubs=tables[0], lots=tables[1], n_records=len(rows), others=()))
    return replace(found[0], others=tuple(found[1:]))


def _bounds(seen: ArrayLike) -> Floats:
    bounds = np.asarray(seen, dtype=np.float64).reshape(-1, 2)
    low, high = bounds.T
    refuse_where("seen", bounds, np.isnan(bounds), "a day of year, or ±inf for an open side")
    refuse_where("seen", bounds, (low > high)[:, None] & [True, False], "at most the second day")
    wide = np.isinf(low) & np.isinf(high)
    refuse_where("seen", bounds, wide[:, None] & [True, True], "at least one finite side")
    return bounds


def _rows(season: ArrayLike, temps: Floats) -> Ints:
    """Checked here, as compiled code reads whatever memory a wrong row points to."""
    return int_array("season", season, ndim=1, low=0, high=len(temps) - 1)


def _posterior(
    clock: Clock,
    temps: Floats,
    first_doy: int,
    notes: tuple[Ints, Floats, Ints, Ints],
    levels: Floats | None,
) -> tuple[Floats, Floats, Floats]:
    """Mean and variance of lots' and shrubs' logarithms, and where shrubs stand in the spread."""
    season, bounds, first, lot = notes
    sums = heat_sums(temps, first_doy, clock.base, clock.softness, clock.start_doy)
    middle = float(np.log(clock.requirement))
    narrowed = clock.scale / clock.residual_sd
    own = narrowed * np.sqrt(max(clock.residual_sd**2 - clock.season_sd**2, 0.09))
    scales = np.array([own, clock.spread, max(clock.lot_spread, 1e-3), max(clock.season_sd, 1e-3)])
    start = np.zeros(len(lot)) if levels is None else levels
    _, _, lots, shrubs = pooled_fit(
        sums,
        season,
        first_doy,
        np.ascontiguousarray(bounds[:, 0]),
        np.ascontiguousarray(bounds[:, 1]),
        first.astype(np.int64),
        lot,
        season,
        scales,
        clock.tail,
        np.array([middle, _UNSURE]),
        middle + clock.spread * start,
    )
    return lots, shrubs, (shrubs[:, 0] - middle) / clock.spread


def ripening_habits(
    ripening: Ripening,
    leaf_out: ArrayLike,
    season_temps: ArrayLike,
    tests: ArrayLike,
    *,
    season: ArrayLike,
    shrub: ArrayLike,
    first_doy: int = 1,
) -> Ripening:
    """Return the ripening with the habit of every shrub that has roll-out tests.

    Parameters
    ----------
    ripening : as `fit_ripening` learned it from some of the shrubs
    leaf_out : (n,) float, day of year of leaf stage 11 of that shrub in that season
    season_temps : (n_seasons, n_days) float, daily mean °C
    tests : (n, 3) int, day of year, nuts tried, and of those that rolled out
    season : (n,) int, row of `season_temps` of each test
    shrub : (n,) int labels
    first_doy : day of year of column 0

    Returns
    -------
    Ripening
        With `shrubs` and `n_tests` of all tests.

    Raises
    ------
    BadArgumentError
        As `fit_ripening`, or for a row that `season_temps` does not have.

    Notes
    -----
    Source: the last step of `fit_ripening` with the shared values held.
    Valid:  tests of the planting that the ripening was learned in.

    Examples
    --------
    >>> from nuttery.science.bloom import prior_ripening
    >>> warm, tests = np.full((1, 300), 20.0), [(225, 4, 0), (229, 4, 2), (233, 4, 4)]
    >>> three = {"season": [0, 0, 0], "shrub": [7, 7, 7]}
    >>> told = ripening_habits(prior_ripening(), [130.0] * 3, warm, tests, **three)
    >>> told.n_tests, bool(told.log_requirement(7)[0] < told.log_requirement()[0])
    (3, True)
    """
    temps, labels = season_table(season_temps), int_array("shrub", shrub, ndim=1)
    rows = _rows(season, temps)
    told = int_array("tests", tests).reshape(-1, 3)
    columns = [float_array("leaf_out", leaf_out, ndim=1), *told.T]
    same_length(tests=told, leaf_out=columns[0], season=rows, shrub=labels)
    every = np.unique(labels)
    posterior: dict[int, tuple[float, float]] = {}
    for first in range(0, len(every), _AT_ONCE):
        mine = np.isin(labels, every[first : first + _AT_ONCE])
        parts = [column[mine] for column in columns]
        posterior |= habits_from_tests(
            ripening, parts, temps[rows[mine]], shrub=labels[mine], first_doy=first_doy
        )
    return replace(ripening, shrubs=posterior, n_tests=len(labels), is_prior=not posterior)
