"""Networks of dependent unknowns: exact marginals and joint draws by eliminating one at a time."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from heapq import heapify, heappop, heappush
from math import prod

import numpy as np

from nuttery.science.arguments import Floats, Ints
from nuttery.science.errors import BadArgumentError


@dataclass(frozen=True)
class Factor:
    """A table of weights over some unknowns, one axis an unknown, in the order of `scope`."""

    scope: tuple[int, ...]
    table: Floats


class _Graph:
    """Unknowns joined by factors, the one with the smallest table always at hand."""

    def __init__(self, scopes: Iterable[tuple[int, ...]], sizes: Mapping[int, int]) -> None:
        self.sizes = sizes
        self.near: dict[int, set[int]] = {v: set() for v in sizes}
        for scope in scopes:
            for v in scope:
                self.near[v].update(scope)
                self.near[v].discard(v)
        self.weight = {v: self._table(v) for v in self.near}
        self.heap = [(w, v) for v, w in self.weight.items()]
        heapify(self.heap)

    def _table(self, v: int) -> int:
        return self.sizes[v] * prod(self.sizes[u] for u in self.near[v])

    def cheapest(self) -> int | None:
        """Unknown with the smallest table; None when none is left."""
        while self.heap:
            w, v = heappop(self.heap)
            if v in self.near and self.weight[v] == w:
                return v
        return None

    def sum_out(self, v: int) -> None:
        """Take an unknown out and tie its neighbours to each other."""
        near = self.near.pop(v)
        for u in near:
            self.near[u] |= near
            self.near[u] -= {u, v}
        for u in near:
            self.weight[u] = self._table(u)
            heappush(self.heap, (self.weight[u], u))


def elimination_order(
    scopes: Iterable[tuple[int, ...]], sizes: Mapping[int, int], largest: float
) -> list[int] | None:
    """Greedy order of elimination: always the unknown whose table is smallest.

    Parameters
    ----------
    scopes : unknowns joined by each factor
    sizes : number of states of each unknown
    largest : entries of the largest table allowed

    Returns
    -------
    order, or None where a table would be larger

    Notes
    -----
    Source: minimum-weight heuristic of variable elimination. Textbook.
    Valid:  any network; the order is good, not proven best.

    Examples
    --------
    >>> elimination_order([(0, 1), (1, 2)], {0: 2, 1: 2, 2: 2}, 100)
    [0, 1, 2]
    """
    graph = _Graph(scopes, sizes)
    order: list[int] = []
    while (v := graph.cheapest()) is not None:
        if graph.weight[v] > largest:
            return None
        order.append(v)
        graph.sum_out(v)
    return order


def aligned(factor: Factor, scope: tuple[int, ...]) -> Floats:
    """Table of the factor with its axes where `scope` has them, length 1 where it has none.

    Notes
    -----
    Source: bookkeeping of our own.
    Valid:  factors whose scope lies within `scope`.

    Examples
    --------
    >>> aligned(Factor((2, 1), np.ones((3, 4))), (0, 1, 2)).shape
    (1, 4, 3)
    """
    place = {v: axis for axis, v in enumerate(scope)}
    axes = sorted(range(len(factor.scope)), key=lambda a: place[factor.scope[a]])
    table = factor.table.transpose(axes)
    shape = [1] * len(scope)
    for axis in axes:
        shape[place[factor.scope[axis]]] = factor.table.shape[axis]
    return table.reshape(shape)


@dataclass(frozen=True)
class Clique:
    """One step of elimination: the unknown, what it still hangs on, and its chances given that."""

    unknown: int
    hangs_on: tuple[int, ...]
    chance: Floats


@dataclass(frozen=True)
class Elimination:
    """All unknowns of a network summed out in order, ready for marginals and draws.

    Attributes
    ----------
    cliques : one an unknown, in the order of elimination
    rest : factors over unknowns that were not eliminated
    log_weight : log of the total weight summed out so far
    """

    cliques: list[Clique]
    rest: list[Factor]
    log_weight: float
    place: dict[int, int] = field(default_factory=dict)

    @cached_property
    def joint(self) -> list[Floats]:
        """Probability of each clique, axes `(*hangs_on, unknown)`."""
        joint: list[Floats] = [np.empty(0)] * len(self.cliques)
        for k in reversed(range(len(self.cliques))):
            clique = self.cliques[k]
            outer = self._separator(joint, k)
            joint[k] = outer[..., None] * clique.chance
        return joint

    def _separator(self, joint: list[Floats], k: int, lead: int = 0) -> Floats:
        """Probability of what clique k hangs on, from the clique that holds all of it."""
        clique = self.cliques[k]
        if not clique.hangs_on:
            return np.ones(())
        above = self.place[clique.hangs_on[0]]
        parent = self.cliques[above]
        return summed_to((*parent.hangs_on, parent.unknown), joint[above], clique.hangs_on, lead)

    def marginal(self, unknown: int) -> Floats:
        """Probability of each state of one unknown.

        Notes
        -----
        Source: sum of its clique's joint.
        Valid:  unknowns that were eliminated.

        Examples
        --------
        >>> done = eliminate([Factor((0,), np.array([1.0, 3.0]))], [0])
        >>> done.marginal(0)
        array([0.25, 0.75])
        """
        joint = self.joint[self.place[unknown]]
        marginal: Floats = joint.reshape(-1, joint.shape[-1]).sum(axis=0)
        return marginal

    @cached_property
    def neighbours(self) -> list[list[int]]:
        """Cliques joined to each clique in the tree."""
        near: list[list[int]] = [[] for _ in self.cliques]
        for k, clique in enumerate(self.cliques):
            if clique.hangs_on:
                above = self.place[clique.hangs_on[0]]
                near[k].append(above)
                near[above].append(k)
        return near

    def reach(self, unknown: int) -> list[int]:
        """Cliques of the unknown's connected part of the network, each after one it joins.

        Notes
        -----
        Source: breadth-first walk of the tree of cliques.
        Valid:  unknowns that were eliminated.

        Examples
        --------
        >>> eliminate([Factor((0, 1), np.ones((2, 2)))], [0, 1]).reach(1)
        [1, 0]
        """
        walk = [self.place[unknown]]
        seen = set(walk)
        for k in walk:
            new = [m for m in self.neighbours[k] if m not in seen]
            seen.update(new)
            walk.extend(new)
        return walk

    def joint_with(self, unknown: int) -> dict[int, Floats]:
        """Joint probability of one unknown with every other in its part of the network.

        Returns
        -------
        {other: (states of unknown, states of other)}

        Notes
        -----
        Source: calibrated tree of cliques, passed outward from the unknown with its state kept.
        Valid:  exact; cost is the unknown's number of states times the size of all cliques.

        Examples
        --------
        >>> done = eliminate([Factor((0, 1), np.array([[1.0, 1.0], [0.0, 2.0]]))], [0, 1])
        >>> done.joint_with(0)[1]
        array([[0.25, 0.25],
               [0.  , 0.5 ]])
        """
        walk = self.reach(unknown)
        kept = {walk[0]: self._with_own_state(walk[0])}
        for k in walk[1:]:
            kept[k] = self._passed(k, next((m, kept[m]) for m in self.neighbours[k] if m in kept))
        pairs = {}
        for k in walk:
            table = kept[k]
            pairs[self.cliques[k].unknown] = table.reshape(len(table), -1, table.shape[-1]).sum(1)
        return pairs

    def _with_own_state(self, k: int) -> Floats:
        joint = self.joint[k]
        states = joint.shape[-1]
        kept = np.zeros((states, *joint.shape))
        own = np.arange(states)
        kept[own, ..., own] = np.moveaxis(joint, -1, 0)
        return kept

    def _passed(self, k: int, source: tuple[int, Floats]) -> Floats:
        """Joint of clique k with the kept state, from a neighbour that has it."""
        m, known = source
        clique, other = self.cliques[k], self.cliques[m]
        lower = clique if clique.hangs_on and self.place[clique.hangs_on[0]] == m else other
        between = lower.hangs_on
        scope, own = (*other.hangs_on, other.unknown), (*clique.hangs_on, clique.unknown)
        incoming = summed_to(scope, known, between, 1)
        base = summed_to(own, self.joint[k], between, 0)
        ratio = np.divide(incoming, base, out=np.zeros_like(incoming), where=base > 0)
        spread = np.stack([aligned(Factor(between, r), own) for r in ratio])
        return spread * self.joint[k]

    def draw(self, given: dict[int, Ints], rng: np.random.Generator, size: int) -> dict[int, Ints]:
        """Joint draws of every eliminated unknown.

        Parameters
        ----------
        given : states (size,) of unknowns that were not eliminated
        rng : source of randomness
        size : number of draws

        Returns
        -------
        {unknown: (size,) states}, `given` included

        Notes
        -----
        Source: backward sampling in reverse order of elimination; independent, exact draws.
        Valid:  any network.

        Examples
        --------
        >>> done = eliminate([Factor((0,), np.array([0.0, 1.0]))], [0])
        >>> done.draw({}, np.random.default_rng(1), 3)[0]
        array([1, 1, 1])
        """
        drawn = dict(given)
        for clique in reversed(self.cliques):
            chance = clique.chance[tuple(drawn[v] for v in clique.hangs_on)]
            running = np.cumsum(chance, axis=-1)
            at = rng.random(size)[:, None] * running[..., -1:]
            drawn[clique.unknown] = (running < at).sum(axis=-1).astype(np.int64)
        return drawn


def summed_to(scope: tuple[int, ...], table: Floats, wanted: tuple[int, ...], lead: int) -> Floats:
    """Table summed over all but the wanted unknowns, axes in their order, `lead` axes kept first.

    Notes
    -----
    Source: definition of a marginal.
    Valid:  wanted unknowns within the scope.

    Examples
    --------
    >>> summed_to((0, 1), np.array([[1.0, 2.0], [3.0, 4.0]]), (1,), 0)
    array([4., 6.])
    """
    drop = tuple(lead + axis for axis, v in enumerate(scope) if v not in wanted)
    left = [v for v in scope if v in wanted]
    axes = [*range(lead), *(lead + left.index(v) for v in wanted)]
    result: Floats = table.sum(axis=drop).transpose(axes)
    return result


def eliminate(factors: Iterable[Factor], order: Sequence[int]) -> Elimination:
    """Sum unknowns out of a network, one after the other.

    Parameters
    ----------
    factors : tables of weights, at least one for each unknown in `order`
    order : unknowns to sum out

    Returns
    -------
    Elimination

    Raises
    ------
    BadArgumentError
        If no state of the network has any weight.

    Notes
    -----
    Source: variable (bucket) elimination; peeling, in pedigrees (Elston and Stewart 1971).
    Valid:  any factors ≥ 0; tables must fit in memory, see `plan_elimination`.

    Examples
    --------
    >>> round(float(np.exp(eliminate([Factor((0,), np.array([1.0, 3.0]))], [0]).log_weight)), 9)
    4.0
    """
    place = {v: k for k, v in enumerate(order)}
    buckets: dict[int, list[Factor]] = {v: [] for v in order}
    rest: list[Factor] = []

    def put(factor: Factor) -> None:
        first = min(factor.scope, key=lambda v: place.get(v, len(place)), default=-1)
        buckets.get(first, rest).append(factor)

    for factor in factors:
        put(factor)
    cliques, log_weight = [], 0.0
    for v in order:
        clique, message = _sum_out(v, buckets.pop(v), place)
        total = message.table.max()
        if not total > 0:
            raise BadArgumentError("evidence: found a contradiction, expected facts that can agree")
        log_weight += float(np.log(total))
        cliques.append(clique)
        if message.scope:
            put(Factor(message.scope, message.table / total))
    log_weight += float(sum(np.log(f.table) for f in rest if not f.scope))
    return Elimination(cliques, [f for f in rest if f.scope], log_weight, place)


def _sum_out(v: int, factors: list[Factor], place: Mapping[int, int]) -> tuple[Clique, Factor]:
    others = {u for factor in factors for u in factor.scope if u != v}
    hangs_on = tuple(sorted(others, key=lambda u: (place.get(u, len(place)), u)))
    scope = (*hangs_on, v)
    table = aligned(factors[0], scope)
    for factor in factors[1:]:
        table = table * aligned(factor, scope)
    shape = np.broadcast_shapes(*(aligned(f, scope).shape for f in factors))
    table = np.broadcast_to(table, shape)
    total = table.sum(axis=-1)
    chance = np.divide(table, total[..., None], out=np.zeros(shape), where=total[..., None] > 0)
    return Clique(v, hangs_on, chance), Factor(hangs_on, total)
