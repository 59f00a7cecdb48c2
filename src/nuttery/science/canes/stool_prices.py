"""Prices of a stool's relaxed model: what a crop, a place and a cut are worth at the margin."""

from typing import NamedTuple

import numpy as np

from nuttery.science.arguments import Floats, Ints
from nuttery.science.canes.rules import Rules, cut_limit
from nuttery.science.canes.stool_model import (
    Block,
    Layout,
    Rows,
    add_ageing_rows,
    add_balance_row,
    add_crop_rows,
    column_highs,
    column_lows,
    column_values,
)


class Prices(NamedTuple):
    """Marginal worth by winter: of the crop, of a place under the target, of a cut allowed."""

    crop: Floats
    place: Floats
    share: Floats


class RelaxedStool:
    """The relaxed model of a stool, solved again and again from where it last stood."""

    def __init__(self, rules: Rules) -> None:
        import highspy

        self.rules = rules
        self.at = Layout(rules.years, rules.ages)
        self.solver = highspy.Highs()
        self.solver.silent()
        self.solver.setOptionValue("threads", 1)
        self.solver.passModel(self._block().highs(relaxed=True))

    def _block(self) -> Block:
        rows, at, rules = Rows(), self.at, self.rules
        self.row_of: dict[str, list[int]] = {"balance": [], "place": [], "crop": [], "share": []}
        for t in range(rules.years):
            add_ageing_rows(rows, at, t)
            first = len(rows.low)
            add_balance_row(rows, at, t, 0)
            add_crop_rows(rows, at, t, rules)
            share = [(at.kept[t - 1], -rules.max_share)] if t else []
            rows.add(-np.inf, 1 - rules.max_share, (at.cuts[t], 1.0), *share)
            for name, row in zip(self.row_of, range(first, first + 4), strict=True):
                self.row_of[name].append(row)
        return Block(
            value=column_values(at, rules, np.zeros(rules.years)),
            rows=rows.matrix(at.width),
            rows_low=np.array(rows.low),
            rows_high=np.array(rows.high),
            low=column_lows(at),
            high=column_highs(at, rules, np.zeros(rules.ages, dtype=np.int64)),
            whole=np.zeros(at.width, dtype=np.bool_),
        )

    def restart(self) -> None:
        """Forget where the last stool ended, so that the next does not depend on it."""
        self.solver.clearSolver()

    def prices(self, count: Ints, cut_prices: Floats) -> Prices:
        """Prices for a stool of this count when each cut is charged at the winter's price."""
        self._set(count, cut_prices)
        self.solver.run()
        duals = np.abs(np.array(self.solver.getSolution().row_dual))
        crop = duals[self.row_of["crop"]]
        whole = self.rules.evenness * self.rules.years
        even = np.full(self.rules.years, whole / self.rules.years)
        crop = crop * (whole / crop.sum()) if crop.sum() > 0 else even
        return Prices(crop, duals[self.row_of["place"]], duals[self.row_of["share"]])

    def _set(self, count: Ints, cut_prices: Floats) -> None:
        old, at, solver = int(count[2:].sum()), self.at, self.solver
        solver.changeColsBounds(
            len(count) - 1, at.kept[0].astype(np.int32), np.zeros(len(count) - 1), count[1:] * 1.0
        )
        solver.changeColsCost(len(at.cuts), at.cuts.astype(np.int32), -cut_prices)
        solver.changeRowBounds(self.row_of["balance"][0], float(old), float(old))
        limit = float(cut_limit(old, self.rules.max_share))
        solver.changeRowBounds(self.row_of["share"][0], -np.inf, limit)
