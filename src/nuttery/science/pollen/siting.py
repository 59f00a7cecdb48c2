"""Where to put new shrubs, and from which lot, so that the worst-fed shrubs fare better."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from nuttery.science.arguments import Bools, Floats, Ints, float_array, same_length
from nuttery.science.errors import BadArgumentError
from nuttery.science.pollen.cover import PollenCover

ROUNDS = 60
CLOSE = 1e-5  # of cover
FRACTIONAL_ROUNDS = 4
MOST_NODES = 2_000


@dataclass(frozen=True)
class SitingPlan:
    """New shrubs, and what they do for those that stand.

    Attributes
    ----------
    place, lot : (k,) which place gets a shrub of which lot
    cover : (n,) cover of the standing shrubs afterwards
    objective : mean of the lowest covers afterwards
    before : the same mean as it is
    bound : no choice can exceed this
    gap : bound − objective
    status : "optimal" within the gap asked for, or "stopped" at the limit of nodes or rounds
    """

    place: Ints
    lot: Ints
    cover: Floats
    objective: float
    before: float
    bound: float
    gap: float
    status: str


@dataclass(frozen=True)
class _Site:
    """The question in arrays."""

    dose: Floats  # (n, days)
    receptive: Floats
    half: float
    reach: Floats  # (n, places, lots) dose a day in full shed
    shed: Floats  # (lots, days)
    lowest: int

    def cover(self, x: Floats) -> Floats:
        """Cover of standing shrubs for a choice (places, lots)."""
        taken = self.total(x)
        taken = taken / (taken + self.half)
        covered: Floats = (taken * self.receptive).sum(axis=1) / self.receptive.sum(axis=1)
        return covered

    def total(self, x: Floats) -> Floats:
        added: Floats = np.einsum("ipl,pl->il", self.reach, x) @ self.shed
        return self.dose + added

    def slopes(self, x: Floats) -> Floats:
        """Rise of each cover by each (place, lot), (n, places, lots)."""
        days = self.receptive * self.half / (self.total(x) + self.half) ** 2
        by_lot = days @ self.shed.T / self.receptive.sum(axis=1)[:, None]
        slope: Floats = self.reach * by_lot[:, None, :]
        return slope

    def value(self, covers: Floats) -> float:
        return float(np.sort(covers)[: self.lowest].mean())


def choose_sites(
    cover: PollenCover,
    places: ArrayLike,
    *,
    accepted: ArrayLike,
    shed: ArrayLike,
    catkins: ArrayLike,
    k: int,
    lowest: int | None = None,
    gap: float = CLOSE,
    most_nodes: int = MOST_NODES,
) -> SitingPlan:
    """The k places and lots that raise the lowest covers most.

    Parameters
    ----------
    cover : the season as it is
    places : (places, 2) m, empty places or new ground
    accepted : (n, lots) chance that a standing shrub accepts pollen of a shrub of each lot
    shed : (lots, days) in 0..1, expected shed of each lot over the days of `cover`
    catkins : (lots,) expected catkins of a bearing shrub of each lot
    k : shrubs to plant
    lowest : the mean of this many lowest covers is raised, by default a tenth of the shrubs
    gap : how far, in cover, the bound may stay above the choice; 1e-3 is much faster
    most_nodes : nodes of the search, a limit that makes a long run repeatable

    Returns
    -------
    SitingPlan

    Raises
    ------
    BadArgumentError
        If an argument is impossible.
    KeyboardInterrupt
        If stopped from the keyboard; HiGHS is stopped cleanly first.

    Notes
    -----
    Source: ours. Cover is concave in what is planted, so its tangents bound it from above; mixed
        integer models with ever more tangents (outer approximation, Duran and Grossmann 1986,
        Math. Program. 36:307–339) close in on the optimum, with a proven bound at every step.
    Valid:  standing shrubs only; new shrubs' own cover is not part of the aim.

    Examples
    --------
    >>> from nuttery.science.pollen import pollen_cover
    >>> day = np.ones((2, 1))
    >>> now = pollen_cover([[0, 0], [50, 0]], day, day, np.zeros((2, 2)), [1, 1],
    ...                    kernel=lambda d: 1 / (1 + d), half_dose=1.0)
    >>> plan = choose_sites(now, [[1, 0], [25, 0], [49, 0]], accepted=np.ones((2, 1)),
    ...                     shed=[[1.0]], catkins=[1.0], k=2, lowest=1)
    >>> plan.place, plan.status
    (array([0, 2]), 'optimal')
    """
    site, keep = _site(cover, places, accepted, shed, catkins, lowest)
    sites = site.reach.shape[1]
    if not 0 <= k <= sites:
        raise BadArgumentError(f"k: found {k}, expected 0 to the number of places, {sites}")
    close = float(float_array("gap", gap, ndim=0, low=1e-9, high=1))
    best, bound, done = _outer_approximation(site, k, close, most_nodes)
    covers = np.full(len(cover.cover), np.nan)
    covers[keep] = site.cover(best)
    place, lot = np.nonzero(best > 0.5)
    objective, before = site.value(covers[keep]), site.value(site.cover(np.zeros_like(best)))
    bound = max(bound, objective)
    status = "optimal" if done else "stopped"
    return SitingPlan(place, lot, covers, objective, before, bound, bound - objective, status)


def _site(  # noqa: PLR0917 - passed on from `choose_sites` as they stand
    cover: PollenCover,
    places: ArrayLike,
    accepted: ArrayLike,
    shed: ArrayLike,
    catkins: ArrayLike,
    lowest: int | None,
) -> tuple[_Site, Bools]:
    where = float_array("places", places, ndim=2)
    chance = float_array("accepted", accepted, ndim=2, low=0, high=1)
    flying = float_array("shed", shed, ndim=2, low=0, high=1)
    supply = float_array("catkins", catkins, ndim=1, low=0)
    lots = same_length(shed=flying, catkins=supply)
    n, days = cover.dose.shape
    wanted = {
        "places": (where, (len(where), 2)),
        "accepted": (chance, (n, lots)),
        "shed": (flying, (lots, days)),
    }
    for name, (array, shape) in wanted.items():
        if array.shape != shape:
            raise BadArgumentError(f"{name}: found shape {array.shape}, expected {shape}")
    keep = cover.receptive.sum(axis=1) > 0
    fewest = max(1, int(keep.sum()) // 10) if lowest is None else lowest
    if not 1 <= fewest <= keep.sum():
        raise BadArgumentError(f"lowest: found {lowest}, expected 1 to {keep.sum()}")
    reach = (_arriving(cover, where)[:, :, None] * (chance * supply)[:, None, :])[keep]
    site = _Site(cover.dose[keep], cover.receptive[keep], cover.half_dose, reach, flying, fewest)
    return site, keep


def _arriving(cover: PollenCover, places: Floats) -> Floats:
    """Weight by distance and wind of each place on each standing shrub, (n, places)."""
    east = cover.drift.xy[:, 0, None] - places[None, :, 0]
    north = cover.drift.xy[:, 1, None] - places[None, :, 1]
    weight = np.asarray(cover.drift.kernel(np.hypot(east, north)), dtype=np.float64)
    if cover.drift.wind is not None:
        weight = weight * cover.drift.wind.factor(east, north)
    return weight


def _outer_approximation(
    site: _Site, k: int, close: float, most_nodes: int
) -> tuple[Floats, float, bool]:
    """Best choice found, bound, and whether the two have met."""
    site = _within_reach(site, k)
    best = _greedy(site, k)
    model = _Model(site, k, close, most_nodes)
    model.add_tangents(best, site)
    bound = 1.0
    for _ in range(FRACTIONAL_ROUNDS):  # cheap to come by, and close to where the optimum lies
        x, bound = model.solve()
        if bound - site.value(site.cover(x)) < close:
            break
        model.add_tangents(x, site)
    model.whole()
    model.start_from(best, site)
    for _ in range(ROUNDS):
        x, bound = model.solve()
        if x.shape and site.value(site.cover(x)) > site.value(site.cover(best)):
            best = x
        if bound - site.value(site.cover(best)) < close:
            return best, bound, True
        if model.stopped:
            break
        model.add_tangents(x, site)
    return best, bound, False


def _within_reach(site: _Site, k: int) -> _Site:
    """The question without shrubs that no choice could leave among the lowest."""
    none = np.zeros(site.reach.shape[1:])
    before = site.cover(none)
    most = np.array([_most(site, i, k) for i in range(len(before))])
    threshold = np.sort(most)[site.lowest - 1]
    kept = before <= threshold
    return _Site(
        site.dose[kept], site.receptive[kept], site.half, site.reach[kept], site.shed, site.lowest
    )


def _most(site: _Site, i: int, k: int) -> float:
    """More than any k new shrubs could raise the cover of shrub i to."""
    daily = (site.reach[i][:, :, None] * site.shed).max(axis=1)
    dose = site.dose[i] + np.sort(daily, axis=0)[len(daily) - k :].sum(axis=0)
    days = site.receptive[i]
    return float((days * dose / (dose + site.half)).sum() / days.sum())


def _greedy(site: _Site, k: int) -> Floats:
    """One shrub at a time, each where it helps most: a first answer, and a good one."""
    x = np.zeros(site.reach.shape[1:])
    for _ in range(k):
        options = [(p, lot) for p, lot in np.ndindex(x.shape) if not x[p].any()]
        values = []
        for p, lot in options:
            x[p, lot] = 1.0
            values.append(site.value(site.cover(x)))
            x[p, lot] = 0.0
        if options:
            x[options[int(np.argmax(values))]] = 1.0
    return x


class _Model:
    """Mixed integer model in HiGHS: choices x, covers y, threshold, shortfalls below it."""

    def __init__(self, site: _Site, k: int, close: float, most_nodes: int) -> None:
        import highspy

        self.shape = site.reach.shape[1:]
        self.n, self.lowest = len(site.dose), site.lowest
        self.choices = int(np.prod(self.shape))
        self.highs: Any = highspy.Highs()
        self.highs.silent()
        options = {
            "threads": 1,
            "mip_max_nodes": most_nodes,
            "mip_rel_gap": 0.0,
            "mip_abs_gap": close / 2,
            "random_seed": 0,
            "mip_pscost_minreliable": 1,
        }
        for name, setting in options.items():
            self.highs.setOptionValue(name, setting)
        self.stopped = False
        self._variables()
        for place in range(self.shape[0]):
            row = place * self.shape[1] + np.arange(self.shape[1])
            self._row(0.0, 1.0, row, np.ones(len(row)))
        self._row(float(k), float(k), np.arange(self.choices), np.ones(self.choices))
        threshold = self.choices + self.n
        for i in range(self.n):  # shortfall ≥ threshold − y
            columns = np.array([self.choices + i, threshold, threshold + 1 + i])
            self._row(0.0, np.inf, columns, np.array([1.0, -1.0, 1.0]))

    def _variables(self) -> None:
        count = self.choices + 2 * self.n + 1
        self.highs.addVars(count, np.zeros(count), np.ones(count))
        cost = np.zeros(count)
        cost[self.choices + self.n] = 1.0
        cost[self.choices + self.n + 1 :] = -1.0 / self.lowest
        self.highs.changeColsCost(count, np.arange(count, dtype=np.int32), cost)
        import highspy

        self.highs.changeObjectiveSense(highspy.ObjSense.kMaximize)

    def _row(self, low: float, high: float, columns: Ints, factors: Floats) -> None:
        self.highs.addRow(low, high, len(columns), columns.astype(np.int32), factors)

    def add_tangents(self, x: Floats, site: _Site) -> None:
        """Bound every cover by its tangent at x."""
        slopes = site.slopes(x).reshape(self.n, -1)
        at = site.cover(x) - slopes @ x.ravel()
        for i in range(self.n):
            used = np.nonzero(slopes[i])[0]
            columns = np.append(used, self.choices + i)
            self._row(-np.inf, float(at[i]), columns, np.append(-slopes[i, used], 1.0))

    def whole(self) -> None:
        """From now on a place has a shrub or none."""
        import highspy

        kinds = np.full(self.choices, highspy.HighsVarType.kInteger)
        self.highs.changeColsIntegrality(
            self.choices, np.arange(self.choices, dtype=np.int32), kinds
        )

    def start_from(self, x: Floats, site: _Site) -> None:
        """Tell the search a choice to begin with."""
        import highspy

        covers = site.cover(x)
        threshold = np.sort(covers)[self.lowest - 1]
        solution = highspy.HighsSolution()
        short = np.maximum(threshold - covers, 0.0)
        solution.col_value = [*x.ravel().tolist(), *covers.tolist(), threshold, *short.tolist()]
        self.highs.setSolution(solution)

    def solve(self) -> tuple[Floats, float]:
        """Choice and bound of the model as it stands."""
        import highspy

        run_interruptibly(self.highs)
        status = self.highs.getModelStatus()
        info = self.highs.getInfo()
        self.stopped = status != highspy.HighsModelStatus.kOptimal
        x = np.array(self.highs.getSolution().col_value[: self.choices]).reshape(self.shape)
        is_whole = info.mip_node_count >= 0
        bound = info.mip_dual_bound if is_whole else info.objective_function_value
        return (np.round(x) if is_whole else x), float(bound)


def run_interruptibly(highs: Any) -> None:  # noqa: ANN401 - highspy has no types
    """Run HiGHS so that Ctrl-C stops it cleanly, then raises.

    Raises
    ------
    KeyboardInterrupt
        After HiGHS has stopped.

    Notes
    -----
    Source: HiGHS answers an interrupt only through its own callbacks.
    Valid:  the handler is set in the main thread only; elsewhere HiGHS runs as it is.

    Examples
    --------
    >>> import highspy
    >>> highs = highspy.Highs()
    >>> highs.silent()
    >>> run_interruptibly(highs)
    """
    import signal
    import threading

    if threading.current_thread() is not threading.main_thread():
        highs.run()
        return
    asked = threading.Event()

    def stop(event: Any) -> None:  # noqa: ANN401 - highspy has no types
        if asked.is_set():
            event.interrupt()

    usual = signal.signal(signal.SIGINT, lambda *_: asked.set())
    highs.cbMipInterrupt += stop
    highs.cbSimplexInterrupt += stop
    try:
        highs.run()
    finally:
        highs.cbMipInterrupt -= stop
        highs.cbSimplexInterrupt -= stop
        signal.signal(signal.SIGINT, usual)
    if asked.is_set():
        raise KeyboardInterrupt
