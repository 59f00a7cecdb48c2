"""Network of genotypes: pedigree, test crosses and other evidence as factors."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from nuttery.science.arguments import Bools, Floats, Ints
from nuttery.science.errors import BadArgumentError
from nuttery.science.pollen.alphabet import Alphabet
from nuttery.science.pollen.network import Factor
from nuttery.science.pollen.pedigree import UNKNOWN, Pedigree

Cross = tuple[int, int, bool]


@dataclass(frozen=True)
class GenotypeNetwork:
    """Unknown genotypes and what ties them together.

    Attributes
    ----------
    letters, family : alleles in play, who descends from whom
    states : open genotypes of each kept genet, as indices into the pairs
    factors : tables over the unknowns
    sizes : number of states of each unknown
    stand : (n,) genet that stands for each shrub: itself, or a sibling about which just as
        little is known
    second : {genet that stands for others: another of them}, for chances between two such
    crosses : (seed, pollen, weight if accepted, weight if refused)
    hints : {genet: (pairs,) likelihood of other evidence}
    """

    letters: Alphabet
    family: Pedigree
    states: dict[int, Ints]
    factors: list[Factor]
    sizes: dict[int, int]
    stand: Ints
    second: dict[int, int]
    crosses: list[tuple[int, int, float, float]]
    hints: Mapping[int, Floats]

    def father_unknown(self, i: int) -> int:
        """Number of the unknown "which of the possible fathers" of genet i.

        Notes
        -----
        Source: numbering of our own.
        Valid:  genets.
        """
        return 3 * len(self.stand) + i


def genotype_network(
    letters: Alphabet,
    family: Pedigree,
    still: Bools,
    *,
    crosses: Sequence[Cross],
    false_set: float,
    false_fail: float,
    hints: Mapping[int, Floats],
) -> GenotypeNetwork:
    """Network of all that is known about genotypes.

    Parameters
    ----------
    letters, family : alleles in play, who descends from whom
    still : (n, pairs) genotypes left open
    crosses : (seed, pollen, took)
    false_set, false_fail : chance that an incompatible cross takes, that a compatible one fails
    hints : {genet: (pairs,) likelihood of other evidence}

    Returns
    -------
    GenotypeNetwork

    Raises
    ------
    BadArgumentError
        If a cross could not have gone as told.
    UnknownDominance
        If a cross hangs on an order of dominance that is not known.

    Notes
    -----
    Source: Mendel's law; rule of acceptance of Mehlenbacher 1997.
    Valid:  siblings with no evidence of their own are represented by two of them.

    Examples
    --------
    >>> from nuttery.science.pollen.alphabet import alphabet
    >>> from nuttery.science.pollen.hierarchy import Hierarchy
    >>> from nuttery.science.pollen.pedigree import open_genotypes, pedigree
    >>> letters, family = alphabet([1, 2], [0.5, 0.5], Hierarchy({})), pedigree([-1] * 3, [-1] * 3)
    >>> net = genotype_network(letters, family, open_genotypes(family, letters, {}), crosses=(),
    ...                        false_set=0.0, false_fail=0.0, hints={})
    >>> net.stand, net.second
    (array([0, 0, 0]), {0: 1})
    """
    told = _told(family, crosses)
    stand, second = _representatives(family, still, {*hints, *(i for pair in told for i in pair)})
    kept = {*stand.tolist(), *second.values()}
    states = {i: np.nonzero(still[i])[0] for i in kept}
    builder = _Builder(letters, family, states, [], {})
    for i in family.order:
        if i in kept:
            builder.add_descent(i)
    for i, likelihood in hints.items():
        builder.add((i,), likelihood[states[i]])
    weighed = []
    for (seed, pollen), (took, failed) in told.items():
        accepted = letters.known_accepts(states[seed], states[pollen])
        good = (1 - false_fail) ** took * false_fail**failed
        bad = false_set**took * (1 - false_set) ** failed
        builder.add((seed, pollen), np.where(accepted > 0, good, bad))
        weighed.append((seed, pollen, good, bad))
    return GenotypeNetwork(
        letters, family, states, builder.factors, builder.sizes, stand, second, weighed, hints
    )


def _told(family: Pedigree, crosses: Sequence[Cross]) -> dict[tuple[int, int], list[int]]:
    """How often each cross took and failed, by genets; selfings say nothing."""
    told: dict[tuple[int, int], list[int]] = {}
    n = len(family.genet)
    for k, (seed, pollen, took) in enumerate(crosses):
        for name, i in (("seed", seed), ("pollen", pollen)):
            if not 0 <= i < n:
                raise BadArgumentError(f"crosses[{k}]: found {name} {i}, expected 0 to {n - 1}")
        if took not in (True, False):
            raise BadArgumentError(f"crosses[{k}]: found took {took!r}, expected True or False")
        pair = (int(family.genet[seed]), int(family.genet[pollen]))
        if pair[0] != pair[1]:
            told.setdefault(pair, [0, 0])[0 if took else 1] += 1
    return told


def _representatives(
    family: Pedigree, still: Bools, spoken_of: set[int]
) -> tuple[Ints, dict[int, int]]:
    """For siblings with no evidence and no offspring: the first of them, and a second."""
    parents = {p for i in family.order for p in family.parents(i)}
    alike: dict[object, list[int]] = {}
    for i in sorted(family.order):
        silent = i not in parents and i not in spoken_of and still[i].sum() > 1
        key = (int(family.mother[i]), family.fathers[i], still[i].tobytes()) if silent else i
        alike.setdefault(key, []).append(i)
    first = {i: group[0] for group in alike.values() for i in group}
    second = {group[0]: group[1] for group in alike.values() if len(group) > 1}
    return np.array([first[g] for g in family.genet.tolist()], dtype=np.int64), second


@dataclass
class _Builder:
    """Factors under construction; settled genotypes are put in as numbers, not as unknowns."""

    letters: Alphabet
    family: Pedigree
    states: dict[int, Ints]
    factors: list[Factor]
    sizes: dict[int, int]

    def settled(self, i: int) -> bool:
        return i == UNKNOWN or len(self.states[i]) == 1

    def add(self, scope: tuple[int, ...], table: Floats) -> None:
        """Add a factor over genets; axes of settled ones, of length 1, are taken out."""
        n = len(self.family.genet)
        settled = tuple(a for a, v in enumerate(scope) if v < n and self.settled(v))
        left = tuple(v for a, v in enumerate(scope) if a not in settled)
        table = table.squeeze(axis=settled)
        if not table.max() > 0:
            raise BadArgumentError(
                f"crosses: found a result that shrubs {list(scope)} cannot have given, "
                "expected facts that can agree (or false rates above 0)"
            )
        if left:
            self.factors.append(Factor(left, table))
            self.sizes.update(zip(left, table.shape, strict=True))

    def gametes(self, parent: int) -> Floats:
        """Chance of each allele from a parent: (A,) if settled, else (states, A)."""
        if parent == UNKNOWN:
            return self.letters.frequencies
        passes = self.letters.passes[self.states[parent]]
        return passes[0] if self.settled(parent) else passes

    def add_descent(self, i: int) -> None:
        """Tie genet i to its parents."""
        if self.settled(i) and not self.family.parents(i):
            return
        n = len(self.family.genet)
        egg = self.one_parent(n + i, int(self.family.mother[i]))
        fathers = self.family.fathers[i]
        pollen = self.one_parent(2 * n + i, fathers[0][0]) if len(fathers) == 1 else None
        if len(fathers) > 1:
            self.which_father(i, fathers)
        table = self.letters.makes[:, :, self.states[i]]
        scope: tuple[int, ...] = (i,)
        if pollen is None:
            scope = (2 * n + i, *scope)
        else:
            table = np.einsum("b,abg->ag", pollen, table)
        if egg is None:
            scope = (n + i, *scope)
        else:
            table = np.tensordot(egg, table, axes=1)
        self.add(scope, table)

    def one_parent(self, gamete: int, parent: int) -> Floats | None:
        """Chance of each allele if settled; otherwise None, and the gamete becomes an unknown."""
        chances = self.gametes(parent)
        if self.settled(parent):
            return chances
        self.add((parent, gamete), chances)
        return None

    def which_father(self, i: int, fathers: tuple[tuple[int, float], ...]) -> None:
        """Pollen allele of genet i from one of several fathers, itself an unknown."""
        n, size = len(self.family.genet), len(self.letters.alleles)
        which, gamete = 3 * n + i, 2 * n + i
        prior = np.array([weight for _, weight in fathers])[:, None].repeat(size, axis=1)
        for k, (father, _) in enumerate(fathers):
            chances = self.gametes(father)
            if self.settled(father):
                prior[k] *= chances
                continue
            table = np.ones((len(fathers), size, len(chances)))
            table[k] = chances.T
            self.add((which, gamete, father), table)
        self.add((which, gamete), prior)
