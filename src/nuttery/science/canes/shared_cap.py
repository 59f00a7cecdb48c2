"""All stools together under one cap on cuts: a price for each winter's cuts, and a pool of plans.

Each stool is planned on its own, its cuts charged at the winters' prices; a small program then
chooses one plan a stool from the pool so that the cap holds, and its prices lead the next round.
Whatever the prices, what the stools are worth at them plus what the cap is worth at them bounds
every plan within the cap.
"""

from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
import scipy.sparse as sp

from nuttery.science.arguments import Floats, Ints
from nuttery.science.canes.packing import Known, packed
from nuttery.science.canes.rules import Rules, plan_value, standing_canes
from nuttery.science.canes.stool import StoolPlans

ROUNDING = 1e-6


class Mixed(NamedTuple):
    """A mixture of plans: its worth, how much of each plan of the pool, the prices of cuts."""

    value: float
    x: Floats
    prices: Floats


@dataclass
class Pool:
    """Plans found so far: of which stool, their worth, cuts of each winter."""

    counts: Ints
    rules: Rules
    stool: list[int] = field(default_factory=list)
    kept: list[Ints] = field(default_factory=list)
    value: list[float] = field(default_factory=list)
    cuts: list[Ints] = field(default_factory=list)
    known: dict[tuple[int, bytes], int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.of: list[list[int]] = [[] for _ in self.counts]

    def add(self, stool: int, plans: Ints) -> int:
        """Add plans (k, years, A) of one stool, and say where the last of them stands.

        A plan that cuts as much in every winter as one known, and is no better, is left out.
        """
        cuts, place = self._cuts_of(stool, plans), -1
        for kept, cut, value in zip(plans, cuts, plan_value(plans, self.rules), strict=True):
            key = (stool, cut.tobytes())
            place = self.known.get(key, -1)
            if place < 0 or value > self.value[place] + ROUNDING:
                place = self.known[key] = len(self.stool)
                self.of[stool].append(place)
                self.stool.append(stool)
                self.kept.append(kept.astype(np.int16))
                self.value.append(float(value))
                self.cuts.append(cut)
        return place

    def place(self, stool: int, kept: Ints) -> int:
        """Where the best plan known with the cuts of this one (years, A) stands."""
        return self.known[stool, self._cuts_of(stool, kept[None])[0].tobytes()]

    def _cuts_of(self, stool: int, plans: Ints) -> Ints:
        start = np.repeat(self.counts[stool][None], len(plans), axis=0)
        cuts: Ints = (standing_canes(start, plans, self.rules.suckers) - plans)[..., 2:].sum(axis=2)
        return cuts

    def best_at(self, prices: Floats, rows: Ints) -> dict[int, StoolPlans]:
        """The best plan of each of the stools `rows` at these prices of cuts, where one was found.

        The first plans of the pool, those without cuts, are not counted.
        """
        none = np.zeros(0, dtype=np.int64)
        best: dict[int, StoolPlans] = {}
        for row in rows.tolist():
            places = self.of[row][1:]
            if places:
                cuts = np.array([self.cuts[k] for k in places])
                worth = np.array([self.value[k] for k in places]) - cuts @ prices
                first = int(np.argmax(worth))
                kept = self.kept[places[first]][None].astype(np.int64)
                best[row] = StoolPlans(kept, worth[[first]], np.inf, none)
        return best

    def best_of_each(self, prices: Floats) -> Ints:
        """The plan worth most of each stool, its cuts at these prices, (stools,)."""
        worth = np.array(self.value) - np.array(self.cuts) @ prices
        order = np.lexsort((-worth, np.array(self.stool)))
        return order[np.searchsorted(np.array(self.stool)[order], np.arange(len(self.counts)))]

    def chosen(self, mixed: Mixed, times: Ints, caps: Ints, *, unit: float) -> list[list[int]]:
        """Plans for each stool, as often as it stands in the planting, near the caps.

        Parameters
        ----------
        mixed : the best mixture of the plans known
        times : (stools,) int
        caps : (years,) int
        unit : float, kg, what a single cane can make or lose
        """
        owner, value, cuts = np.array(self.stool), np.array(self.value), np.array(self.cuts)
        order = np.lexsort((cuts @ mixed.prices - value, owner))
        first = np.searchsorted(owner[order], np.arange(len(times) + 1))
        hands = np.repeat(np.arange(len(times)), times)
        place = np.empty(len(order), dtype=np.int64)
        place[order] = np.arange(len(order))
        start = place[np.concatenate(self._rounded(mixed, times))]
        known = Known(value[order], cuts[order], first)
        picked = packed(known, hands, start, caps=caps, prices=mixed.prices, unit=unit)
        plans: list[list[int]] = [[] for _ in times]
        for stool, plan in zip(hands.tolist(), order[picked].tolist(), strict=True):
            plans[stool].append(plan)
        return plans

    def _rounded(self, mixed: Mixed, times: Ints) -> list[Ints]:
        """The plans that a mixture has most of, `times` for each stool."""
        owner = np.array(self.stool)
        used = np.flatnonzero(mixed.x > ROUNDING)
        used = used[np.lexsort((-mixed.x[used], owner[used]))]
        edges = np.searchsorted(owner[used], np.arange(len(times) + 1))
        return [
            _most_of(used[low:high], mixed.x[used[low:high]], int(many))
            for low, high, many in zip(edges[:-1], edges[1:], times, strict=True)
        ]


def _most_of(plans: Ints, share: Floats, many: int) -> Ints:
    whole = np.floor(share + ROUNDING).astype(np.int64)
    rest = np.argsort(whole - share, kind="stable")
    whole[rest[: many - int(whole.sum())]] += 1
    return np.repeat(plans, whole)[:many]


class Mixture:
    """The best mixture of the plans of all stools within the caps, kept as plans come in.

    Parameters
    ----------
    pool : Pool
    times : (stools,) int, plans of each stool in the mixture
    caps : (years,) int, cuts of age 2 and older
    """

    def __init__(self, pool: Pool, times: Ints, caps: Ints) -> None:
        import highspy

        self.pool, self.caps = pool, caps
        self.solver = highspy.Highs()
        self.solver.silent()
        self.solver.setOptionValue("threads", 1)
        self._seen, self._stools = 0, len(times)
        years, stools = len(caps), len(times)
        self._slack = np.arange(2 * years, dtype=np.int32)
        model = highspy.HighsLp()
        model.sense_ = highspy.ObjSense.kMaximize
        model.num_col_, model.num_row_ = 2 * years, stools + years
        model.col_cost_ = np.zeros(2 * years)
        model.col_lower_, model.col_upper_ = np.zeros(2 * years), np.zeros(2 * years)
        model.row_lower_ = np.concatenate([times, np.full(years, -np.inf)]).astype(np.float64)
        model.row_upper_ = np.concatenate([times, caps]).astype(np.float64)
        rows = sp.csc_array(
            (np.repeat([-1.0, 1.0], years), (stools + np.tile(np.arange(years), 2), self._slack)),
            shape=(stools + years, 2 * years),
        )
        model.a_matrix_.format_ = highspy.MatrixFormat.kColwise
        model.a_matrix_.start_, model.a_matrix_.index_ = rows.indptr, rows.indices
        model.a_matrix_.value_ = rows.data
        self.solver.passModel(model)

    def best(self, low: Floats | None = None, high: Floats | None = None) -> Mixed:
        """Best mixture; cuts may be bought at `high` and sold at `low` (years,), if given."""
        self._take_in()
        years = len(self.caps)
        free = 0.0 if low is None else np.inf
        costs = np.zeros(2 * years)
        if low is not None and high is not None:
            costs = np.concatenate([-high, low])
        many = len(self._slack)
        self.solver.changeColsBounds(many, self._slack, np.zeros(many), np.full(many, free))
        self.solver.changeColsCost(many, self._slack, costs)
        self.solver.run()
        at = self.solver.getSolution()
        x = np.array(at.col_value)[many:]
        prices = np.maximum(0.0, np.array(at.row_dual)[-years:])
        return Mixed(float(self.solver.getInfo().objective_function_value), x, prices)

    def _take_in(self) -> None:
        """Add the plans that came into the pool since the last time."""
        pool = self.pool
        many = len(pool.stool) - self._seen
        if not many:
            return
        cuts = np.array(pool.cuts[self._seen :], dtype=np.float64)
        own = np.array(pool.stool[self._seen :])
        one = sp.csr_array((np.ones(many), (np.arange(many), own)), shape=(many, self._stools))
        rows = sp.csr_array(sp.hstack([one, sp.csr_array(cuts)]))
        self.solver.addCols(
            many,
            np.array(pool.value[self._seen :]),
            np.zeros(many),
            np.full(many, np.inf),
            rows.nnz,
            rows.indptr[:-1].astype(np.int32),
            rows.indices.astype(np.int32),
            rows.data,
        )
        self._seen = len(pool.stool)


def bound_at(
    prices: Floats, caps: Floats | Ints, times: Ints, plans: dict[int, StoolPlans]
) -> float:
    """What no plan within the caps can exceed, from the stools' bounds at the prices of cuts."""
    stools = sum(float(times[row]) * found.bound for row, found in plans.items())
    return float(prices @ caps) + stools


def worth_at(prices: Floats, caps: Ints, times: Ints, plans: dict[int, StoolPlans]) -> float:
    """What the bound at these prices cannot be brought below, from the plans found."""
    stools = sum(float(times[row]) * float(found.worth[0]) for row, found in plans.items())
    return float(prices @ caps) + stools
