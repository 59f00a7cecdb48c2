"""What the day prices leave open, settled exactly by a small whole-number model."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from nuttery.science.arguments import Bools, Floats, Ints
from nuttery.science.crop.picking_model import PickingModel

NODES = 300
# a net, not the rule: a plan stopped by the clock may differ from one run to the next
SECONDS = 6.0


@dataclass(frozen=True)
class Settled:
    """Best plan found among the steps left open, and the bound proven over them."""

    visits: Bools
    bound: float


def _arc_worth(model: PickingModel, arcs: Ints) -> Floats:
    shrub, last, day = arcs.T
    taken = np.where(last >= 0, model.waiting[shrub, last] * model.kept[shrub] ** (day - last), 0.0)
    money = model.value * (model.waiting[shrub, day] - taken)
    return np.asarray(money - model.cost * model.minutes[shrub])


def _reachable(arcs: Ints, days: int) -> Ints:
    """Steps without those that leave a visit which no step enters."""
    while True:
        shrub, last, day = arcs.T
        entered = np.isin(shrub * days + last, shrub * days + day) | (last < 0)
        if entered.all():
            return arcs
        arcs = arcs[entered]


def _columns(model: PickingModel, arcs: Ints) -> tuple[Ints, Ints, Floats, int]:
    """Entries (column, row, weight) of the flow model, and the number of flow rows.

    Rows: one start a shrub, one a visit (what leaves it entered it), then one a day for the cap.
    """
    shrub, last, day = arcs.T
    n, days = model.waiting.shape
    visits, into = np.unique(shrub * days + day, return_inverse=True)
    out_row = np.where(last < 0, shrub, n + np.searchsorted(visits, shrub * days + last))
    flow_rows = n + visits.size
    column = np.tile(np.arange(len(arcs)), 3)
    row = np.concatenate([out_row, n + into, flow_rows + day])
    weight = np.concatenate([np.ones(len(arcs)), -np.ones(len(arcs)), model.minutes[shrub]])
    return column, row, weight, flow_rows


def settle(
    model: PickingModel,
    cap: Floats,
    arcs: Ints,
    plan: Bools,
    *,
    gap: float,
    nodes: int = NODES,
    stop: Callable[[], bool] | None = None,
) -> Settled:
    """Best plan made of the given steps.

    Parameters
    ----------
    model : PickingModel
    cap : (days,) float, minutes that visits can fill on each day
    arcs : (k, 3) int, steps (shrub, day of last visit or −1, day of visit); those of `plan` too
    plan : (n, days) bool, the best plan known, from which the search starts
    gap : float, relative gap at which to stop
    nodes : int, branches to look at, at most: repeatable, unlike a limit in seconds
    stop : asked now and then; the best plan so far is returned when it says so

    Returns
    -------
    Settled

    Notes
    -----
    Source: flow of one unit a shrub over its days of last visit, capped each day; branch and cut
            by HiGHS (Huangfu and Hall 2018, Math. Program. Comput. 10:119).
    Valid:  the bound holds for plans made of these steps.
    Limits: stops after a number of branches, or after some seconds where one branch is slow.

    Examples
    --------
    >>> ripening = np.array([[2.0], [1.0]])
    >>> model = PickingModel(ripening, ripening, np.ones(2), np.ones(2), np.ones(1), 1.0, 0.0)
    >>> arcs = np.array([[0, -1, 0], [1, -1, 0]])
    >>> best = settle(model, np.ones(1), arcs, np.zeros((2, 1), dtype=bool), gap=0.0)
    >>> best.visits.tolist(), best.bound
    ([[True], [False]], 2.0)
    """
    from highspy import Highs, HighsSolution, HighsVarType, kHighsInf

    arcs = _reachable(arcs, model.waiting.shape[1])
    column, row, weight, flow_rows = _columns(model, arcs)
    n, k = len(model.waiting), len(arcs)
    upper = np.concatenate([np.ones(n), np.zeros(flow_rows - n), cap])
    h = Highs()
    h.silent()
    for option, setting in (
        ("threads", 1),
        ("mip_rel_gap", gap),
        ("mip_abs_gap", 1e-9),
        ("mip_max_nodes", nodes),
        ("time_limit", SECONDS),
    ):
        h.setOptionValue(option, setting)
    none = np.zeros(0)
    h.addRows(
        upper.size,
        np.full(upper.size, -kHighsInf),
        upper,
        0,
        np.zeros(upper.size, dtype=np.int32),
        none.astype(np.int32),
        none,
    )
    order = np.argsort(column, kind="stable")
    h.addCols(
        k,
        -_arc_worth(model, arcs),
        np.zeros(k),
        np.ones(k),
        row.size,
        (3 * np.arange(k)).astype(np.int32),
        row[order].astype(np.int32),
        weight[order],
    )
    h.changeColsIntegrality(
        k, np.arange(k, dtype=np.int32), np.full(k, int(HighsVarType.kInteger), dtype=np.uint8)
    )
    start = HighsSolution()
    start.col_value = _as_flow(arcs, plan).tolist()
    h.setSolution(start)
    if stop is not None:
        h.cbMipInterrupt += lambda event: event.interrupt() if stop() else None
    h.run()
    info = h.getInfo()
    used = arcs[np.array(h.getSolution().col_value) > 0.5]
    visits = np.zeros_like(plan)
    visits[used[:, 0], used[:, 2]] = True
    return Settled(visits, -float(info.mip_dual_bound))


def _as_flow(arcs: Ints, plan: Bools) -> Floats:
    """Steps that a plan takes, as 0 and 1."""
    shrub, last, day = arcs.T
    days = np.arange(plan.shape[1])
    latest = np.maximum.accumulate(np.where(plan, days, -1), axis=1)
    before = np.concatenate([np.full((len(plan), 1), -1), latest[:, :-1]], axis=1)
    taken: Bools = plan[shrub, day] & (before[shrub, day] == last)
    return taken.astype(np.float64)
