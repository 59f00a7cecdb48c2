"""Which test crosses would teach most."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nuttery.science.arguments import Bools, Floats, Ints, float_array
from nuttery.science.errors import BadArgumentError
from nuttery.science.pollen.hierarchy import expressed
from nuttery.science.pollen.inference import GenotypePosterior

MOST_CROSSES = 10  # joint outcomes are counted one by one
DRAWS = 4000
MOST_PAIRS = 400  # of those that matter
SHORTLIST = 40  # candidates that are weighed again after the first choice


@dataclass(frozen=True)
class NextCross:
    """A cross worth making.

    Attributes
    ----------
    seed, pollen : shrubs
    takes : probability that it takes
    gain : bits learned by it, on top of the crosses before it in the list
    """

    seed: int
    pollen: int
    takes: float
    gain: float


def next_crosses(
    posterior: GenotypePosterior,
    candidates: Sequence[tuple[int, int]],
    k: int,
    *,
    matters: ArrayLike | Mapping[tuple[int, int], float] | None = None,
    false_set: float = 0.02,
    false_fail: float = 0.1,
    rng: np.random.Generator | None = None,
) -> list[NextCross]:
    """The k crosses, one after the other, whose outcomes would teach most.

    Parameters
    ----------
    posterior : what is known now
    candidates : (seed, pollen) crosses that could be made
    k : number wanted, at most 10
    matters : (n, n) weight of each seed × pollen pair, such as dose at full acceptance, or
        {(seed, pollen): weight} of those that have any; None asks for information about all
        genotypes alike
    false_set, false_fail : as in `infer_genotypes`
    rng : source of randomness, by default the same each time

    Returns
    -------
    list of NextCross, best first; crosses that teach nothing are left out

    Raises
    ------
    BadArgumentError
        If a candidate is not in the planting, k is too large or a weight impossible.
    UnknownDominance
        If an answer hangs on an order of dominance that is not known.

    Notes
    -----
    Source: expected information (Lindley 1956, Ann. Math. Stat. 27:986–1005): mutual information
        of the outcomes and the genotypes, or (with `matters`) the weighted sum of that with the
        acceptance of each pair; greedy choice, joint with the crosses already chosen. After the
        first, only the 40 candidates that would teach most alone are weighed again.
    Valid:  from 4,000 joint draws of genotypes; gains below about 0.005 bits are noise. Of
        `matters`, the 400 heaviest pairs count.

    Examples
    --------
    >>> from nuttery.science.pollen import Hierarchy, infer_genotypes
    >>> post = infer_genotypes([-1] * 3, [-1] * 3, alleles=[1, 2], frequencies=[0.5, 0.5],
    ...                        hierarchy=Hierarchy({1: 2, 2: 1}), known={0: (1, 1), 1: (2, 2)})
    >>> [(c.seed, c.pollen) for c in next_crosses(post, [(0, 1), (0, 2)], 2)]
    [(0, 2)]
    """
    rates = [
        float(float_array(name, rate, ndim=0, low=0, high=1))
        for name, rate in (("false_set", false_set), ("false_fail", false_fail))
    ]
    n = len(posterior.probability)
    pairs = np.array(list(candidates), dtype=np.int64).reshape(-1, 2)
    if len(pairs) and not (pairs.min() >= 0 and pairs.max() < n):
        raise BadArgumentError(
            f"candidates: found shrubs {pairs.min()} to {pairs.max()}, expected 0 to {n - 1}"
        )
    if not 0 <= k <= MOST_CROSSES:
        raise BadArgumentError(f"k: found {k}, expected 0 to {MOST_CROSSES}")
    drawn = posterior.draw(DRAWS, np.random.default_rng(0) if rng is None else rng)
    takes = _takes(posterior, drawn, pairs, *rates)
    target = None if matters is None else _targets(posterior, drawn, matters)
    return _greedy(pairs, takes, target, k)


def _accepted(posterior: GenotypePosterior, drawn: Ints, pairs: Ints) -> Bools:
    """Whether each pair's pollen is accepted in each draw, (pairs, draws)."""
    letters = posterior.alphabet
    seed, pollen = drawn[:, pairs[:, 0]], drawn[:, pairs[:, 1]]
    low, high = (table[seed, pollen] for table in letters.accepts)
    unsure = pollen[low != high]
    if unsure.size:
        expressed(letters.pairs[unsure[0]], letters.hierarchy)
    return low.T > 0


def _takes(
    posterior: GenotypePosterior, drawn: Ints, pairs: Ints, false_set: float, false_fail: float
) -> Floats:
    takes: Floats = np.where(_accepted(posterior, drawn, pairs), 1 - false_fail, false_set)
    return takes


def _targets(
    posterior: GenotypePosterior,
    drawn: Ints,
    matters: ArrayLike | Mapping[tuple[int, int], float],
) -> tuple[Floats, Floats]:
    """Acceptance (0 or 1) in each draw of the pairs that matter most, and their weights."""
    pairs, weight = _weighed(matters, len(posterior.probability))
    heaviest = np.argsort(-weight, kind="stable")[:MOST_PAIRS]
    heaviest = heaviest[weight[heaviest] > 0]
    accepted = _accepted(posterior, drawn, pairs[heaviest]).astype(np.float64)
    return accepted, weight[heaviest]


def _weighed(matters: ArrayLike | Mapping[tuple[int, int], float], n: int) -> tuple[Ints, Floats]:
    """Pairs with their weights."""
    if isinstance(matters, Mapping):
        pairs = np.array(list(matters), dtype=np.int64).reshape(-1, 2)
        if len(pairs) and not (pairs.min() >= 0 and pairs.max() < n):
            raise BadArgumentError(
                f"matters: found shrubs {pairs.min()} to {pairs.max()}, expected 0 to {n - 1}"
            )
        return pairs, float_array("matters", list(matters.values()), ndim=1, low=0)
    weight = float_array("matters", matters, ndim=2, low=0)
    if weight.shape != (n, n):
        raise BadArgumentError(f"matters: found shape {weight.shape}, expected ({n}, {n})")
    return np.column_stack(np.unravel_index(np.arange(n * n), (n, n))), weight.ravel()


def _entropy(chance: Floats) -> Floats:
    safe = np.clip(chance, 1e-300, 1)
    bits: Floats = -chance * np.log2(safe)
    return bits


def _binary(chance: Floats) -> Floats:
    both: Floats = _entropy(chance) + _entropy(1 - chance)
    return both


def _greedy(
    pairs: Ints, takes: Floats, target: tuple[Floats, Floats] | None, k: int
) -> list[NextCross]:
    chosen: list[NextCross] = []
    outcomes = np.ones((1, takes.shape[1] if takes.size else DRAWS))  # chance of each history
    before, left = 0.0, list(range(len(pairs)))
    while left and len(chosen) < k:
        apart = None if target is None else outcomes @ target[0].T
        known = np.array([_information(outcomes, takes[c], target, apart) for c in left])
        best = int(np.argmax(known))
        gain = known[best] - before
        if gain <= 1e-9:
            break
        if not chosen:
            alone = np.argsort(-known, kind="stable")[:SHORTLIST]
            left = [left[a] for a in alone]
            best = 0
        c = left.pop(best)
        before += gain
        outcomes = np.concatenate([outcomes * takes[c], outcomes * (1 - takes[c])])
        seed, pollen = (int(i) for i in pairs[c])
        chosen.append(NextCross(seed, pollen, float(takes[c].mean()), float(gain)))
    return chosen


def _information(
    outcomes: Floats, takes: Floats, target: tuple[Floats, Floats] | None, apart: Floats | None
) -> float:
    """Bits that the histories so far and one more cross tell, together.

    `apart` are the sums of each history's chance over the draws that accept, target by target.
    """
    took = outcomes * takes
    if target is None or apart is None:
        joint = np.concatenate([took, outcomes - took])
        noise = _entropy(joint).sum(axis=0).mean()
        return float(_entropy(joint.mean(axis=1)).sum() - noise)
    accepted, weight = target
    history = np.concatenate([took.mean(axis=1), (outcomes - took).mean(axis=1)])
    with_took = took @ accepted.T
    both = np.concatenate([with_took, apart - with_took]) / len(takes)
    given = np.divide(both, history[:, None], out=np.zeros_like(both), where=history[:, None] > 0)
    unsure = _binary(accepted.mean(axis=1)) - history @ _binary(np.clip(given, 0, 1))
    return float((weight * unsure).sum())
