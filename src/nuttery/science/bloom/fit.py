"""Learning a thermal clock from notes: base, start day, requirement, and each shrub's own habit."""

from dataclasses import dataclass, replace
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from nuttery.science.arguments import Floats, Ints, int_array, refuse_where
from nuttery.science.bloom.clock import Clock, season_table
from nuttery.science.bloom.heat import GAUSS, heat_sums, linear_fit, pooled_fit, reached
from nuttery.science.errors import BadArgumentError

_TAILS = (GAUSS, 8, 4)
_SEASONS = 100  # seasons shared by notes up to which the error of each is told apart
_FEW = 700  # notes on which a first, quick search is made
_FEWEST = 8  # notes with both sides known from which the search runs on their heat
_WIDEST = 2.0  # of the logarithm of the heat between a note's two days
_OPEN_SIDE = 10.0  # days from the one known bound to where a note with an open side is first put
_WHOLE_DAYS = 0.3  # days; dates are noted as whole days, so no error is smaller than 1/√12
_WORTH_SOFTNESS = 3.0  # log-likelihood by which a rounded threshold must beat a sharp one
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


@dataclass(frozen=True)
class _Notes:
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

    def some(self, n: int) -> "_Notes":
        """About `n` of the notes, whole shrubs at a time, evenly over the labels."""
        stride = max(1, round(len(self.low) / n))
        chosen = np.flatnonzero(self.shrub % stride == 0)
        if stride == 1 or len(chosen) < n / 3:
            chosen = np.arange(len(self.low))[::stride]
        chosen = chosen[np.argsort(self.shrub[chosen], kind="stable")]
        labels, shrub = np.unique(self.shrub[chosen], return_inverse=True)
        _, lot = np.unique(self.lot[labels], return_inverse=True)
        seasons, season = np.unique(self.season[chosen], return_inverse=True)
        return _Notes(
            self.temps[seasons],
            season.astype(np.int64),
            self.first_doy,
            self.low[chosen],
            self.high[chosen],
            shrub.astype(np.int64),
            lot.astype(np.int64),
            self.expected[chosen],
        )


@dataclass(frozen=True)
class _Theta:
    """What the search moves; the requirements follow from it."""

    base: float
    start: float
    softness: float
    log_scale: float
    log_spread: float
    log_lots: float
    log_season: float

    @staticmethod
    def of(vector: Floats) -> "_Theta":
        base, start, softness, *logs = (float(v) for v in vector)
        logs = [float(v) for v in np.clip(logs, np.log([_WHOLE_DAYS, 1e-4, 1e-4, 1e-3]), 4.0)]
        return _Theta(base, start, abs(softness), *logs)

    @property
    def logs(self) -> Floats:
        return np.array([self.log_scale, self.log_spread, self.log_lots, self.log_season])

    @property
    def scales(self) -> Floats:
        return np.asarray(np.exp(self.logs), dtype=np.float64)


class _Search:
    """Marginal likelihood of the notes, with the prior, as a function of what is searched."""

    def __init__(self, notes: _Notes, prior: Clock, tail: int, free: NDArray[np.bool_]) -> None:
        self.notes, self.prior, self.tail, self.free = notes, prior, tail, free
        self.first, self.effect = notes.first, notes.effect
        self.offsets = np.zeros(len(notes.lot))
        self.last = max(notes.first_doy, float(_earliest(notes)) - 3)

    def start(self, theta: _Theta) -> float:
        """Start day within the days that the notes can tell of."""
        return min(max(theta.start, float(self.notes.first_doy)), self.last)

    def solve(self, theta: _Theta) -> tuple[float, Floats, Floats, Floats]:
        notes = self.notes
        start = self.start(theta)
        sums = heat_sums(notes.temps, notes.first_doy, theta.base, theta.softness, start)
        expected = np.log(heat_at(sums[notes.season], notes.first_doy, notes.expected)).mean()
        centre = np.array([expected, self.prior.level_sd])
        found: tuple[float, Floats, Floats, Floats] = pooled_fit(
            sums,
            notes.season,
            notes.first_doy,
            notes.low,
            notes.high,
            self.first,
            notes.lot,
            self.effect,
            theta.scales,
            self.tail,
            centre,
            expected + self.offsets,
        )
        self.offsets = np.clip(found[3][:, 0] - expected, -3, 3)
        return found

    def cost(self, vector: Floats) -> float:
        theta = _Theta.of(vector)
        return -self.solve(theta)[0] + _misfit(theta, self.prior, self.free)

    def run(self, start: Floats, moves: Floats, evaluations: int) -> Floats:
        """Values of least cost by the simplex method, from `start` and `start` + each move."""
        from scipy.optimize import minimize

        where = np.flatnonzero(self.free)

        def whole(part: Floats) -> Floats:
            vector = start.copy()
            vector[where] = part
            return vector

        corners = start[where] + np.vstack([np.zeros(len(where)), moves])
        options: Any = {"initial_simplex": corners, "maxfev": evaluations}
        options |= {"xatol": 0.02, "fatol": 0.02}
        first: Any = start[where]
        done: Any = minimize(  # type: ignore[call-overload]
            lambda part: self.cost(whole(part)), first, method="Nelder-Mead", options=options
        )
        return whole(done.x)


class _InHeat(_Search):
    """The same with the error taken in heat, where a note tells the heat between its two days.

    Nothing is searched within, so that it is smooth in base and start; notes open on a side tell
    nothing here.
    """

    def __init__(self, notes: _Notes, prior: Clock, free: NDArray[np.bool_]) -> None:
        super().__init__(notes, prior, GAUSS, free)
        both = np.isfinite(notes.low) & np.isfinite(notes.high)
        half = np.maximum(0.5 - (notes.high - notes.low)[both] / 2, 0.0)
        self.season, self.effect = notes.season[both], self.effect[both]
        self.begin, self.end = notes.low[both] - half, notes.high[both] + half
        shrubs = np.arange(len(notes.lot) + 1)
        self.first = np.searchsorted(notes.shrub[both], shrubs).astype(np.int64)

    def cost(self, vector: Floats) -> float:
        theta, notes = _Theta.of(vector), self.notes
        start = self.start(theta)
        sums = heat_sums(notes.temps, notes.first_doy, theta.base, theta.softness, start)
        later = np.log(_heat_of(sums, self.season, notes.first_doy, self.end))
        sooner = np.log(_heat_of(sums, self.season, notes.first_doy, self.begin))
        width = np.clip(later - sooner, 1e-3, _WIDEST)
        middle = later - width / 2
        usual = np.full(len(sums), np.median(middle))
        rows = np.arange(len(sums))
        stretch = reached(sums, rows, notes.first_doy, usual, onward=True)[1][self.season]
        expected = _heat_of(sums, notes.season, notes.first_doy, notes.expected)
        scale, *spreads = theta.scales
        told = linear_fit(
            middle,
            stretch,
            scale**2 + (stretch * width) ** 2 / 12,
            self.first,
            notes.lot,
            self.effect,
            np.array(spreads),
            np.array([np.log(expected).mean(), self.prior.level_sd]),
        )
        told += float(np.log(stretch * width).sum())
        return float(-told) + _misfit(theta, self.prior, self.free)


def _heat_of(sums: Floats, season: Ints, first_doy: int, day: Floats) -> Floats:
    """Heat sum at a day of each note's season, at least 0.1 degree-days."""
    place = np.clip(day + 0.5 - first_doy, 0, sums.shape[1] - 1e-6)
    k = place.astype(np.int64)
    before = np.where(k > 0, sums[season, k - 1], 0.0)
    heat: Floats = before + (place - k) * (sums[season, k] - before)
    return np.maximum(heat, 0.1)


def heat_at(sums: Floats, first_doy: int, day: Floats) -> Floats:
    """Heat sum at a day of year, between the ends of days in proportion; at least 0.1 degree-days.

    Parameters
    ----------
    sums : (n, n_days) float, degree-days
    first_doy : day of year of column 0
    day : (n,) float, day of year

    Returns
    -------
    (n,) float, degree-days

    Notes
    -----
    Source: definition.
    Valid:  days given; earlier ones count nothing, later ones as the last.

    Examples
    --------
    >>> heat_at(np.array([[0.0, 1.0, 6.0]]), 1, np.array([3.0]))
    array([3.5])
    """
    place = np.clip(day + 0.5 - first_doy, 0, sums.shape[1] - 1e-6)
    k = place.astype(np.int64)
    rows = np.arange(len(sums))
    before = np.where(k > 0, sums[rows, k - 1], 0.0)
    heat: Floats = before + (place - k) * (sums[rows, k] - before)
    return np.maximum(heat, 0.1)


def _misfit(theta: _Theta, prior: Clock, free: NDArray[np.bool_]) -> float:
    base_sd, start_sd = prior.theta_sd
    z = np.array([(theta.base - prior.base) / base_sd, (theta.start - prior.start_doy) / start_sd])
    spread = ((theta.logs - _known_logs(prior)) / 0.7)[free[3:]]
    return 0.5 * float((z**2).sum() + (spread**2).sum() + (theta.softness / 4) ** 2)


def _known_logs(prior: Clock) -> Floats:
    """Logarithms of what the prior says of the error, the shrubs, the lots and the seasons."""
    own = np.sqrt(max(prior.residual_sd**2 - prior.season_sd**2, _WHOLE_DAYS**2))
    logs: Floats = np.log([own, prior.spread, max(prior.lot_spread, 0.03), prior.season_sd])
    return logs


def _earliest(notes: _Notes) -> float:
    bounds = np.concatenate([notes.low, notes.high])
    return float(np.quantile(bounds[np.isfinite(bounds)], 0.01))


def _bounds(seen: ArrayLike, first_doy: int, n_days: int) -> tuple[Floats, Floats]:
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


def _indices(
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


def _guess(low: Floats, high: Floats) -> Floats:
    middle = np.where(
        np.isinf(low), high - _OPEN_SIDE, np.where(np.isinf(high), low + _OPEN_SIDE, 0.0)
    )
    both = np.isfinite(low) & np.isfinite(high)
    middle[both] = (low[both] + high[both]) / 2
    return middle


def _expected(temps: Floats, first_doy: int, prior: Clock, guess: Floats) -> Floats:
    """Day that the prior expects of each note; a prior without a date expects the data's own."""
    if np.isnan(prior.requirement):
        return np.full(len(temps), float(np.median(guess)))
    sums = heat_sums(temps, first_doy, prior.base, prior.softness, prior.start_doy)
    level = np.full(len(temps), np.log(prior.requirement))
    days: Floats = reached(sums, np.arange(len(temps)), first_doy, level, onward=True)[0]
    return days


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
    low, high = _bounds(seen, first_doy, temps.shape[1])
    if not len(low) or len(low) != len(temps):
        raise BadArgumentError(
            f"seen: found {len(low)} notes, expected as many as season_temps has rows "
            f"({len(temps)}), at least one"
        )
    labels, index, lot_labels, lot_index = _indices(shrub, lot, len(low))
    belief = _belief(prior)
    guess = _guess(low, high)
    order = np.argsort(index, kind="stable")
    temps, index = temps[order], index[order]
    low, high, guess = low[order], high[order], guess[order]
    keep = min(temps.shape[1], int(guess.max()) + 30 - first_doy)
    cut = np.ascontiguousarray(temps[:, :keep])
    expected = _expected(cut, first_doy, belief, guess)
    seasons, season = _seasons(cut)
    notes = _Notes(seasons, season, first_doy, low, high, index, lot_index, expected)
    seasonal = bool(notes.effect.max() >= 0)
    free = np.array([True, True, True, True, shrub is not None, lot is not None, seasonal])
    search, vectors = _searched(notes, belief, free)
    clock, *others = (
        _clock(search, vector, labels, lot_labels, given=shrub is not None) for vector in vectors
    )
    theta_sd = (
        float(np.std([one.base for one in (clock, *others)])),
        float(np.std([one.start_doy for one in (clock, *others)])),
    )
    return replace(clock, theta_sd=theta_sd, others=tuple(others))


def _seasons(temps: Floats) -> tuple[Floats, Ints]:
    """Different rows of a table, and which of them each row is."""
    place: dict[bytes, int] = {}
    season = np.array([place.setdefault(row.tobytes(), len(place)) for row in temps])
    _, first = np.unique(season, return_index=True)
    return np.ascontiguousarray(temps[first]), season.astype(np.int64)


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


def _searched(notes: _Notes, prior: Clock, free: NDArray[np.bool_]) -> tuple[_Search, list[Floats]]:
    """Best values, and others about them that the notes allow, with the error that fits them."""
    few = notes.some(_FEW)
    sharp = free.copy()
    sharp[2] = prior.softness > 0
    tried = []
    for mask in (sharp, free):
        vector = _start(few, prior, mask)
        worth = _WORTH_SOFTNESS * mask[2] * len(few.low) / len(notes.low)
        tried.append((_fresh_cost(few, prior, mask, vector) + worth, vector, mask))
        if prior.softness > 0:
            break
    _, start, mask = min(tried, key=lambda one: one[0])
    smooth = _smooth(notes, prior, mask)
    valley = _Valley(smooth, prior)
    axes = valley.axes(start)
    moves = axes.T * valley.units
    ways = [
        start,
        smooth.run(start, moves, 60),
        _Search(notes, prior, 8, mask).run(start, moves, 60),
    ]
    best = min(ways, key=lambda vector: _fresh_cost(notes, prior, mask, vector))
    search = _Search(notes, prior, _best_tail(few, prior, mask, best), mask)
    best = _spreads(search, best)
    return search, [best, *valley.around(best, axes)]


def _spreads(search: _Search, vector: Floats) -> Floats:
    """The same with error and spreads as the notes have them; base, start and softness held."""
    held = search.free & (np.arange(7) > 2)
    moves = np.diag(np.full(7, 0.15)[held])
    found = _Search(search.notes, search.prior, search.tail, held).run(vector, moves, 40)
    return min((vector, found), key=search.cost)


def _fresh_cost(notes: _Notes, prior: Clock, free: NDArray[np.bool_], vector: Floats) -> float:
    """Cost that does not depend on what was tried before it."""
    return _Search(notes, prior, 8, free).cost(vector)


def _smooth(notes: _Notes, prior: Clock, free: NDArray[np.bool_]) -> _Search:
    """The smooth way to search where enough notes have both sides, else the way for any notes."""
    both = np.isfinite(notes.low) & np.isfinite(notes.high)
    few = both.sum() < max(_FEWEST, len(both) / 4)
    return _Search(notes, prior, 8, free) if few else _InHeat(notes, prior, free)


def _start(notes: _Notes, prior: Clock, free: NDArray[np.bool_]) -> Floats:
    """Better of two searches from a coarse grid: with the error in days, and with it in heat."""
    steps = np.diag(np.array([1.5, 10.0, 1.5, 0.3, 0.4, 0.4, 0.4])[free])
    found = []
    for search in (_Search(notes, prior, 8, free), _smooth(notes, prior, free)):
        corner = min(_grid(search, prior, free), key=search.cost)
        found.append(search.run(corner, steps, 150))
    return min(found, key=lambda vector: _fresh_cost(notes, prior, free, vector))


def _grid(search: _Search, prior: Clock, free: NDArray[np.bool_]) -> list[Floats]:
    """Corners of a coarse grid of base and start day."""
    logs = np.where(free[3:], _known_logs(prior), np.log([_WHOLE_DAYS, 1e-4, 1e-4, 1e-3]))
    softness = 0.0 if not free[2] else max(2.0, prior.softness)
    earliest, latest = search.notes.first_doy, search.last
    starts = np.unique(np.clip([prior.start_doy, 0.0, 32.0, 60.0, 91.0], earliest, latest - 2))
    return [
        np.array([base, day, softness, *logs])
        for base in sorted({prior.base, 0.0, 3.0, 6.0, 10.0})
        for day in starts
    ]


def _best_tail(notes: _Notes, prior: Clock, free: NDArray[np.bool_], vector: Floats) -> int:
    """Shape of the error that fits best, each with its own scale."""

    def cost(tail: int) -> float:
        search = _Search(notes, prior, tail, free)
        return min(
            search.cost(vector + shift * (np.arange(7) == 3)) for shift in (-0.15, 0.0, 0.15)
        )

    return min(_TAILS, key=cost)


class _Valley:
    """The cost of all notes about its minimum, as a quadratic in units of the prior's spread.

    In these units the prior's curvature is 1, so no direction is taken as flatter than that.
    """

    steps = (0.1, 0.3, 1.0)

    def __init__(self, search: _Search, prior: Clock) -> None:
        self.search, self.where = search, np.flatnonzero(search.free)
        self.units = np.array([*prior.theta_sd, 4.0, 0.7, 0.7, 0.7, 0.7])[search.free]

    def cost(self, vector: Floats, move: Floats) -> float:
        """Cost of values moved by so many units."""
        return self.search.cost(self.moved(vector, move))

    def moved(self, vector: Floats, move: Floats) -> Floats:
        """Values moved by so many units."""
        there = vector.copy()
        there[self.where] += move * self.units
        return there

    def sides(self, vector: Floats, axis: Floats) -> tuple[float, float, float]:
        """A step along an axis that the cost feels above its own roughness, and cost both ways."""
        middle = self.search.cost(vector)
        for step in self.steps:
            ahead, behind = self.cost(vector, step * axis), self.cost(vector, -step * axis)
            if ahead + behind - 2 * middle > 0.6:
                break
        return step, ahead - middle, behind - middle

    def axes(self, vector: Floats) -> Floats:
        """Axes of the posterior as columns, one standard deviation long."""
        size = len(self.where)
        eye = np.eye(size)
        middle = self.search.cost(vector)
        step, ahead, behind = np.array([self.sides(vector, axis) for axis in eye]).T
        bend = np.diag((ahead + behind) / step**2)
        for a, b in combinations(range(size), 2):
            both = self.cost(vector, step[a] * eye[a] + step[b] * eye[b]) - middle
            bend[a, b] = bend[b, a] = (both - ahead[a] - ahead[b]) / (step[a] * step[b])
        curvature, axes = np.linalg.eigh(bend)
        scaled: Floats = axes / np.sqrt(np.maximum(curvature, 1.0))
        return scaled

    def around(self, vector: Floats, axes: Floats) -> list[Floats]:
        """Two values along each axis that together have the posterior's spread.

        Where the valley is narrower than its middle told, a value is drawn in until its cost is
        what a quadratic valley would have there.
        """
        reach2 = len(self.where) + 0.5
        middle = self.search.cost(vector)
        values = []
        for move in np.vstack([axes.T, -axes.T]) * np.sqrt(reach2):
            here = move
            for _ in range(2):
                rise = self.cost(vector, here) - middle
                here = here * np.sqrt(min(1.0, 0.5 * reach2 / max(rise, 1e-9)))
            values.append(self.moved(vector, here))
        return values


def _clock(
    search: _Search, vector: Floats, labels: list[int], lot_labels: list[int], *, given: bool
) -> Clock:
    theta = _Theta.of(vector)
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
