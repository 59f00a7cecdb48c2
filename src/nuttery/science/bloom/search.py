"""The search for a clock's shared values, and for others that the notes allow beside the best."""

from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from nuttery.science.arguments import Floats
from nuttery.science.bloom.clock import Clock
from nuttery.science.bloom.heat import GAUSS
from nuttery.science.bloom.likelihood import WHOLE_DAYS, InHeat, Search, known_logs
from nuttery.science.bloom.notes import Notes

_TAILS = (GAUSS, 8, 4)
_FEW = 700  # notes on which a first, quick search is made
_FEWEST = 8  # notes with both sides known from which the search runs on their heat
_WORTH_SOFTNESS = 3.0  # log-likelihood by which a rounded threshold must beat a sharp one


def searched(notes: Notes, prior: Clock, free: NDArray[np.bool_]) -> tuple[Search, list[Floats]]:
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
    valley = Valley(smooth, prior)
    axes = valley.axes(start)
    moves = axes.T * valley.units
    ways = [
        start,
        smooth.run(start, moves, 60),
        Search(notes, prior, 8, mask).run(start, moves, 60),
    ]
    best = min(ways, key=lambda vector: _fresh_cost(notes, prior, mask, vector))
    search = Search(notes, prior, _best_tail(few, prior, mask, best), mask)
    best = _spreads(search, best)
    return search, [best, *valley.around(best, axes)]


def _spreads(search: Search, vector: Floats) -> Floats:
    """The same with error and spreads as the notes have them; base, start and softness held."""
    held = search.free & (np.arange(7) > 2)
    moves = np.diag(np.full(7, 0.15)[held])
    found = Search(search.notes, search.prior, search.tail, held).run(vector, moves, 40)
    return min((vector, found), key=search.cost)


def _fresh_cost(notes: Notes, prior: Clock, free: NDArray[np.bool_], vector: Floats) -> float:
    """Cost that does not depend on what was tried before it."""
    return Search(notes, prior, 8, free).cost(vector)


def _smooth(notes: Notes, prior: Clock, free: NDArray[np.bool_]) -> Search:
    """The smooth way to search where enough notes have both sides, else the way for any notes."""
    both = np.isfinite(notes.low) & np.isfinite(notes.high)
    few = both.sum() < max(_FEWEST, len(both) / 4)
    return Search(notes, prior, 8, free) if few else InHeat(notes, prior, free)


def _start(notes: Notes, prior: Clock, free: NDArray[np.bool_]) -> Floats:
    """Better of two searches from a coarse grid: with the error in days, and with it in heat."""
    steps = np.diag(np.array([1.5, 10.0, 1.5, 0.3, 0.4, 0.4, 0.4])[free])
    found = []
    for search in (Search(notes, prior, 8, free), _smooth(notes, prior, free)):
        corner = min(_grid(search, prior, free), key=search.cost)
        found.append(search.run(corner, steps, 150))
    return min(found, key=lambda vector: _fresh_cost(notes, prior, free, vector))


def _grid(search: Search, prior: Clock, free: NDArray[np.bool_]) -> list[Floats]:
    """Corners of a coarse grid of base and start day."""
    logs = np.where(free[3:], known_logs(prior), np.log([WHOLE_DAYS, 1e-4, 1e-4, 1e-3]))
    softness = 0.0 if not free[2] else max(2.0, prior.softness)
    earliest, latest = search.notes.first_doy, search.last
    starts = np.unique(np.clip([prior.start_doy, 0.0, 32.0, 60.0, 91.0], earliest, latest - 2))
    return [
        np.array([base, day, softness, *logs])
        for base in sorted({prior.base, 0.0, 3.0, 6.0, 10.0})
        for day in starts
    ]


def _best_tail(notes: Notes, prior: Clock, free: NDArray[np.bool_], vector: Floats) -> int:
    """Shape of the error that fits best, each with its own scale."""

    def cost(tail: int) -> float:
        search = Search(notes, prior, tail, free)
        return min(
            search.cost(vector + shift * (np.arange(7) == 3)) for shift in (-0.15, 0.0, 0.15)
        )

    return min(_TAILS, key=cost)


class Valley:
    """The cost of all notes about its minimum, as a quadratic in units of the prior's spread.

    In these units the prior's curvature is 1, so no direction is taken as flatter than that.
    """

    steps = (0.1, 0.3, 1.0)

    def __init__(self, search: Search, prior: Clock) -> None:
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
