"""Prices of cuts that follow the cuts made so far, so that stools planned in turn fit the caps."""

import numpy as np

from nuttery.science.arguments import Floats, Ints

PULL = 0.05  # change of price for twice the cuts that are due, share of the unit
DRIFT = 0.25  # part of that change that stays


class Following:
    """Which plan each stool has so far, the cuts of all of them, and the prices for the next.

    Parameters
    ----------
    times : (stools,) int, how many stand in the planting of each
    caps : (years,) int, cuts of age 2 and older
    prices : (years,) float, kg a cut, to begin with
    unit : float, kg, what a single cane can make or lose
    picked : (stools,) int, plan of each until its turn comes
    """

    def __init__(
        self, times: Ints, caps: Ints, prices: Floats, *, unit: float, picked: Ints
    ) -> None:
        self.times, self.caps, self.prices, self.unit = times, caps, prices, unit
        self.picked = picked
        self._had_turn = np.zeros(len(times), dtype=np.bool_)
        self._cuts = np.zeros((len(times), len(caps)))

    def prices_for(self, some: Ints) -> Floats:
        """Prices for the stools `some`: the more cuts the others make than are due, the dearer.

        Due to the stools that had their turn is their part of the caps.
        """
        others = np.where(self._had_turn, self.times, 0)
        others[some] = 0
        here = self.caps * (self.times[some].sum() / self.times.sum())
        due = self.caps * (others.sum() / self.times.sum())
        over = (others @ self._cuts - due) / np.maximum(1, here)
        change: Floats = PULL * self.unit * over
        prices: Floats = self.prices + change
        self.prices = np.maximum(0, self.prices + DRIFT * change)
        return prices

    def take(self, some: Ints, plans: Ints, cuts: Ints) -> None:
        """Let stools have these plans with these cuts (stools, years)."""
        self.picked[some] = plans
        self._cuts[some], self._had_turn[some] = cuts, True
