"""How many different seedlings to plant so that none goes without a donor."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import ArrayLike

from nuttery.science.arguments import Floats, float_array
from nuttery.science.errors import BadArgumentError
from nuttery.science.pollen.alphabet import Alphabet, alphabet
from nuttery.science.pollen.hierarchy import (
    Genotype,
    Hierarchy,
    as_genotype,
    is_compatible,
    offspring,
)


@dataclass(frozen=True)
class Assurance:
    """Chance of at least one donor among k siblings, for every k from 0.

    Attributes
    ----------
    chance : (k_max + 1,) for one shrub with k siblings about it
    everyone : (k_max + 1,) that among k siblings planted alone not one is without a donor;
        NaN where the parents are not both known or donors do not all overlap in time
    ceiling : chance with siblings without end; below 1 where some class accepts no sibling
    """

    chance: Floats
    everyone: Floats
    ceiling: float

    def needed(self, assurance: float) -> int | None:
        """Fewest siblings that give the chance wanted, or None where the curve does not reach it.

        Raises
        ------
        BadArgumentError
            If the assurance is not above 0 and below 1.

        Notes
        -----
        Source: read off `chance`.
        Valid:  up to the k_max asked for.

        Examples
        --------
        >>> order = Hierarchy({1: 4, 2: 3, 3: 2, 4: 1})
        >>> assurance((1, 2), (3, 4), order, k_max=20).needed(0.95)
        5
        """
        if not 0 < assurance < 1:
            raise BadArgumentError(f"assurance: found {assurance}, expected above 0 and below 1")
        enough = np.nonzero(self.chance >= assurance - 1e-12)[0]
        return int(enough[0]) if len(enough) else None


def assurance(
    mother: Iterable[int] | None,
    father: Iterable[int] | None,
    hierarchy: Hierarchy,
    *,
    k_max: int = 30,
    overlap: float = 1.0,
    alleles: Iterable[int] | None = None,
    frequencies: ArrayLike | None = None,
) -> Assurance:
    """Chance that a shrub has at least one accepted, overlapping donor among k siblings.

    Parameters
    ----------
    mother, father : pairs of alleles, or None: unknown, drawn from `frequencies`
    hierarchy : order of dominance
    k_max : largest number of siblings
    overlap : chance that a sibling's shed overlaps the shrub's stigmas, alike for all
    alleles, frequencies : shares of alleles among unknown parents; needed if one is unknown

    Returns
    -------
    Assurance

    Raises
    ------
    UnknownDominance
        If the answer hangs on an order that is not known.
    BadArgumentError
        If an argument is impossible or frequencies are missing.

    Notes
    -----
    Source: exact by class of genotype: Σ_class P(class)·[1 − (1 − overlap·accepted(class))^k],
        averaged over parents where unknown; `everyone` by inclusion and exclusion over the sets
        of classes present.
    Valid:  full siblings of one mother and one father. They are not independent: all face the
        same four classes, so 1 − (1 − p)^k from the mean p promises too much.

    Examples
    --------
    >>> order = Hierarchy({3: 3, 1: 2, 2: 1})
    >>> assurance((1, 2), (3, 2), order, k_max=2).chance
    array([0.      , 0.4375  , 0.640625])
    """
    share = float(float_array("overlap", overlap, ndim=0, low=0, high=1))
    if k_max < 0:
        raise BadArgumentError(f"k_max: found {k_max}, expected at least 0")
    k = np.arange(k_max + 1, dtype=np.float64)
    chance, everyone, ceiling = np.zeros(k_max + 1), np.full(k_max + 1, np.nan), 0.0
    for weight, parents in _parents(mother, father, hierarchy, alleles, frequencies):
        classes = Counter(offspring(*parents))
        for seed, count in classes.items():
            accepted = sum(m for p, m in classes.items() if is_compatible(seed, p, hierarchy)) / 4
            chance += weight * count / 4 * (1 - (1 - share * accepted) ** k)
            ceiling += weight * count / 4 * (share * accepted > 0)
        if weight == 1.0 and share == 1.0:
            everyone = _everyone(classes, hierarchy, k)
    return Assurance(chance, everyone, min(float(ceiling), 1.0))


def assurance_among(
    classes: ArrayLike, accepts: ArrayLike, *, k_max: int = 30, overlap: float = 1.0
) -> Floats:
    """Chance of at least one donor among k seedlings of one lot, whatever its fathers.

    Parameters
    ----------
    classes : (draws, pairs) chance of each genotype among seedlings of the lot, for each of the
        parents that it may have
    accepts : (pairs, pairs) seed × pollen, 1 where accepted
    k_max : largest number of seedlings about a shrub
    overlap : chance that a seedling's shed overlaps the shrub's stigmas, alike for all

    Returns
    -------
    (k_max + 1,) chance for one shrub of the lot with k others about it, mean over draws

    Raises
    ------
    BadArgumentError
        If an argument is impossible or shapes differ.

    Notes
    -----
    Source: as `assurance`, with any chances of classes in place of four even ones.
    Valid:  seedlings independent given the parents, as those of one mother are.

    Examples
    --------
    >>> accepts = 1 - np.eye(4)
    >>> assurance_among([[0.25] * 4], accepts, k_max=2).round(4)
    array([0.    , 0.75  , 0.9375])
    """
    chance = float_array("classes", classes, ndim=2, low=0, high=1)
    table = float_array("accepts", accepts, ndim=2, low=0, high=1)
    share = float(float_array("overlap", overlap, ndim=0, low=0, high=1))
    pairs = chance.shape[1]
    if table.shape != (pairs, pairs) or k_max < 0:
        raise BadArgumentError(
            f"accepts, k_max: found shape {table.shape} and {k_max}, expected ({pairs}, {pairs}) "
            "and at least 0"
        )
    refused = 1 - share * (chance @ table.T)
    fed = [(chance * (1 - refused**k)).sum(axis=1).mean() for k in range(k_max + 1)]
    return np.array(fed)


def _parents(
    mother: Iterable[int] | None,
    father: Iterable[int] | None,
    hierarchy: Hierarchy,
    alleles: Iterable[int] | None,
    frequencies: ArrayLike | None,
) -> list[tuple[float, tuple[Genotype, Genotype]]]:
    """Pairs of parents with their probabilities."""
    letters = None
    if mother is None or father is None:
        if alleles is None or frequencies is None:
            raise BadArgumentError(
                "frequencies: found none, expected alleles and frequencies for an unknown parent"
            )
        letters = alphabet(list(alleles), frequencies, hierarchy)
    dams = _drawn("mother", mother, letters)
    sires = _drawn("father", father, letters)
    return [(p * q, (dam, sire)) for p, dam in dams for q, sire in sires]


def _drawn(
    name: str, genotype: Iterable[int] | None, letters: Alphabet | None
) -> list[tuple[float, Genotype]]:
    if genotype is not None:
        return [(1.0, as_genotype(name, genotype))]
    if letters is None:
        return []
    f = letters.frequencies
    chance = f[letters.first] * f[letters.second]
    chance[letters.first != letters.second] *= 2
    return [(float(p), pair) for p, pair in zip(chance, letters.pairs, strict=True) if p > 0]


def _everyone(classes: Counter[Genotype], hierarchy: Hierarchy, k: Floats) -> Floats:
    """Chance that all of k siblings have a donor among the rest.

    Pollen of one's own class is never accepted, so it only matters which classes are there.
    """
    names = list(classes)
    total = np.zeros(len(k))
    for size in range(1, len(names) + 1):
        for present in combinations(names, size):
            fed = all(any(is_compatible(s, p, hierarchy) for p in present) for s in present)
            if fed:
                total += _exactly(present, classes, k)
    total[k == 0] = 1.0
    return total


def _exactly(present: tuple[Genotype, ...], classes: Counter[Genotype], k: Floats) -> Floats:
    """Chance that k siblings show exactly these classes."""
    total = np.zeros(len(k))
    for size in range(len(present) + 1):
        for some in combinations(present, size):
            sign = (-1) ** (len(present) - size)
            total += sign * (sum(classes[c] for c in some) / 4) ** k
    return total
