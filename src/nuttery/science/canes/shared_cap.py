"""All stools together under one cap on cuts: a price for each winter's cuts, and a pool of plans.

Each stool is planned on its own, its cuts charged at the winters' prices; a small program then
chooses one plan a stool from the pool so that the cap holds, and its prices lead the next round.
Whatever the prices, what the stools are worth at them plus what the cap is worth at them bounds
every plan within the cap.
"""

from dataclasses import dataclass, field

import numpy as np
import scipy.sparse as sp

from nuttery.science.arguments import Floats, Ints
from nuttery.science.canes.rules import Rules, plan_value, standing_canes
from nuttery.science.canes.solver import Relaxed, maximise, relaxed
from nuttery.science.canes.stool import StoolPlans
from nuttery.science.canes.stool_model import Block

ROUNDING = 1e-6
OPEN = 25  # stools that may choose anew when the mixture is made whole
NEAR = 12  # plans of each that they choose from
NODES = 60  # branches of that choice


@dataclass
class Pool:
    """Plans found so far: of which stool, what they are worth and how much they cut each winter."""

    counts: Ints
    rules: Rules
    stool: list[int] = field(default_factory=list)
    kept: list[Ints] = field(default_factory=list)
    value: list[float] = field(default_factory=list)
    cuts: list[Ints] = field(default_factory=list)
    known: dict[tuple[int, bytes], int] = field(default_factory=dict)

    def cuts_of(self, stool: int, kept: Ints) -> Ints:
        """Cuts of age 2 and older in each winter of one stool's plan, (years,)."""
        stood = standing_canes(self.counts[stool][None], kept[None], self.rules.suckers)[0]
        cuts: Ints = (stood - kept)[:, 2:].sum(axis=1)
        return cuts

    def add(self, stool: int, plans: Ints) -> int:
        """Add plans (k, years, A) of one stool, and say where the last of them stands.

        Of plans that cut as much in every winter only the best stays.
        """
        place = -1
        for kept, value in zip(plans, plan_value(plans, self.rules), strict=True):
            cuts = self.cuts_of(stool, kept)
            place = self.known.setdefault((stool, cuts.tobytes()), len(self.stool))
            if place == len(self.stool):
                self.stool.append(stool)
                self.kept.append(kept)
                self.value.append(float(value))
                self.cuts.append(cuts)
            elif value > self.value[place]:
                self.kept[place], self.value[place] = kept, float(value)
        return place

    def best_of_each(self) -> Ints:
        """The plan of most value of each stool, whatever it cuts, (stools,)."""
        order = np.lexsort((-np.array(self.value), np.array(self.stool)))
        return order[np.searchsorted(np.array(self.stool)[order], np.arange(len(self.counts)))]

    def mixed(self, times: Ints, caps: Ints) -> Relaxed:
        """The best mixture of the plans known, `times` plans of each stool, within the caps."""
        return relaxed(self._choice(np.arange(len(self.stool)), times, caps))

    def prices(self, mixed: Relaxed) -> Floats:
        """What one more cut is worth in each winter, by a mixture of plans, (years,)."""
        return np.maximum(0.0, mixed.row_prices[-self.rules.years :])

    def chosen(self, mixed: Relaxed, times: Ints, caps: Ints) -> list[list[int]]:
        """Plans for each stool, as often as it stands in the planting, within the caps.

        What the mixture has in whole numbers stays; the stools that it splits, and those that
        would change most cheaply, choose anew from their plans of least regret.
        """
        stool = np.array(self.stool)
        whole = np.floor(mixed.x + ROUNDING).astype(np.int64)
        whole[np.isin(stool, self._open_stools(mixed, whole, times))] = 0
        left = times - np.bincount(stool, whole, len(times)).astype(np.int64)
        spare = caps - (whole @ np.array(self.cuts)).astype(np.int64)
        plans = self._least_regret(mixed, left)
        model = self._choice(plans, left, spare)
        again = maximise(model, gap=0.0, max_nodes=NODES)
        whole[plans] += np.rint(again.x).astype(np.int64)
        return self._hands(whole, len(times))

    def _choice(self, plans: Ints, times: Ints, caps: Ints) -> Block:
        """The program that chooses among some plans, `times` of each stool, within the caps."""
        stool, many = np.array(self.stool)[plans], len(plans)
        one = sp.csr_array((np.ones(many), (stool, np.arange(many))), shape=(len(times), many))
        cuts = sp.csr_array(np.array(self.cuts, dtype=np.float64)[plans].T)
        return Block(
            value=np.array(self.value)[plans],
            rows=sp.csr_array(sp.vstack([one, cuts])),
            rows_low=np.concatenate([times, np.full(len(caps), -np.inf)]),
            rows_high=np.concatenate([times, caps]).astype(np.float64),
            low=np.zeros(many),
            high=times[stool].astype(np.float64),
            whole=np.ones(many, dtype=np.bool_),
        )

    def _open_stools(self, mixed: Relaxed, whole: Ints, times: Ints) -> Ints:
        """Stools that the mixture splits, and as many more as may choose anew, the cheapest."""
        stool = np.array(self.stool)
        split = np.bincount(stool, whole, len(times)) < times
        regret = np.where(mixed.x > ROUNDING, np.inf, np.abs(mixed.column_prices))
        cheapest = np.full(len(times), np.inf)
        np.minimum.at(cheapest, stool, regret)
        cheapest[split] = -1.0
        return np.argsort(cheapest, kind="stable")[: max(OPEN, int(split.sum()))]

    def _least_regret(self, mixed: Relaxed, left: Ints) -> Ints:
        """The plans of the open stools that the mixture regrets least, and the sparing ones."""
        stool = np.array(self.stool)
        order = np.lexsort((np.abs(mixed.column_prices), stool))
        first = np.searchsorted(stool[order], stool[order])
        rank = np.arange(len(order)) - first
        near = order[(left[stool[order]] > 0) & (rank < NEAR)]
        sparing = np.flatnonzero(np.array(self.cuts).sum(axis=1) == 0)
        return np.union1d(near, sparing[left[stool[sparing]] > 0])

    def _hands(self, picked: Ints, stools: int) -> list[list[int]]:
        plans: list[list[int]] = [[] for _ in range(stools)]
        for plan in np.flatnonzero(picked):
            plans[self.stool[plan]] += [int(plan)] * int(picked[plan])
        return plans


def bound_at(prices: Floats, caps: Floats, times: Ints, plans: dict[int, StoolPlans]) -> float:
    """What no plan within the caps can exceed, from the stools' bounds at the prices of cuts."""
    stools = sum(float(times[row]) * found.bound for row, found in plans.items())
    return float(prices @ caps) + stools
