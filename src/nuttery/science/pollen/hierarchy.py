"""S-alleles: which ones pollen shows, and which pollen a stigma accepts.

One gene, many alleles. The stigma shows both of its alleles. Pollen shows what the plant that made
it dictates: the dominant allele, or both where the two stand on one level. Pollen is refused when
an allele that it shows is one of the stigma's two.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import combinations, product
from math import ceil, inf, log

from nuttery.science.errors import BadArgumentError, UnknownDominance

Genotype = tuple[int, int]
Level = float | tuple[float, float]
SLACK = 1e-9  # keeps ceil() from adding a donor for a rounding error


@dataclass(frozen=True)
class Hierarchy:
    """Order of dominance of S-alleles in pollen: a higher level hides a lower one.

    Parameters
    ----------
    levels : allele → level, or allele → (lowest, highest) level where the place is known only
        within bounds. Alleles on one level both show. An allele left out has no known level.

    Raises
    ------
    BadArgumentError
        If an allele is not a whole number or bounds are crossed or missing.

    Notes
    -----
    Source: Mehlenbacher 1997, Theor. Appl. Genet. 94:360–366 (levels are linear). Published.
    Valid:  sporophytic incompatibility with one gene, as in Corylus.
    Limits: full published table of levels not at hand; what is unknown stays unknown.

    Examples
    --------
    >>> hierarchy = Hierarchy({3: 3, 1: 2, 2: 1})
    >>> sorted(hierarchy.possible((1, 3))[0])
    [3]
    """

    levels: Mapping[int, Level]

    def __post_init__(self) -> None:
        for allele, level in self.levels.items():
            as_allele("levels", allele)
            low, high = _bounds(level)
            if not low <= high:
                raise BadArgumentError(
                    f"levels[{allele}]: found {level!r}, expected a level, or a lowest and a "
                    "highest level in that order"
                )

    def bounds(self, allele: int) -> tuple[float, float]:
        """Lowest and highest level that the allele may stand on; infinite where unknown.

        Notes
        -----
        Source: the levels given.
        Valid:  any allele.

        Examples
        --------
        >>> Hierarchy({1: 2, 8: (1, 3)}).bounds(8), Hierarchy({}).bounds(5)
        ((1, 3), (-inf, inf))
        """
        return _bounds(self.levels[allele]) if allele in self.levels else (-inf, inf)

    def possible(self, genotype: Genotype) -> tuple[frozenset[int], ...]:
        """Every set of alleles that pollen of this genotype may show; one set where it is known.

        Notes
        -----
        Source: Mehlenbacher 1997 for the rule. Published.
        Valid:  any pair of alleles.

        Examples
        --------
        >>> len(Hierarchy({1: 1}).possible((1, 4)))
        3
        """
        first, second = genotype
        if first == second:
            return (frozenset((first,)),)
        (low_a, high_a), (low_b, high_b) = self.bounds(first), self.bounds(second)
        shown = [
            (high_a > low_b, frozenset((first,))),
            (high_b > low_a, frozenset((second,))),
            (max(low_a, low_b) <= min(high_a, high_b), frozenset(genotype)),
        ]
        return tuple(alleles for possible, alleles in shown if possible)

    def known_pairs(self, alleles: Iterable[int]) -> int:
        """Number of pairs of different alleles whose order is known.

        Notes
        -----
        Source: counted from the levels given.
        Valid:  any set of alleles.

        Examples
        --------
        >>> Hierarchy({1: 2, 2: 1}).known_pairs([1, 2, 3])
        1
        """
        return sum(len(self.possible(pair)) == 1 for pair in combinations(sorted(set(alleles)), 2))


def _bounds(level: Level) -> tuple[float, float]:
    return level if isinstance(level, tuple) else (level, level)


def as_allele(name: str, allele: object) -> int:
    """`allele` as an int.

    Raises
    ------
    BadArgumentError
        If it is not a whole number.

    Notes
    -----
    Source: the agreed interface: an allele is an int.
    Valid:  ints of Python and NumPy.

    Examples
    --------
    >>> as_allele("genotype", 3)
    3
    """
    if isinstance(allele, bool) or not hasattr(allele, "__index__"):
        raise BadArgumentError(f"{name}: found allele {allele!r}, expected a whole number")
    return int(allele.__index__())


def as_genotype(name: str, genotype: Iterable[int]) -> Genotype:
    """`genotype` as a pair of alleles in rising order.

    Raises
    ------
    BadArgumentError
        If it is not two whole numbers.

    Notes
    -----
    Source: the agreed interface: a genotype is a pair of alleles.
    Valid:  any two whole numbers.

    Examples
    --------
    >>> as_genotype("mother", (21, 2))
    (2, 21)
    """
    try:
        alleles = tuple(genotype)
    except TypeError:
        alleles = ()
    if len(alleles) != 2:
        raise BadArgumentError(f"{name}: found {genotype!r}, expected a pair of alleles")
    first, second = sorted(as_allele(f"{name}[{i}]", allele) for i, allele in enumerate(alleles))
    return first, second


def expressed(genotype: Iterable[int], hierarchy: Hierarchy) -> frozenset[int]:
    """Alleles that pollen of this genotype shows.

    Parameters
    ----------
    genotype : pair of alleles
    hierarchy : order of dominance

    Returns
    -------
    frozenset of one or two alleles

    Raises
    ------
    UnknownDominance
        If the order of two different alleles is not known.
    BadArgumentError
        If the genotype is not a pair of whole numbers.

    Notes
    -----
    Source: Mehlenbacher 1997 (linear levels; equal levels both show). Published.
    Valid:  pairs whose order is known.

    Examples
    --------
    >>> sorted(expressed((2, 21), Hierarchy({21: 2, 2: 1})))
    [21]
    >>> sorted(expressed((1, 22), Hierarchy({1: 2, 22: 2})))
    [1, 22]
    """
    pair = as_genotype("genotype", genotype)
    shown = hierarchy.possible(pair)
    if len(shown) > 1:
        raise UnknownDominance(
            f"genotype: found alleles {pair[0]} and {pair[1]} whose order in pollen is not known, "
            "expected a level for both that settles it"
        )
    return shown[0]


def compatibility_range(
    seed_parent: Iterable[int], pollen_parent: Iterable[int], hierarchy: Hierarchy
) -> tuple[float, float]:
    """Lowest and highest answer (0 refused, 1 accepted) that the known order allows.

    Parameters
    ----------
    seed_parent, pollen_parent : pairs of alleles
    hierarchy : order of dominance

    Returns
    -------
    (low, high), equal where the answer is known

    Raises
    ------
    BadArgumentError
        If a genotype is not a pair of whole numbers.

    Notes
    -----
    Source: rule of Mehlenbacher 1997; the range is ours, by trying every order still possible.
    Valid:  any genotypes.

    Examples
    --------
    >>> compatibility_range((1, 2), (2, 9), Hierarchy({}))
    (0.0, 1.0)
    >>> compatibility_range((1, 3), (2, 10), Hierarchy({}))
    (1.0, 1.0)
    """
    stigma = set(as_genotype("seed_parent", seed_parent))
    pollen = as_genotype("pollen_parent", pollen_parent)
    answers = [float(not stigma & shown) for shown in hierarchy.possible(pollen)]
    return min(answers), max(answers)


def is_compatible(
    seed_parent: Iterable[int], pollen_parent: Iterable[int], hierarchy: Hierarchy
) -> bool:
    """Whether a stigma of the seed parent accepts pollen of the pollen parent.

    Parameters
    ----------
    seed_parent, pollen_parent : pairs of alleles
    hierarchy : order of dominance

    Returns
    -------
    bool; the cross the other way may answer differently

    Raises
    ------
    UnknownDominance
        If the answer hangs on an order that is not known. Where every possible order gives the
        same answer, that answer is returned.
    BadArgumentError
        If a genotype is not a pair of whole numbers.

    Notes
    -----
    Source: Mehlenbacher 1997; 2014, J. Amer. Soc. Hort. Sci. 139:191–212. Published.
    Valid:  one gene; clones of one plant are refused because they share both alleles.

    Examples
    --------
    >>> order = Hierarchy({21: 2, 15: 2, 2: 1})
    >>> is_compatible((2, 21), (2, 15), order)
    True
    """
    low, high = compatibility_range(seed_parent, pollen_parent, hierarchy)
    if low != high:
        expressed(pollen_parent, hierarchy)
    return high > 0


def offspring(mother: Iterable[int], father: Iterable[int]) -> list[Genotype]:
    """The four equally likely genotypes of a cross, repeats included.

    Notes
    -----
    Source: Mendel's law of segregation.
    Valid:  two alleles a parent, no distortion.

    Examples
    --------
    >>> offspring((1, 2), (2, 3))
    [(1, 2), (1, 3), (2, 2), (2, 3)]
    """
    pairs = product(as_genotype("mother", mother), as_genotype("father", father))
    return [as_genotype("offspring", pair) for pair in pairs]


def sibling_compatibility(
    mother: Iterable[int], father: Iterable[int], hierarchy: Hierarchy
) -> float:
    """Probability that a random full sibling's pollen is accepted by another random full sibling.

    Parameters
    ----------
    mother, father : pairs of alleles
    hierarchy : order of dominance

    Returns
    -------
    float, a multiple of 1/16

    Raises
    ------
    UnknownDominance
        If the answer hangs on an order that is not known.
    BadArgumentError
        If a genotype is not a pair of whole numbers.

    Notes
    -----
    Source: exact count over the sixteen equally likely pairs of siblings (Mendel).
    Valid:  full siblings of two known parents.

    Examples
    --------
    >>> sibling_compatibility((1, 2), (3, 4), Hierarchy({1: 4, 2: 3, 3: 2, 4: 1}))
    0.5
    >>> sibling_compatibility((1, 2), (3, 2), Hierarchy({3: 3, 1: 2, 2: 1})) == 7 / 16
    True
    """
    siblings = offspring(mother, father)
    taken = [is_compatible(seed, pollen, hierarchy) for seed in siblings for pollen in siblings]
    return sum(taken) / len(taken)


def donors_needed(probability: float, assurance: float) -> int:
    """Number of independent donors so that at least one is accepted with the assurance wanted.

    Parameters
    ----------
    probability : chance that any one donor's pollen is accepted, above 0 to 1
    assurance : chance wanted of at least one, above 0 and below 1

    Returns
    -------
    int, at least 1

    Raises
    ------
    BadArgumentError
        If either lies outside its range.

    Notes
    -----
    Source: 1 − (1 − p)ⁿ ≥ a solved for n.
    Valid:  donors independent of each other; for siblings use `assurance`.

    Examples
    --------
    >>> donors_needed(0.25, 0.95), donors_needed(0.25, 0.99)
    (11, 17)
    """
    if not 0 < probability <= 1:
        raise BadArgumentError(f"probability: found {probability}, expected above 0 to 1")
    if not 0 < assurance < 1:
        raise BadArgumentError(f"assurance: found {assurance}, expected above 0 and below 1")
    if probability == 1:
        return 1
    return max(1, ceil(log(1 - assurance) / log(1 - probability) - SLACK))
