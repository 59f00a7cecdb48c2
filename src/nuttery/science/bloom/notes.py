"""Notes of when a stage came, read and laid out for the search of a clock."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nuttery.science.arguments import Floats, Ints, int_array, refuse_where
from nuttery.science.bloom.clock import Clock
from nuttery.science.bloom.heat import heat_sums, reached
from nuttery.science.errors import BadArgumentError

_SEASONS = 100  # seasons shared by notes up to which the error of each is told apart
_OPEN_SIDE = 10.0  # days from the one known bound to where a note with an open side is first put


@dataclass(frozen=True)
class Notes:
    """Notes ready for the search: temperatures, bounds, and indices instead of labels."""

    temps: Floats  # one row a season; many shrubs share one
    season: Ints
    first_doy: int
    low: Floats
    high: Floats
    shrub: Ints
    lot: Ints
    expected: Floats  # day of year that the prior expects

    @property
    def first(self) -> Ints:
        """Where each shrub's notes begin, and the number of notes."""
        return np.searchsorted(self.shrub, np.arange(len(self.lot) + 1)).astype(np.int64)

    @property
    def effect(self) -> Ints:
        """Index of the season whose error a note shares with others, −1 where it stands alone."""
        shared = np.bincount(self.season) > 1
        if shared.sum() > _SEASONS:
            return np.full(len(self.season), -1)
        index = np.where(shared, np.cumsum(shared) - 1, -1)
        return index[self.season].astype(np.int64)

    def some(self, n: int) -> "Notes":
        """About `n` of the notes, whole shrubs at a time, evenly over the labels."""
        stride = max(1, round(len(self.low) / n))
        chosen = np.flatnonzero(self.shrub % stride == 0)
        if stride == 1 or len(chosen) < n / 3:
            chosen = np.arange(len(self.low))[::stride]
        chosen = chosen[np.argsort(self.shrub[chosen], kind="stable")]
        labels, shrub = np.unique(self.shrub[chosen], return_inverse=True)
        _, lot = np.unique(self.lot[labels], return_inverse=True)
        seasons, season = np.unique(self.season[chosen], return_inverse=True)
        return Notes(
            self.temps[seasons],
            season.astype(np.int64),
            self.first_doy,
            self.low[chosen],
            self.high[chosen],
            shrub.astype(np.int64),
            lot.astype(np.int64),
            self.expected[chosen],
        )


def noted_bounds(seen: ArrayLike, first_doy: int, n_days: int) -> tuple[Floats, Floats]:
    """Bounds of each note on the scale where day 103 lasts from 102.5 to 103.5."""
    try:
        table = np.asarray(seen, dtype=np.float64)
    except (TypeError, ValueError) as problem:
        raise BadArgumentError(f"seen: found {seen!r}, expected days of year") from problem
    if not (table.ndim == 1 or (table.ndim == 2 and table.shape[1] == 2)):
        raise BadArgumentError(f"seen: found shape {table.shape}, expected (n,) or (n, 2)")
    refuse_where("seen", table, np.isnan(table), "a day of year, or ±inf for an open side")
    if table.ndim == 1:
        table = np.column_stack([table, table])
        refuse_where("seen", table[:, 0], np.isinf(table[:, 0]), "a day of year")
    low, high = table.T
    refuse_where("seen", table, (low > high)[:, None] & [True, False], "at most the second day")
    wrong = (low == np.inf) | (high == -np.inf) | (np.isinf(low) & np.isinf(high))
    refuse_where("seen", table, wrong[:, None] & [True, True], "at least one finite side")
    last = first_doy + n_days - 1
    outside = np.isfinite(table) & ((table < first_doy - 1) | (table > last))
    expected = f"within the days given, {first_doy - 1} to {last}"
    refuse_where("seen", table, outside, expected)
    exact = low == high
    return np.where(exact, low, low + 0.5), np.where(exact, high, high + 0.5)


def label_indices(
    shrub: ArrayLike | None, lot: ArrayLike | None, n: int
) -> tuple[list[int], Ints, list[int], Ints]:
    """Labels of shrubs, index of each note's shrub, labels of lots, index of each shrub's lot."""
    owners = np.zeros(n, dtype=np.int64) if shrub is None else _column("shrub", shrub, n)
    lots = np.zeros(n, dtype=np.int64) if lot is None else _column("lot", lot, n)
    labels, first, index = np.unique(owners, return_index=True, return_inverse=True)
    refuse_where("lot", lots, lots != lots[first][index], "one lot for all notes of a shrub")
    lot_labels, lot_index = np.unique(lots[first], return_inverse=True)
    return (
        [int(label) for label in labels],
        index.astype(np.int64),
        [int(label) for label in lot_labels],
        lot_index.astype(np.int64),
    )


def _column(name: str, labels: ArrayLike, n: int) -> Ints:
    column = int_array(name, labels, ndim=1)
    if len(column) != n:
        raise BadArgumentError(f"{name}: found length {len(column)}, expected {n} as seen")
    return column


def guessed_days(low: Floats, high: Floats) -> Floats:
    """Middle of each note's bounds, and some days beside the one bound of an open one."""
    middle = np.where(
        np.isinf(low), high - _OPEN_SIDE, np.where(np.isinf(high), low + _OPEN_SIDE, 0.0)
    )
    both = np.isfinite(low) & np.isfinite(high)
    middle[both] = (low[both] + high[both]) / 2
    return middle


def expected_days(temps: Floats, first_doy: int, prior: Clock, guess: Floats) -> Floats:
    """Day that the prior expects of each note; a prior without a date expects the data's own."""
    if np.isnan(prior.requirement):
        return np.full(len(temps), float(np.median(guess)))
    sums = heat_sums(temps, first_doy, prior.base, prior.softness, prior.start_doy)
    level = np.full(len(temps), np.log(prior.requirement))
    days: Floats = reached(sums, np.arange(len(temps)), first_doy, level, onward=True)[0]
    return days


def different_seasons(temps: Floats) -> tuple[Floats, Ints]:
    """Different rows of a table, and which of them each row is."""
    place: dict[bytes, int] = {}
    season = np.array([place.setdefault(row.tobytes(), len(place)) for row in temps])
    _, first = np.unique(season, return_index=True)
    return np.ascontiguousarray(temps[first]), season.astype(np.int64)
