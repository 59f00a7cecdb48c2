"""How well a clock's shared values agree with the notes and with what was believed before."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from nuttery.science.arguments import Floats, Ints
from nuttery.science.bloom.clock import Clock
from nuttery.science.bloom.heat import GAUSS, heat_sums, linear_fit, pooled_fit, reached
from nuttery.science.bloom.notes import Notes

WHOLE_DAYS = 0.3  # days; dates are noted as whole days, so no error is smaller than 1/√12
_WIDEST = 2.0  # of the logarithm of the heat between a note's two days


@dataclass(frozen=True)
class Theta:
    """What the search moves; the requirements follow from it."""

    base: float
    start: float
    softness: float
    log_scale: float
    log_spread: float
    log_lots: float
    log_season: float

    @staticmethod
    def of(vector: Floats) -> "Theta":
        """Values from the vector that the search moves."""
        base, start, softness, *logs = (float(v) for v in vector)
        logs = [float(v) for v in np.clip(logs, np.log([WHOLE_DAYS, 1e-4, 1e-4, 1e-3]), 4.0)]
        return Theta(base, start, abs(softness), *logs)

    @property
    def logs(self) -> Floats:
        """Logarithms of the scales."""
        return np.array([self.log_scale, self.log_spread, self.log_lots, self.log_season])

    @property
    def scales(self) -> Floats:
        """Error of a note, spread of shrubs, spread of lots, error of a season."""
        return np.asarray(np.exp(self.logs), dtype=np.float64)


class Search:
    """Marginal likelihood of the notes, with the prior, as a function of what is searched."""

    def __init__(self, notes: Notes, prior: Clock, tail: int, free: NDArray[np.bool_]) -> None:
        self.notes, self.prior, self.tail, self.free = notes, prior, tail, free
        self.first, self.effect = notes.first, notes.effect
        self.offsets = np.zeros(len(notes.lot))
        self.last = max(notes.first_doy, float(_earliest(notes)) - 3)

    def start(self, theta: Theta) -> float:
        """Start day within the days that the notes can tell of."""
        return min(max(theta.start, float(self.notes.first_doy)), self.last)

    def solve(self, theta: Theta) -> tuple[float, Floats, Floats, Floats]:
        """What `pooled_fit` finds with these values; the next search begins at its shrubs."""
        notes = self.notes
        start = self.start(theta)
        sums = heat_sums(notes.temps, notes.first_doy, theta.base, theta.softness, start)
        expected = np.log(heat_at(sums, notes.season, notes.first_doy, notes.expected)).mean()
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
        """Minus the logarithm of likelihood times prior."""
        theta = Theta.of(vector)
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


class InHeat(Search):
    """The same with the error taken in heat, where a note tells the heat between its two days.

    Nothing is searched within, so that it is smooth in base and start; notes open on a side tell
    nothing here.
    """

    def __init__(self, notes: Notes, prior: Clock, free: NDArray[np.bool_]) -> None:
        super().__init__(notes, prior, GAUSS, free)
        both = np.isfinite(notes.low) & np.isfinite(notes.high)
        half = np.maximum(0.5 - (notes.high - notes.low)[both] / 2, 0.0)
        self.season, self.effect = notes.season[both], self.effect[both]
        self.begin, self.end = notes.low[both] - half, notes.high[both] + half
        shrubs = np.arange(len(notes.lot) + 1)
        self.first = np.searchsorted(notes.shrub[both], shrubs).astype(np.int64)

    def cost(self, vector: Floats) -> float:
        """Minus the logarithm of likelihood times prior."""
        theta, notes = Theta.of(vector), self.notes
        start = self.start(theta)
        sums = heat_sums(notes.temps, notes.first_doy, theta.base, theta.softness, start)
        later = np.log(heat_at(sums, self.season, notes.first_doy, self.end))
        sooner = np.log(heat_at(sums, self.season, notes.first_doy, self.begin))
        width = np.clip(later - sooner, 1e-3, _WIDEST)
        middle = later - width / 2
        usual = np.full(len(sums), np.median(middle))
        rows = np.arange(len(sums))
        stretch = reached(sums, rows, notes.first_doy, usual, onward=True)[1][self.season]
        expected = heat_at(sums, notes.season, notes.first_doy, notes.expected)
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


def heat_at(sums: Floats, season: Ints, first_doy: int, day: Floats) -> Floats:
    """Heat sum at a day of year, between the ends of days in proportion; at least 0.1 degree-days.

    Parameters
    ----------
    sums : (n_seasons, n_days) float, degree-days
    season : (n,) int, row of `sums`
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
    >>> heat_at(np.array([[0.0, 1.0, 6.0]]), np.array([0]), 1, np.array([3.0]))
    array([3.5])
    """
    place = np.clip(day + 0.5 - first_doy, 0, sums.shape[1] - 1e-6)
    k = place.astype(np.int64)
    before = np.where(k > 0, sums[season, k - 1], 0.0)
    heat: Floats = before + (place - k) * (sums[season, k] - before)
    return np.maximum(heat, 0.1)


def _misfit(theta: Theta, prior: Clock, free: NDArray[np.bool_]) -> float:
    base_sd, start_sd = prior.theta_sd
    z = np.array([(theta.base - prior.base) / base_sd, (theta.start - prior.start_doy) / start_sd])
    spread = ((theta.logs - known_logs(prior)) / 0.7)[free[3:]]
    return 0.5 * float((z**2).sum() + (spread**2).sum() + (theta.softness / 4) ** 2)


def known_logs(prior: Clock) -> Floats:
    """Logarithms of what the prior says of the error, the shrubs, the lots and the seasons."""
    own = np.sqrt(max(prior.residual_sd**2 - prior.season_sd**2, WHOLE_DAYS**2))
    logs: Floats = np.log([own, prior.spread, max(prior.lot_spread, 0.03), prior.season_sd])
    return logs


def _earliest(notes: Notes) -> float:
    bounds = np.concatenate([notes.low, notes.high])
    return float(np.quantile(bounds[np.isfinite(bounds)], 0.01))
