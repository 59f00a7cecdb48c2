"""Prices of a stool's relaxed model: what a crop, a place and a cut are worth at the margin.

Whatever the prices of cuts and whatever the stool, each set of these prices bounds what the stool
can still reach, so sets once found serve all stools of a plan and all later prices of cuts.
"""

from typing import NamedTuple

import numpy as np

from nuttery.science.arguments import Floats, Ints
from nuttery.science.canes.rules import Rules
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
from nuttery.science.canes.stool_search import Game, Views, views_of

DIGITS = 5  # to which prices are told apart


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

    def prices(self, count: Floats | Ints, cut_prices: Floats) -> Prices:
        """Prices for a stool of this count when each cut is charged at the winter's price."""
        self._set(count, cut_prices)
        return self._solved()

    def prices_after(self, kept: Ints) -> Prices:
        """Prices of the later winters for the stool last asked, once `kept` of the first are."""
        done, ages = kept.shape
        fixed = self.at.kept[:done].ravel().astype(np.int32)
        stays = kept[:, 1:].ravel().astype(np.float64)
        self.solver.changeColsBounds(len(fixed), fixed, stays, stays)
        found = self._solved()
        high = np.full((done, ages - 1), np.inf)
        high[:, 0] = self.rules.suckers
        self.solver.changeColsBounds(len(fixed), fixed, np.zeros(len(fixed)), high.ravel())
        return found

    def price_of_cuts(self, count: Floats, most: Floats) -> Floats:
        """What one more cut is worth in each winter to a stool that may have `most`, (years,)."""
        cuts = self.at.cuts.astype(np.int32)
        self._set(count, np.zeros(len(cuts)))
        self.solver.changeColsBounds(len(cuts), cuts, np.zeros(len(cuts)), most)
        self.solver.run()
        duals: Floats = np.array(self.solver.getSolution().col_dual)
        prices: Floats = np.maximum(0.0, duals[self.at.cuts])
        self.solver.changeColsBounds(
            len(cuts), cuts, np.zeros(len(cuts)), np.full(len(cuts), np.inf)
        )
        return prices

    def _solved(self) -> Prices:
        self.solver.run()
        duals = np.abs(np.array(self.solver.getSolution().row_dual))
        crop = duals[self.row_of["crop"]]
        whole = self.rules.evenness * self.rules.years
        even = np.full(self.rules.years, whole / self.rules.years)
        crop = crop * (whole / crop.sum()) if crop.sum() > 0 else even
        return Prices(crop, duals[self.row_of["place"]], duals[self.row_of["share"]])

    def _set(self, count: Floats | Ints, cut_prices: Floats) -> None:
        old, at, solver = float(count[2:].sum()), self.at, self.solver
        solver.changeColsBounds(
            len(count) - 1, at.kept[0].astype(np.int32), np.zeros(len(count) - 1), count[1:] * 1.0
        )
        solver.changeColsCost(len(at.cuts), at.cuts.astype(np.int32), -cut_prices)
        solver.changeRowBounds(self.row_of["balance"][0], old, old)
        limit = 1 - self.rules.max_share + self.rules.max_share * old
        solver.changeRowBounds(self.row_of["share"][0], -np.inf, limit)


class PriceBook:
    """Sets of prices found so far, and what a stool can still reach by them."""

    def __init__(self, rules: Rules) -> None:
        self.relaxed = RelaxedStool(rules)
        self.sets: list[Prices] = []
        self.used = np.zeros(0, dtype=np.int64)
        self._known: set[bytes] = set()

    def learn(self, count: Ints, cut_prices: Floats, kept: Ints | None = None) -> None:
        """Add the prices of a stool, or of it after each winter of a plan (years, A) for it."""
        found = [self.relaxed.prices(count, cut_prices)]
        if kept is not None:
            found += [self.relaxed.prices_after(kept[:t]) for t in range(1, len(kept))]
        for prices in found:
            key = np.round(np.concatenate(prices), DIGITS).tobytes()
            if key not in self._known:
                self._known.add(key)
                self.sets.append(prices)
        self.used = np.pad(self.used, (0, len(self.sets) - len(self.used)))

    def forget(self, most: int) -> None:
        """Keep the sets that were tightest most often, `most` of them, and count anew."""
        order = np.argsort(-self.used, kind="stable")[:most]
        self.sets = [self.sets[k] for k in np.sort(order)]
        self.used = np.zeros(len(self.sets), dtype=np.int64)
        self._known = {np.round(np.concatenate(s), DIGITS).tobytes() for s in self.sets}

    def views(self, game: Game) -> Views:
        """What a stool can still reach by every set, at the game's prices of cuts."""
        crop, place, share = (np.array(part) for part in zip(*self.sets, strict=True))
        views: Views = views_of(game, crop, place, share)
        return views
