"""Every genotype that a list of alleles can make, and who accepts whom among them."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations_with_replacement

import numpy as np
from numpy.typing import ArrayLike

from nuttery.science.arguments import Floats, Ints, float_array
from nuttery.science.errors import BadArgumentError
from nuttery.science.pollen.hierarchy import (
    Genotype,
    Hierarchy,
    as_allele,
    as_genotype,
    expressed,
)


@dataclass(frozen=True)
class Alphabet:
    """Alleles in play, their frequencies and the genotypes they make.

    Attributes
    ----------
    alleles : A alleles
    frequencies : (A,) adds up to 1
    hierarchy : order of dominance in pollen
    """

    alleles: tuple[int, ...]
    frequencies: Floats
    hierarchy: Hierarchy

    @cached_property
    def pairs(self) -> list[Genotype]:
        """The A(A+1)/2 genotypes, alleles in rising order."""
        return list(combinations_with_replacement(sorted(self.alleles), 2))

    @cached_property
    def first(self) -> Ints:
        """Index of each genotype's first allele, (pairs,)."""
        return np.array([self.place[a] for a, _ in self.pairs], dtype=np.int64)

    @cached_property
    def second(self) -> Ints:
        """Index of each genotype's second allele, (pairs,)."""
        return np.array([self.place[b] for _, b in self.pairs], dtype=np.int64)

    @cached_property
    def place(self) -> dict[int, int]:
        """Index of each allele."""
        return {allele: i for i, allele in enumerate(self.alleles)}

    @cached_property
    def pair_place(self) -> dict[Genotype, int]:
        """Index of each genotype."""
        return {pair: i for i, pair in enumerate(self.pairs)}

    @cached_property
    def passes(self) -> Floats:
        """Chance that a parent of each genotype passes on each allele, (pairs, A)."""
        table = np.zeros((len(self.pairs), len(self.alleles)))
        rows = np.arange(len(self.pairs))
        np.add.at(table, (rows, self.first), 0.5)
        np.add.at(table, (rows, self.second), 0.5)
        return table

    @cached_property
    def makes(self) -> Floats:
        """1 where an egg's allele and a pollen's allele make the genotype, (A, A, pairs)."""
        size = len(self.alleles)
        table = np.zeros((size, size, len(self.pairs)))
        pair = np.arange(len(self.pairs))
        table[self.first, self.second, pair] = 1.0
        table[self.second, self.first, pair] = 1.0
        return table

    @cached_property
    def accepts(self) -> tuple[Floats, Floats]:
        """Lowest and highest acceptance of each pollen genotype by each seed genotype."""
        shape = (len(self.pairs), len(self.pairs))
        low, high = np.ones(shape), np.zeros(shape)
        has = self.passes > 0
        for j, pollen in enumerate(self.pairs):
            for shown in self.hierarchy.possible(pollen):
                free = ~has[:, [self.place[a] for a in shown]].any(axis=1)
                low[:, j] = np.minimum(low[:, j], free)
                high[:, j] = np.maximum(high[:, j], free)
        return low, high

    def known_accepts(self, seed: Ints, pollen: Ints) -> Floats:
        """Acceptance among some genotypes, where no unknown order of dominance touches it.

        Returns
        -------
        (len(seed), len(pollen)) of 0 and 1

        Raises
        ------
        UnknownDominance
            If the answer for one of them hangs on an order that is not known.

        Notes
        -----
        Source: `is_compatible` for each pair.
        Valid:  indices into `pairs`.

        Examples
        --------
        >>> two = alphabet([1, 2], [0.5, 0.5], Hierarchy({1: 2, 2: 1}))
        >>> two.known_accepts(np.array([2]), np.array([0, 1, 2]))
        array([[1., 1., 0.]])
        """
        low, high = (table[np.ix_(seed, pollen)] for table in self.accepts)
        unsure = np.nonzero((low != high).any(axis=0))[0]
        if len(unsure):
            expressed(self.pairs[pollen[unsure[0]]], self.hierarchy)
        return low


def alphabet(alleles: Sequence[int], frequencies: ArrayLike, hierarchy: Hierarchy) -> Alphabet:
    """Alphabet of checked alleles and frequencies.

    Parameters
    ----------
    alleles : A different whole numbers
    frequencies : (A,) ≥ 0, adds up to 1
    hierarchy : order of dominance in pollen

    Returns
    -------
    Alphabet

    Raises
    ------
    BadArgumentError
        If an allele stands twice, or frequencies do not fit or add up.

    Notes
    -----
    Source: the agreed interface.
    Valid:  up to some forty alleles; the tables hold A²(A+1)/2 numbers.

    Examples
    --------
    >>> alphabet([1, 2], [0.5, 0.5], Hierarchy({})).pairs
    [(1, 1), (1, 2), (2, 2)]
    """
    names = tuple(as_allele(f"alleles[{i}]", allele) for i, allele in enumerate(alleles))
    twice = next((a for a in names if names.count(a) > 1), None)
    if twice is not None or not names:
        raise BadArgumentError(
            f"alleles: found {'none' if twice is None else f'{twice} twice'}, "
            "expected different whole numbers, at least one"
        )
    shares = float_array("frequencies", frequencies, ndim=1, low=0, high=1)
    if len(shares) != len(names):
        raise BadArgumentError(
            f"frequencies: found {len(shares)}, expected one for each of {len(names)} alleles"
        )
    if abs(shares.sum() - 1) > 1e-6:
        raise BadArgumentError(f"frequencies: found a sum of {shares.sum():g}, expected 1")
    return Alphabet(names, shares / shares.sum(), hierarchy)


def genotype_index(letters: Alphabet, name: str, genotype: Sequence[int]) -> int:
    """Index of a genotype.

    Raises
    ------
    BadArgumentError
        If it is not a pair, or has an allele that is not in play.

    Notes
    -----
    Source: order of `Alphabet.pairs`.
    Valid:  alleles in either order.

    Examples
    --------
    >>> genotype_index(alphabet([1, 2], [0.5, 0.5], Hierarchy({})), "known[0]", (2, 1))
    1
    """
    pair = as_genotype(name, genotype)
    if pair not in letters.pair_place:
        told = ", ".join(str(a) for a in sorted(letters.alleles))
        raise BadArgumentError(f"{name}: found {pair}, expected alleles among {told}")
    return letters.pair_place[pair]
