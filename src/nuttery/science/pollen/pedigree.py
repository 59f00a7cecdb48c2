"""Who may be whose parent, layers joined to their originals, and what genotypes are still open."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from nuttery.science.arguments import Bools, Ints, int_array, refuse_where, same_length
from nuttery.science.errors import BadArgumentError
from nuttery.science.pollen.alphabet import Alphabet, genotype_index

UNKNOWN = -1
Source = tuple[int, float]  # a parent (or UNKNOWN) and how likely it is the one


@dataclass(frozen=True)
class Pedigree:
    """Parents of each genotype, layers taken together with their originals.

    Attributes
    ----------
    genet : (n,) the shrub that stands for each shrub's genotype (itself, or a layer's original)
    mother : (n,) of genets, UNKNOWN where not known
    fathers : possible fathers of each genet with their chances
    order : genets, parents before offspring
    """

    genet: Ints
    mother: Ints
    fathers: list[tuple[Source, ...]]
    order: list[int]

    def parents(self, i: int) -> list[int]:
        """Every genet that may be a parent of genet i.

        Notes
        -----
        Source: as given.
        Valid:  genets.

        Examples
        --------
        >>> pedigree([-1, 0], [-1, -1]).parents(1)
        [0]
        """
        named = [int(self.mother[i]), *(f for f, _ in self.fathers[i])]
        return [p for p in named if p != UNKNOWN]


def pedigree(
    mother: ArrayLike,
    father: ArrayLike,
    *,
    possible_fathers: Mapping[int, Mapping[int, float]] | None = None,
    clone_of: ArrayLike | None = None,
) -> Pedigree:
    """Pedigree of checked parents.

    Parameters
    ----------
    mother, father : (n,) int index of the parent, or −1
    possible_fathers : {shrub: {father, or −1 for one not in the planting: chance}} in place of
        `father`
    clone_of : (n,) index of the shrub of which this one is a layer, or −1

    Returns
    -------
    Pedigree

    Raises
    ------
    BadArgumentError
        If an index is out of range, chances do not add up, or a shrub descends from itself.

    Notes
    -----
    Source: the agreed interface.
    Valid:  rows in any order. A layer's parents are those of its original.

    Examples
    --------
    >>> pedigree([-1, -1], [-1, -1], clone_of=[-1, 0]).genet
    array([0, 0])
    """
    mothers = int_array("mother", mother, ndim=1, low=UNKNOWN)
    fathers = int_array("father", father, ndim=1, low=UNKNOWN)
    n = same_length(mother=mothers, father=fathers)
    nobody = np.full(n, UNKNOWN)
    clones = int_array("clone_of", nobody if clone_of is None else clone_of, ndim=1, low=UNKNOWN)
    same_length(mother=mothers, clone_of=clones)
    for name, index in (("mother", mothers), ("father", fathers), ("clone_of", clones)):
        refuse_where(name, index, index >= n, f"-1 to {n - 1}")
    genet = _originals(clones)
    sources = _sources(fathers, possible_fathers or {})
    dam = np.where(mothers == UNKNOWN, UNKNOWN, genet[mothers])
    sires = [tuple((UNKNOWN if f == UNKNOWN else int(genet[f]), w) for f, w in s) for s in sources]
    draft = Pedigree(genet, dam, sires, [])
    return Pedigree(genet, dam, sires, _parents_first(draft))


def _originals(clones: Ints) -> Ints:
    genet = np.arange(len(clones))
    for i in range(len(clones)):
        seen, at = {i}, i
        while clones[at] != UNKNOWN:
            at = int(clones[at])
            if at in seen:
                raise BadArgumentError(
                    f"clone_of[{i}]: found a ring of layers through {at}, expected an original"
                )
            seen.add(at)
        genet[i] = at
    return genet


def _sources(
    fathers: Ints, possible: Mapping[int, Mapping[int, float]]
) -> list[tuple[Source, ...]]:
    sources: list[tuple[Source, ...]] = [((int(f), 1.0),) for f in fathers]
    for i, chances in possible.items():
        where = f"possible_fathers[{i}]"
        if not 0 <= i < len(fathers):
            raise BadArgumentError(f"{where}: found shrub {i}, expected 0 to {len(fathers) - 1}")
        if fathers[i] != UNKNOWN:
            raise BadArgumentError(
                f"{where}: found father[{i}] = {fathers[i]} as well, expected -1 there"
            )
        wrong = [f for f in chances if not UNKNOWN <= f < len(fathers)]
        if wrong:
            raise BadArgumentError(
                f"{where}: found father {wrong[0]}, expected -1 to {len(fathers) - 1}"
            )
        total = sum(chances.values())
        if min(chances.values(), default=-1) < 0 or not np.isclose(total, 1, atol=1e-6):
            raise BadArgumentError(
                f"{where}: found chances {dict(chances)}, expected none below 0 and a sum of 1"
            )
        sources[i] = tuple((int(f), w / total) for f, w in chances.items() if w > 0)
    return sources


def _parents_first(draft: Pedigree) -> list[int]:
    genets = [int(i) for i in np.unique(draft.genet)]
    waiting = {i: set(draft.parents(i)) for i in genets}
    below: dict[int, list[int]] = {i: [] for i in genets}
    for i, parents in waiting.items():
        for p in parents:
            below[p].append(i)
    order = [i for i in genets if not waiting[i]]
    for i in order:
        for child in below[i]:
            waiting[child].discard(i)
            if not waiting[child]:
                order.append(child)
    if len(order) < len(genets):
        ring = [i for i in genets if waiting[i]]
        raise BadArgumentError(
            f"mother, father: found rows {ring[:6]} that descend from themselves, "
            "expected no shrub among its own ancestors"
        )
    return order


def open_genotypes(
    family: Pedigree, letters: Alphabet, known: Mapping[int, Sequence[int]]
) -> Bools:
    """Genotypes of each genet that known genotypes and parents leave open.

    Parameters
    ----------
    family : pedigree
    letters : alleles in play
    known : {shrub: genotype}

    Returns
    -------
    (n, pairs) bool; rows of layers are not used

    Raises
    ------
    BadArgumentError
        If a genotype is not possible, or parents and offspring contradict each other.

    Notes
    -----
    Source: genotype elimination after Lange and Goradia 1987, by alleles.
    Valid:  a pedigree without mutation.

    Examples
    --------
    >>> from nuttery.science.pollen.alphabet import alphabet
    >>> from nuttery.science.pollen.hierarchy import Hierarchy
    >>> letters = alphabet([1, 2], [0.5, 0.5], Hierarchy({}))
    >>> open_genotypes(pedigree([-1, 0], [-1, -1]), letters, {0: (1, 1)})[1]
    array([ True,  True, False])
    """
    n = len(family.genet)
    still = np.ones((n, len(letters.pairs)), dtype=np.bool_)
    for i, genotype in known.items():
        if not 0 <= i < n:
            raise BadArgumentError(f"known[{i}]: found shrub {i}, expected 0 to {n - 1}")
        only = np.zeros(len(letters.pairs), dtype=np.bool_)
        only[genotype_index(letters, f"known[{i}]", genotype)] = True
        still[family.genet[i]] &= only
        if not still[family.genet[i]].any():
            raise BadArgumentError(
                f"known[{i}]: found {tuple(genotype)}, expected that of the shrub whose layer it is"
            )
    _narrow(family, letters, still)
    return still


def _narrow(family: Pedigree, letters: Alphabet, still: Bools) -> None:
    """Strike out genotypes until parents and offspring agree."""
    below: dict[int, list[int]] = {i: [] for i in family.order}
    for i in family.order:
        for p in family.parents(i):
            below[p].append(i)
    todo = dict.fromkeys(family.order)
    while todo:
        i = next(iter(todo))
        del todo[i]
        for changed in _agree(family, letters, still, i):
            todo.update(dict.fromkeys([changed, *below[changed]]))


def _agree(family: Pedigree, letters: Alphabet, still: Bools, i: int) -> list[int]:
    """Narrow genet i and its parents to each other; genets that changed."""
    if not family.parents(i) and still[i].sum() == 1:
        return []  # a known founder may carry alleles that are not in the frequencies
    dam, sires = int(family.mother[i]), [f for f, _ in family.fathers[i]]
    egg = _gametes(letters, still, dam)
    pollen = np.any([_gametes(letters, still, f) for f in sires], axis=0)
    first, second = letters.first, letters.second
    fits = (egg[first] & pollen[second]) | (egg[second] & pollen[first])
    changed = _strike(still, i, fits)
    mine = still[i]
    passed_on = [(dam, pollen), (sires[0] if len(sires) == 1 else UNKNOWN, egg)]
    for parent, other in passed_on:
        if parent == UNKNOWN:
            continue
        gives = np.zeros(len(letters.alleles), dtype=np.bool_)
        gives[first[mine & other[second]]] = True
        gives[second[mine & other[first]]] = True
        changed += _strike(still, parent, gives[first] | gives[second])
    return changed


def _gametes(letters: Alphabet, still: Bools, parent: int) -> NDArray[np.bool_]:
    if parent == UNKNOWN:
        return letters.frequencies > 0
    able = np.zeros(len(letters.alleles), dtype=np.bool_)
    able[letters.first[still[parent]]] = True
    able[letters.second[still[parent]]] = True
    return able


def _strike(still: Bools, i: int, fits: Bools) -> list[int]:
    left = still[i] & fits
    if not left.any():
        raise BadArgumentError(
            f"known: found genotypes that cannot be those of shrub {i} and its parents or "
            "offspring, expected each allele to come from a parent (or to have a frequency)"
        )
    changed = bool((left != still[i]).any())
    still[i] = left
    return [i] if changed else []
