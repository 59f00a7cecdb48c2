"""The price of a minute on each day, at which every shrub may be planned alone.

The cap on minutes is all that couples the shrubs. Its linear relaxation over whole schedules
(Dantzig and Wolfe 1960, Oper. Res. 8:101) gives one price a day and a bound that no plan can beat.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from nuttery.science.arguments import Bools, Floats, Ints
from nuttery.science.crop.picking_model import PickingModel, visit_price
from nuttery.science.crop.picking_shrub import best_schedules, schedule_worth

WARM_STEPS = 150
ROUNDS = 200
CLOSE = 1e-8
OPEN_SHRUBS = 200
NODES = 200


@dataclass(frozen=True)
class Relaxation:
    """Bound on every plan, the day prices that prove it, and a good plan made on the way."""

    bound: float
    prices: Floats
    visits: Bools


class _Columns:
    """Schedules that some shrub might follow, each kept once."""

    def __init__(self) -> None:
        self._seen: set[tuple[int, bytes]] = set()
        self._new: list[tuple[int, Bools]] = []
        self.shrub: Ints = np.empty(0, dtype=np.int64)
        self.visits: Bools | None = None

    def collect(self, visits: Bools) -> None:
        packed = np.packbits(visits, axis=1)
        for i in np.flatnonzero(visits.any(axis=1)):
            key = (int(i), packed[i].tobytes())
            if key not in self._seen:
                self._seen.add(key)
                self._new.append((int(i), visits[i].copy()))

    def take_new(self) -> tuple[Ints, Bools]:
        shrub = np.array([i for i, _ in self._new], dtype=np.int64)
        visits = np.array([row for _, row in self._new], dtype=np.bool_)
        self._new.clear()
        self.shrub = np.concatenate([self.shrub, shrub])
        self.visits = visits if self.visits is None else np.concatenate([self.visits, visits])
        return shrub, visits

    @property
    def any_new(self) -> bool:
        return bool(self._new)


class _Master:
    """Linear model over the schedules collected so far: at most one a shrub, the cap each day."""

    def __init__(self, model: PickingModel, cap: Floats, stock: Floats) -> None:
        from highspy import Highs, kHighsInf

        self._model, self._stock, self._inf = model, stock, kHighsInf
        self._n, days = stock.shape
        self._highs = Highs()
        self._highs.silent()
        self._highs.setOptionValue("threads", 1)
        rows = self._n + days
        none = np.zeros(0)
        self._highs.addRows(
            rows,
            np.full(rows, -kHighsInf),
            np.concatenate([np.ones(self._n), cap]),
            0,
            np.zeros(rows, dtype=np.int32),
            none.astype(np.int32),
            none,
        )

    def add(self, shrub: Ints, visits: Bools) -> None:
        cost = (self._model.cost * self._model.minutes[shrub])[:, None]
        stock, kept = self._stock[shrub], self._model.kept[shrub]
        value = schedule_worth(stock, kept, np.broadcast_to(cost, stock.shape), visits)
        entries = np.concatenate([np.ones((shrub.size, 1), dtype=np.bool_), visits], axis=1)
        column, place = np.nonzero(entries)
        row = np.where(place == 0, shrub[column], self._n + place - 1)
        weight = np.where(place == 0, 1.0, self._model.minutes[shrub[column]])
        starts = np.searchsorted(column, np.arange(shrub.size)).astype(np.int32)
        self._highs.addCols(
            shrub.size,
            -value,
            np.zeros(shrub.size),
            np.full(shrub.size, self._inf),
            row.size,
            starts,
            row.astype(np.int32),
            weight,
        )

    def solve(self) -> tuple[float, Floats, Floats]:
        """Value, price of a minute on each day, and share of each schedule."""
        self._highs.run()
        solution = self._highs.getSolution()
        price = np.maximum(0.0, -np.array(solution.row_dual)[self._n :])
        value = -float(self._highs.getInfo().objective_function_value)
        return value, price, np.array(solution.col_value)

    def whole(self, shrub: Ints, share: Floats) -> Bools:
        """Best choice of whole schedules that a short search finds.

        Shrubs that the linear model gives one schedule keep it, but for those nearest to another.
        """
        from highspy import HighsModelStatus, HighsVarType

        h, k = self._highs, shrub.size
        kept = share > 1 - 1e-6
        regret = np.where(share > 1e-6, np.inf, np.array(h.getSolution().col_dual))
        nearest = np.full(self._n, np.inf)
        np.minimum.at(nearest, shrub, regret)
        nearest[shrub[(share > 1e-6) & ~kept]] = -1.0
        opened = np.zeros(self._n, dtype=np.bool_)
        opened[np.argsort(nearest, kind="stable")[:OPEN_SHRUBS]] = True
        free = opened[shrub]
        every = np.arange(k, dtype=np.int32)
        h.changeColsBounds(
            k, every, np.where(kept & ~free, 1.0, 0.0), np.where(kept | free, 1.0, 0.0)
        )
        h.changeColsIntegrality(k, every, np.full(k, int(HighsVarType.kInteger), dtype=np.uint8))
        h.setOptionValue("mip_max_nodes", NODES)
        h.run()
        if h.getModelStatus() not in {HighsModelStatus.kOptimal, HighsModelStatus.kSolutionLimit}:
            return kept
        return np.array(h.getSolution().col_value) > 0.5


class _Dual:
    """Bounds at the prices tried so far, the best of them kept."""

    def __init__(self, model: PickingModel, cap: Floats, stock: Floats) -> None:
        self._model, self._cap, self._stock = model, cap, stock
        self.bound = np.inf
        self.prices = np.zeros(cap.size)

    def at(self, prices: Floats) -> tuple[bool, Bools]:
        """Whether the bound fell, and each shrub's best schedule at these prices."""
        price = visit_price(self._model, self._cap, prices)
        worth, visits = best_schedules(self._stock, self._model.kept, price)
        bound = float(worth.sum() + prices @ self._cap)
        better = bound < self.bound - 1e-12
        if better:
            self.bound, self.prices = bound, prices.copy()
        return better, visits


def _warm(dual: _Dual, model: PickingModel, cap: Floats, columns: _Columns) -> None:
    """Subgradient steps that bring the prices near and gather likely schedules."""
    step, stalled, prices = 0.02, 0, dual.prices
    for k in range(WARM_STEPS):
        better, visits = dual.at(prices)
        if k == 0 or 3 * k > 2 * WARM_STEPS:
            columns.collect(visits)
        stalled = 0 if better else stalled + 1
        if stalled > 5:
            step, stalled, prices = 0.6 * step, 0, dual.prices
            continue
        over = model.minutes @ visits - cap
        over = np.where((prices <= 0) & (over < 0), 0.0, over)
        norm = float(over @ over)
        if norm <= 1e-12:
            return
        prices = np.maximum(0.0, prices + step * dual.bound / norm * over)


def relax(
    model: PickingModel,
    cap: Floats,
    *,
    whole: bool = True,
    progress: Callable[[float], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> Relaxation:
    """Bound on every plan with the day prices that prove it.

    Parameters
    ----------
    model : PickingModel
    cap : (days,) float, minutes that visits can fill on each day
    whole : whether to search for the best choice of whole schedules; else only those that the
        linear model gives whole are taken, and the rest are left out
    progress : called with the bound after every round
    stop : asked before every round; the bound so far is valid whenever it ends

    Returns
    -------
    Relaxation

    Notes
    -----
    Source: column generation, Dantzig and Wolfe 1960; bound by Lagrangian relaxation (Geoffrion
            1974, Math. Program. Study 2:82), which holds at any prices of 0 and more.
    Valid:  always.
    Limits: the bound is of the linear relaxation; whole plans may fall short of it.

    Examples
    --------
    >>> ripening = np.array([[2.0], [1.0]])
    >>> model = PickingModel(ripening, ripening, np.ones(2), np.ones(2), np.ones(1), 1.0, 0.0)
    >>> found = relax(model, np.ones(1))
    >>> round(found.bound, 6), found.visits.tolist()
    (2.0, [[True], [False]])
    """
    stock = model.value * model.waiting
    dual, columns = _Dual(model, cap, stock), _Columns()
    _warm(dual, model, cap, columns)
    master = _Master(model, cap, stock)
    share = np.zeros(0)
    for _ in range(ROUNDS):
        if columns.any_new:
            master.add(*columns.take_new())
        value, prices, share = master.solve()
        columns.collect(dual.at(prices)[1])
        if dual.bound - value <= CLOSE * max(1.0, abs(dual.bound)) or not columns.any_new:
            break
        columns.collect(dual.at((prices + dual.prices) / 2)[1])
        if progress is not None:
            progress(dual.bound)
        if stop is not None and stop():
            break
    visits = np.zeros(stock.shape, dtype=np.bool_)
    if columns.visits is not None and share.size:
        mixed = ((share > 1e-6) & (share < 1 - 1e-6)).any()
        taken = master.whole(columns.shrub, share) if whole and mixed else share > 1 - 1e-6
        chosen = np.flatnonzero(taken)
        visits[columns.shrub[chosen]] = columns.visits[chosen]
    return Relaxation(dual.bound, dual.prices, visits)
