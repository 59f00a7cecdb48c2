"""Networks too knotted for exact sums: a few hubs are drawn in turn, all else is summed out."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from nuttery.science.arguments import Floats, Ints
from nuttery.science.errors import BadArgumentError
from nuttery.science.pollen.network import (
    Clique,
    Elimination,
    Factor,
    Plan,
    aligned,
    conditioned,
    eliminate,
)

CHAINS = 4
WARM_UP = 40
SWEEPS = 160
BATCHES = 4  # of each chain, for the stated error
DRAWS_A_SWEEP = 6
SOFT = 1e-7  # weight of the impossible while a chain looks for its first possible state
TRIES = 10


@dataclass(frozen=True)
class Sample:
    """Joint draws, marginals averaged over exact conditional chances, and their error.

    Attributes
    ----------
    draws : {unknown: (size,) states}
    marginals : {unknown: (states,) probability}
    error : largest standard error of a marginal, from the means of batches of all chains
    """

    draws: dict[int, Ints]
    marginals: dict[int, Floats]
    error: float


@dataclass(frozen=True)
class _Core:
    """What is left after all that can be summed out beforehand has been."""

    factors: list[Factor]
    soft: list[Factor]
    order: tuple[int, ...]
    fixed: tuple[int, ...]
    local: dict[int, tuple[list[int], list[int]]]  # hub → factors near it, unknowns near it


def sample_network(
    factors: list[Factor], plan: Plan, sizes: Mapping[int, int], rng: np.random.Generator
) -> Sample:
    """Joint draws from a network that cannot be summed out exactly.

    Parameters
    ----------
    factors : tables of weights
    plan : order of elimination with the hubs to be drawn
    sizes : number of states of each unknown
    rng : source of randomness

    Returns
    -------
    Sample

    Raises
    ------
    BadArgumentError
        If no state that agrees with all evidence was found.

    Notes
    -----
    Source: Gibbs sampling of a cutset with the rest summed out (blocking Gibbs of pedigrees,
        Jensen and Kong 1999, Am. J. Hum. Genet. 65:885–901), averages of exact conditionals.
    Valid:  any network; the error is that of four chains started apart.

    Examples
    --------
    >>> rng = np.random.default_rng(1)
    >>> knot = [Factor((0, 1), np.array([[2.0, 1.0], [1.0, 2.0]]))]
    >>> sample = sample_network(knot, Plan((1,), (0,), 0), {0: 2, 1: 2}, rng)
    >>> bool(abs(sample.marginals[0][0] - 0.5) < 0.1)
    True
    """
    before = eliminate(factors, plan.order[: plan.prefix])
    core = _core(before.rest, plan)
    batches = [b for _ in range(CHAINS) for b in _chain(core, before, sizes, rng)]
    draws = {v: np.concatenate([batch[0][v] for batch in batches]) for v in batches[0][0]}
    means = {v: np.stack([batch[1][v] for batch in batches]) for v in batches[0][1]}
    error = max(float(m.std(axis=0, ddof=1).max()) for m in means.values())
    marginals = {v: m.mean(axis=0) for v, m in means.items()}
    return Sample(draws, marginals, error / np.sqrt(len(batches)))


def _core(factors: list[Factor], plan: Plan) -> _Core:
    soft = [Factor(f.scope, np.maximum(f.table, SOFT * f.table.max())) for f in factors]
    order = plan.order[plan.prefix :]
    local = {v: _near(v, factors, set(plan.fixed)) for v in plan.fixed}
    placed = {u: k for k, u in enumerate(order)}
    tidy = {v: (near, sorted(some, key=placed.__getitem__)) for v, (near, some) in local.items()}
    return _Core(factors, soft, order, plan.fixed, tidy)


def _near(hub: int, factors: list[Factor], fixed: set[int]) -> tuple[list[int], list[int]]:
    """Factors and free unknowns joined to the hub once all other hubs are set."""
    by_unknown: dict[int, list[int]] = {}
    for k, factor in enumerate(factors):
        for v in factor.scope:
            by_unknown.setdefault(v, []).append(k)
    walk, near = [hub], dict.fromkeys(by_unknown.get(hub, ()))
    for v in walk:
        for k in by_unknown.get(v, ()):
            near[k] = None
            walk.extend(u for u in factors[k].scope if u not in fixed and u not in walk)
    return list(near), walk[1:]


Batch = tuple[dict[int, Ints], dict[int, Floats]]


def _chain(
    core: _Core, before: Elimination, sizes: Mapping[int, int], rng: np.random.Generator
) -> list[Batch]:
    state = {v: int(rng.integers(sizes[v])) for v in core.fixed}
    for _ in range(TRIES):
        for _ in range(WARM_UP):
            _sweep(core, core.soft, state, rng)
        if _possible(core, state):
            break
    else:
        raise BadArgumentError(
            "evidence: found no genotypes that agree with all of it, expected facts that can agree"
        )
    return [_batch(core, before, state, rng) for _ in range(BATCHES)]


def _possible(core: _Core, state: dict[int, int]) -> bool:
    weights = [conditioned(f, state) for f in core.factors]
    if any(not f.table.max() > 0 for f in weights):
        return False
    try:
        eliminate([f for f in weights if f.scope], core.order)
    except BadArgumentError:
        return False
    return True


def _sweep(
    core: _Core, factors: list[Factor], state: dict[int, int], rng: np.random.Generator
) -> dict[int, Floats]:
    """Draw each hub anew given the others; its exact conditional chances are returned."""
    chances = {}
    for v in core.fixed:
        near, free = core.local[v]
        others = {u: s for u, s in state.items() if u != v}
        some = [conditioned(factors[k], others) for k in near]
        left = eliminate([f for f in some if f.scope], free).rest
        weight = left[0].table
        for factor in left[1:]:
            weight = weight * aligned(factor, (v,))
        chances[v] = weight / weight.sum()
        state[v] = int(rng.choice(len(weight), p=chances[v]))
    return chances


def _batch(
    core: _Core, before: Elimination, state: dict[int, int], rng: np.random.Generator
) -> Batch:
    sweeps = SWEEPS // BATCHES
    chances: dict[int, list[Floats]] = {v: [] for v in core.fixed}
    drawn: list[dict[int, Ints]] = []
    free_means: list[dict[int, Floats]] = []
    for _ in range(sweeps):
        for v, chance in _sweep(core, core.factors, state, rng).items():
            chances[v].append(chance)
        set_now = [conditioned(f, state) for f in core.factors]
        free = eliminate([f for f in set_now if f.scope], core.order)
        free_means.append({v: free.marginal(v) for v in core.order})
        drawn.append(free.draw({}, rng, DRAWS_A_SWEEP))
        drawn[-1].update({v: np.full(DRAWS_A_SWEEP, s) for v, s in state.items()})
    given = {v: np.concatenate([d[v] for d in drawn]) for v in drawn[0]}
    draws = before.draw(given, rng, sweeps * DRAWS_A_SWEEP)
    means = {v: np.mean(c, axis=0) for v, c in chances.items()}
    means |= {v: np.mean([m[v] for m in free_means], axis=0) for v in core.order}
    means |= {c.unknown: _mean_chance(c, draws) for c in before.cliques}
    return draws, means


def _mean_chance(clique: Clique, draws: dict[int, Ints]) -> Floats:
    rows = clique.chance[tuple(draws[v] for v in clique.hangs_on)]
    mean: Floats = rows.reshape(-1, rows.shape[-1]).mean(axis=0)
    return mean
