"""Acceptance between every two shrubs whose genotypes are only known as chances, taken jointly."""

import numpy as np
from numba import njit, prange

from nuttery.science.arguments import Bools, Floats, Ints
from nuttery.science.pollen.evidence import GenotypeNetwork
from nuttery.science.pollen.network import Elimination
from nuttery.science.pollen.sampler import Sample

PAIR_WORK = 4e8  # table entries touched for exact chances of all pairs
PAIR_STEPS = 4e4  # tables touched for the same
DRAWS = 20_000
FEWEST_DRAWS = 400
COUNTS = 1.5e10  # pairs × draws counted at most
ERROR_PAIRS = 24  # genets on either side among whose pairs the error is measured


def accepted_pairs(
    network: GenotypeNetwork,
    solved: Elimination | Sample,
    kept: list[int],
    chances: Floats,
    rng: np.random.Generator,
) -> tuple[tuple[Floats, Floats], float]:
    """Lowest and highest acceptance between kept genets, joint over each pair, and its error.

    Parameters
    ----------
    network, solved : what is known, and its solution
    kept : genets, in the order of the rows of `chances`
    chances : (genets, pairs) probability of each genotype
    rng : source of randomness

    Returns
    -------
    ((low, high), error), the tables (seeds, pollens)

    Notes
    -----
    Source: joint chances from the tree of cliques; beyond a limit of work, shares of joint draws.
    Valid:  genets in different parts of the network are independent, and exact in any case.
    """
    low, high = network.letters.accepts
    tables = [low] if np.array_equal(low, high) else [low, high]
    accepted = [np.minimum(chances @ table @ chances.T, 1.0) for table in tables]
    if isinstance(solved, Elimination) and _pair_work_is_small(network, solved, kept):
        _exact_pairs(network, solved, kept, tables, accepted)
        return (accepted[0], accepted[-1]), 0.0
    together = _parts(solved, kept) if isinstance(solved, Elimination) else np.zeros(len(kept))
    size = int(np.clip(COUNTS / len(kept) ** 2, FEWEST_DRAWS, DRAWS))
    if isinstance(solved, Sample):
        drawn = solved.drawn[:, :: max(1, solved.drawn.shape[1] // size)]
    else:
        drawn = kept_genotypes(network, solved.draw({}, rng, size), kept, size)
    for table, result in zip(tables, accepted, strict=True):
        _count_accepted(drawn, table > 0, together.astype(np.int64), result)
    return (accepted[0], accepted[-1]), _pair_error(solved, drawn, tables[0] > 0)


def _pair_error(solved: Elimination | Sample, drawn: Ints, accepts: Bools) -> float:
    """Standard error of a share of draws: at most ½/√draws, more where draws hang together."""
    independent = 0.5 / np.sqrt(drawn.shape[1])
    if isinstance(solved, Elimination) or len(drawn) < 2:
        return float(independent)
    length = drawn.shape[1] // solved.batches
    cut = drawn[:, : length * solved.batches].reshape(len(drawn), solved.batches, length)
    seeds, pollens = cut[:ERROR_PAIRS], cut[-ERROR_PAIRS:]
    shares = accepts[seeds[:, None], pollens[None]].mean(axis=-1)
    between = shares.std(axis=-1, ddof=1).max() / np.sqrt(solved.batches)
    return float(max(independent, between))


def _pair_work_is_small(network: GenotypeNetwork, solved: Elimination, kept: list[int]) -> bool:
    sizes = [clique.chance.size for clique in solved.cliques]
    work, steps, whole = 0.0, 0, {}
    for genet in kept:
        if genet not in solved.place:
            continue
        k = solved.place[genet]
        if k not in whole:
            walk = solved.reach(genet)
            whole.update(dict.fromkeys(walk, (sum(sizes[m] for m in walk), len(walk))))
        work += whole[k][0] * len(network.states[genet])
        steps += whole[k][1]
        if work > PAIR_WORK or steps > PAIR_STEPS:
            return False
    return True


def _exact_pairs(
    network: GenotypeNetwork,
    solved: Elimination,
    kept: list[int],
    tables: list[Floats],
    accepted: list[Floats],
) -> None:
    """Replace products of chances by joint chances, for all pairs that hang together."""
    place = {genet: k for k, genet in enumerate(kept) if genet in solved.place}
    for genet, k in place.items():
        mine = network.states[genet]
        for other, joint in solved.joint_with(genet).items():
            if other not in place or other == genet:
                continue
            theirs = network.states[other]
            for table, result in zip(tables, accepted, strict=True):
                chance = (joint * table[np.ix_(mine, theirs)]).sum()
                result[k, place[other]] = min(float(chance), 1.0)  # a sum may round to above 1


def _parts(solved: Elimination, kept: list[int]) -> Ints:
    """Connected part of the network of each kept genet; −1 − k for the settled ones."""
    part: dict[int, int] = {}
    for genet in kept:
        if genet in solved.place and solved.place[genet] not in part:
            part.update(dict.fromkeys(solved.reach(genet), genet))
    return np.array(
        [part[solved.place[g]] if g in solved.place else -1 - k for k, g in enumerate(kept)]
    )


def kept_genotypes(
    network: GenotypeNetwork, states: dict[int, Ints], kept: list[int], size: int
) -> Ints:
    """Genotypes of kept genets from the states drawn of unknowns.

    Returns
    -------
    (genets, draws) indices of genotypes

    Notes
    -----
    Source: bookkeeping of our own; settled genotypes are filled in.
    Valid:  draws of `Elimination.draw`.
    """
    rows = [
        network.states[g][states[g]] if g in states else np.full(size, network.states[g][0])
        for g in kept
    ]
    return np.stack(rows)


@njit(cache=True, parallel=True)
def _count_accepted(drawn: Ints, accepts: Bools, part: Ints, result: Floats) -> None:
    """Share of draws in which pollen is accepted, for pairs in one part of the network."""
    genets, size = drawn.shape
    for i in prange(genets):
        for j in range(genets):
            if part[i] == part[j] and i != j:
                took = 0
                for s in range(size):
                    took += accepts[drawn[i, s], drawn[j, s]]
                result[i, j] = took / size
