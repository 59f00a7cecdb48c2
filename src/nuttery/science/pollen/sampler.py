"""Networks too knotted for exact sums: every parent is drawn anew together with its offspring."""

# ruff: noqa: PLR0917 - compiled functions take their arguments by place

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numba import njit

from nuttery.science.arguments import Bools, Floats, Ints
from nuttery.science.errors import BadArgumentError
from nuttery.science.pollen.evidence import GenotypeNetwork

CHAINS = 4
WORKERS = 2
BATCHES = 5  # of each chain, for the stated error
WORK = 1.2e9  # rough number of sums a run may take
FEWEST, MOST = 40, 4000  # sweeps of a batch
DRAWS_A_BATCH = 1000
WARM_UP = 0.2  # of a chain's sweeps
SOFT = 1e-3  # share of impossible gametes while a chain looks for its first possible state


@dataclass(frozen=True)
class Sample:
    """Draws of all kept genets, their chances, and how far these may be off.

    Attributes
    ----------
    kept : (genets,) in the order of the rows below
    drawn : (genets, draws) indices of genotypes
    chances : (genets, pairs) averages of exact conditional chances
    error : largest standard error of a chance, from the means of the batches of all chains
    batches : number of batches that the draws are made of, in equal parts
    """

    kept: Ints
    drawn: Ints
    chances: Floats
    error: float
    batches: int


class _Arrays(NamedTuple):
    """The network as flat arrays; lists of lists as (start, entries)."""

    mother: Ints
    father_start: Ints
    father: Ints
    father_weight: Floats
    child_start: Ints
    child: Ints
    cross_start: Ints
    other: Ints
    is_seed: Ints
    if_accepted: Floats
    if_refused: Floats
    clash_start: Ints
    clash: Ints  # crossed with, parent or child of, or sharing a child with
    mate_start: Ints
    mate: Ints  # crossed with, or sharing a child with
    base: Floats  # (genets, pairs) open genotypes times hints
    told: Bools  # (genets,) one open genotype and unknown parents, who then tell nothing
    first: Ints
    second: Ints
    pair_of: Ints  # (A, A)
    frequencies: Floats
    accepts: Floats  # (pairs, pairs)


def sample_genotypes(
    network: GenotypeNetwork, rng: np.random.Generator, *, effort: float = 1.0
) -> Sample:
    """Joint draws of genotypes where exact sums are out of reach.

    Parameters
    ----------
    network : what is known
    rng : source of randomness
    effort : work as a multiple of the usual

    Returns
    -------
    Sample

    Raises
    ------
    BadArgumentError
        If no genotypes that agree with all evidence were found.

    Notes
    -----
    Source: blocked Gibbs sampling: a parent is drawn with its offspring summed out, then each of
        these given the parent (after Jensen and Kong 1999, Am. J. Hum. Genet. 65:885–901).
    Valid:  any pedigree. Four chains started apart; the error is measured between their batches.
    Limits: deep pedigrees of untested parents mix slowly, which the stated error then shows.
    """
    kept = np.array(sorted(network.states), dtype=np.int64)
    arrays = _arrays(network, kept)
    sweeps = int(np.clip(effort * WORK / _work(arrays) / CHAINS / BATCHES, FEWEST, MOST))
    seeds = rng.integers(2**31, size=CHAINS)
    with ThreadPoolExecutor(WORKERS) as pool:
        runs = list(pool.map(lambda seed: _run_chain(arrays, int(seed), sweeps), seeds))
    if not all(valid for _, _, valid in runs):
        raise BadArgumentError(
            "evidence: found no genotypes that agree with all of it, expected facts that can agree"
        )
    means = np.concatenate([mean for mean, _, _ in runs])
    error = float(means.std(axis=0, ddof=1).max() / np.sqrt(len(means)))
    drawn = np.concatenate([states for _, states, _ in runs], axis=1)
    return Sample(kept, drawn, means.mean(axis=0), error, len(means))


def _run_chain(arrays: _Arrays, seed: int, sweeps: int) -> tuple[Floats, Ints, bool]:
    """Means of chances (batches, genets, pairs), draws (genets, draws), whether all is possible."""
    every = max(1, sweeps // DRAWS_A_BATCH)
    per_batch = sweeps // every
    warm = max(10, int(WARM_UP * sweeps * BATCHES))
    means = np.zeros((BATCHES, *arrays.base.shape))
    drawn = np.zeros((len(arrays.base), BATCHES * per_batch), dtype=np.int64)
    valid = _chain(arrays, seed, warm, every, SOFT, means, drawn)
    means /= per_batch * every
    return means, drawn, bool(valid)


def _work(arrays: _Arrays) -> float:
    """Rough number of sums in one sweep."""
    pairs, alleles = len(arrays.first), len(arrays.frequencies)
    visits = len(arrays.mother) + len(arrays.child)
    return float(visits * (3 * pairs + alleles**2) + 4 * len(arrays.other) * pairs)


def _lists(lists: list[list[int]]) -> tuple[Ints, Ints]:
    start = np.concatenate([[0], np.cumsum([len(some) for some in lists])]).astype(np.int64)
    return start, np.array([i for some in lists for i in some], dtype=np.int64)


def _arrays(network: GenotypeNetwork, kept: Ints) -> _Arrays:
    """Flat arrays of the network, genets numbered by their place in `kept`."""
    letters, family = network.letters, network.family
    place = {int(g): k for k, g in enumerate(kept)} | {-1: -1}
    mother = np.array([place[int(family.mother[g])] for g in kept], dtype=np.int64)
    fathers = [[(place[f], w) for f, w in family.fathers[g]] for g in kept]
    children: list[list[int]] = [[] for _ in kept]
    for k in range(len(kept)):
        for p in {int(mother[k]), *(f for f, _ in fathers[k])} - {-1}:
            children[p].append(k)
    crosses = [(place[s], place[p], good, bad) for s, p, good, bad in network.crosses]
    told: list[list[tuple[int, int, float, float]]] = [[] for _ in kept]
    for seed, pollen, good, bad in crosses:
        told[seed].append((pollen, 1, good, bad))
        told[pollen].append((seed, 0, good, bad))
    mates: list[set[int]] = [{o for o, *_ in some} for some in told]
    for k in range(len(kept)):
        parents = {int(mother[k]), *(f for f, _ in fathers[k])} - {-1}
        for p in parents:
            mates[p] |= parents - {p}
    own = [{int(mother[k]), *(f for f, _ in fathers[k]), *children[k]} for k in range(len(kept))]
    clash = [sorted((mates[k] | own[k]) - {-1}) for k in range(len(kept))]
    base = np.zeros((len(kept), len(letters.pairs)))
    for k, g in enumerate(kept):
        base[k, network.states[int(g)]] = 1.0
        if int(g) in network.hints:
            base[k] *= network.hints[int(g)]
    father_start, father = _lists([[f for f, _ in some] for some in fathers])
    child_start, child = _lists(children)
    cross_start, other = _lists([[t[0] for t in some] for some in told])
    clash_start, clashes = _lists(clash)
    mate_start, mate = _lists([sorted(some) for some in mates])
    flat = [t for some in told for t in some]
    return _Arrays(
        mother=mother,
        father_start=father_start,
        father=father,
        father_weight=np.array([w for some in fathers for _, w in some]),
        child_start=child_start,
        child=child,
        cross_start=cross_start,
        other=other,
        is_seed=np.array([t[1] for t in flat], dtype=np.int64),
        if_accepted=np.array([t[2] for t in flat], dtype=np.float64),
        if_refused=np.array([t[3] for t in flat], dtype=np.float64),
        clash_start=clash_start,
        clash=clashes,
        mate_start=mate_start,
        mate=mate,
        base=base,
        told=np.array([_is_told(network, int(g)) for g in kept], dtype=np.bool_),
        first=letters.first,
        second=letters.second,
        pair_of=letters.makes.argmax(axis=2).astype(np.int64),
        frequencies=letters.frequencies,
        accepts=letters.accepts[0],
    )


def _is_told(network: GenotypeNetwork, genet: int) -> bool:
    return len(network.states[genet]) == 1 and not network.family.parents(genet)


# Called from compiled code only; without wrappers for Python they compile a fifth faster.
_inner = njit(cache=True, nogil=True, no_cpython_wrapper=True, no_cfunc_wrapper=True)

# The compiled part is written in plain loops over buffers: array expressions would take the
# compiler several times as long, at every first use on a machine.


@_inner
def _gametes(w: _Arrays, parent: int, state: Ints, share: float, soft: float, out: Floats) -> None:
    """Add the alleles in a parent's gametes, weighted by its share, to `out`."""
    for a in range(len(out)):
        if parent < 0:
            out[a] += share * w.frequencies[a]
        elif soft > 0:
            out[a] += share * soft / len(out)
    if parent >= 0:
        out[w.first[state[parent]]] += share * (1 - soft) / 2
        out[w.second[state[parent]]] += share * (1 - soft) / 2


@_inner
def _sides(
    w: _Arrays, c: int, state: Ints, without: int, soft: float, egg: Floats, pollen: Floats
) -> float:
    """Fill in the egg's alleles, the pollen's from all fathers but one; the share of that one."""
    for a in range(len(egg)):
        egg[a] = 0.0
        pollen[a] = 0.0
    _gametes(w, w.mother[c], state, 1.0, soft, egg)
    share = 0.0
    for k in range(w.father_start[c], w.father_start[c + 1]):
        if without >= 0 and w.father[k] == without:
            share += w.father_weight[k]
        else:
            _gametes(w, w.father[k], state, w.father_weight[k], soft, pollen)
    return share


@_inner
def _times_descent(
    w: _Arrays, c: int, state: Ints, soft: float, egg: Floats, pollen: Floats, weight: Floats
) -> float:
    """Multiply by the chance of each genotype from the parents' present ones; the total."""
    _sides(w, c, state, -1, soft, egg, pollen)
    total = 0.0
    for g in range(len(weight)):
        a, b = w.first[g], w.second[g]
        chance = egg[a] * pollen[b]
        if a != b:
            chance += egg[b] * pollen[a]
        weight[g] *= 1.0 if w.told[c] else chance
        total += weight[g]
    return total


@_inner
def _own_evidence(w: _Arrays, c: int, state: Ints, weight: Floats) -> None:
    """Fill in the weight of each genotype from open genotypes, hints and crosses."""
    for g in range(len(weight)):
        weight[g] = w.base[c, g]
    for k in range(w.cross_start[c], w.cross_start[c + 1]):
        partner = state[w.other[k]]
        for g in range(len(weight)):
            good = w.accepts[g, partner] if w.is_seed[k] == 1 else w.accepts[partner, g]
            weight[g] *= w.if_accepted[k] if good > 0 else w.if_refused[k]


@_inner
def _times_child(
    w: _Arrays,
    p: int,
    c: int,
    likely: Floats,
    state: Ints,
    soft: float,
    buffer: Floats,
    weight: Floats,
) -> None:
    """Multiply parent p's weights by what child c says, whose own weights are `likely`."""
    egg, pollen, given = buffer[0], buffer[1], buffer[2]
    share = _sides(w, c, state, p, soft, egg, pollen)
    is_mother = w.mother[c] == p
    alleles = len(egg)
    constant, mean = 0.0, 0.0
    for a in range(alleles):
        given[a] = 0.0
        for b in range(alleles):
            given[a] += (pollen[b] if is_mother else egg[b]) * likely[w.pair_of[a, b]]
        mean += given[a] / alleles
        if not is_mother:
            constant += pollen[a] * given[a]
    top = 0.0
    for s in range(len(weight)):
        x, y = w.first[s], w.second[s]
        own = (1 - soft) * (given[x] + given[y]) / 2 + soft * mean
        if is_mother and share > 0:
            selfed = likely[w.pair_of[x, x]] + 2 * likely[w.pair_of[x, y]]
            own += share * (selfed + likely[w.pair_of[y, y]]) / 4 + soft
        elif not is_mother:
            own = share * own + constant
        weight[s] *= own
        top = max(top, weight[s])
    if top > 0:
        for s in range(len(weight)):
            weight[s] /= top


@_inner
def _times_offspring(
    w: _Arrays, c: int, state: Ints, soft: float, buffer: Floats, one: Floats, weight: Floats
) -> None:
    """Multiply by what the present genotypes of c's own offspring say."""
    for k in range(w.child_start[c], w.child_start[c + 1]):
        for g in range(len(one)):
            one[g] = 1.0 if g == state[w.child[k]] else 0.0
        _times_child(w, c, w.child[k], one, state, soft, buffer, weight)


@_inner
def _pick(weight: Floats, total: float) -> int:
    at = np.random.random() * total  # noqa: NPY002 - the generator that compiled code has
    running = 0.0
    last = -1
    for g in range(len(weight)):
        if weight[g] > 0:
            running += weight[g]
            last = g
            if running > at:
                break
    return last


@_inner
def _is_free(w: _Arrays, c: int, p: int, summed: Ints) -> bool:
    """Whether child c of p may be summed out: it touches neither p otherwise nor another one."""
    for k in range(w.clash_start[c], w.clash_start[c + 1]):
        if summed[w.clash[k]] == 1:
            return False
    mates = 0
    for k in range(w.mate_start[c], w.mate_start[c + 1]):
        mates += w.mate[k] == p
    return mates == 0


@_inner
def _draw_family(
    w: _Arrays,
    p: int,
    state: Ints,
    soft: float,
    work: tuple[Ints, Floats, Floats, Floats],
    weight: Floats,
) -> float:
    """Draw a genet with those offspring summed out that touch no other of them, then these.

    `weight` is left as its chances given all the rest; 0 is returned if nothing is possible.
    """
    summed, buffer, one, likely = work
    start = w.child_start[p]
    count = w.child_start[p + 1] - start
    first = np.random.randint(count) if count > 0 else 0  # noqa: NPY002 - as above
    _own_evidence(w, p, state, weight)
    _times_descent(w, p, state, soft, buffer[0], buffer[1], weight)
    for j in range(count):
        c = w.child[start + (first + j) % count]
        own = likely[j]
        if _is_free(w, c, p, summed):
            summed[c] = 1
            _own_evidence(w, c, state, own)
            _times_offspring(w, c, state, soft, buffer, one, own)
        else:
            for g in range(len(own)):
                own[g] = 1.0 if g == state[c] else 0.0
        _times_child(w, p, c, own, state, soft, buffer, weight)
    total = 0.0
    for g in range(len(weight)):
        total += weight[g]
    if total > 0:
        for g in range(len(weight)):
            weight[g] /= total
        state[p] = _pick(weight, 1.0)
    for j in range(count):
        c = w.child[start + (first + j) % count]
        if summed[c] == 1:
            summed[c] = 0
            chance = _times_descent(w, c, state, soft, buffer[0], buffer[1], likely[j])
            if chance > 0:
                state[c] = _pick(likely[j], chance)
    return total


@_inner
def _sweep(
    w: _Arrays,
    state: Ints,
    soft: float,
    work: tuple[Ints, Floats, Floats, Floats],
    weight: Floats,
    sums: Floats,
) -> bool:
    """Draw every genet anew; False if one of them had no possible genotype."""
    valid = True
    for c in range(len(state)):
        valid = _draw_family(w, c, state, soft, work, weight) > 0 and valid
        for g in range(len(weight)):
            sums[c, g] += weight[g]
    return valid


@njit(cache=True, nogil=True)
def _chain(
    w: _Arrays, seed: int, warm: int, every: int, soft: float, means: Floats, drawn: Ints
) -> bool:
    """Fill in sums of chances (batches, genets, pairs) and draws; whether all was possible."""
    np.random.seed(seed)  # noqa: NPY002 - as above
    batches, genets, pairs = means.shape
    most = 1
    for c in range(genets):
        most = max(most, w.child_start[c + 1] - w.child_start[c])
    summed = np.zeros(genets, dtype=np.int64)
    buffer = np.zeros((3, len(w.frequencies)))
    work = (summed, buffer, np.zeros(pairs), np.zeros((most, pairs)))
    weight, unused = np.zeros(pairs), np.zeros((genets, pairs))
    state = np.empty(genets, dtype=np.int64)
    for c in range(genets):
        total = 0.0
        for g in range(pairs):
            total += w.base[c, g]
        state[c] = _pick(w.base[c], total)
    valid = False
    for s in range(10 * warm):
        soften = soft if s < warm // 2 or not valid else 0.0
        valid = _sweep(w, state, soften, work, weight, unused)
        if valid and s >= warm and _sweep(w, state, 0.0, work, weight, unused):
            break
    per_batch = drawn.shape[1] // batches
    for b in range(batches):
        for s in range(per_batch * every):
            valid = _sweep(w, state, 0.0, work, weight, means[b]) and valid
            if (s + 1) % every == 0:
                for c in range(genets):
                    drawn[c, b * per_batch + s // every] = state[c]
    return valid
