"""Whose pollen each shrub accepts: genotypes inferred from lineage, test reports and crosses."""

import hashlib
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from nuttery.records import AllelesKnown, CrossCounted, CrossMade
from nuttery.science.pollen import (
    GenotypePosterior,
    Hierarchy,
    infer_genotypes,
    published_hierarchy,
)
from nuttery.season.planting import Planting
from nuttery.store import ShrubState

OUTSIDE = -1
EFFORT = 0.2
"""Share of the usual work where genotypes must be drawn: chances of pairs then hold to about 0.01,
far below what is unknown of drift and dose."""
KEPT_DRAWS = 4000
"""Joint draws of all genotypes that are kept with their chances."""


@dataclass(frozen=True)
class Family:
    """Shrubs and the parents that stand elsewhere, numbered together.

    Attributes
    ----------
    names : (k,) tags of the shrubs with a place in walking order, then of those without, then
        names of parents that are no shrub of the planting
    placed, shrubs : how many of them have a place, and how many are shrubs
    mother, father : (k,) number of the parent, -1 if unknown
    possible_fathers : shrub → {father: chance} where one of several
    clone_of : (k,) number of the shrub of which it is a layer, -1 for none
    known : number → genotype by test report
    crosses : (seed, pollen, took)
    """

    names: tuple[str, ...]
    placed: int
    shrubs: int
    mother: tuple[int, ...]
    father: tuple[int, ...]
    possible_fathers: dict[int, dict[int, float]]
    clone_of: tuple[int, ...]
    known: dict[int, tuple[int, int]]
    crosses: tuple[tuple[int, int, bool], ...]

    @property
    def mark(self) -> str:
        """A name that changes with anything that genotypes are inferred from."""
        return hashlib.sha256(repr(self).encode()).hexdigest()

    def ancestors(self, number: int) -> set[int]:
        """A plant and all it may descend from."""
        found, ahead = set(), [number]
        while ahead:
            here = ahead.pop()
            if here == OUTSIDE or here in found:
                continue
            found.add(here)
            ahead += [self.mother[here], self.father[here], self.clone_of[here]]
            ahead += self.possible_fathers.get(here, {})
        return found


def family(planting: Planting) -> Family:
    """Return the lineage of all standing shrubs as far as notes tell it."""
    placed = [s for s in planting.shrubs if s.x is not None]
    shrubs = [*placed, *(s for s in planting.shrubs if s.x is None)]
    names = [s.tag for s in shrubs]
    number = {name: k for k, name in enumerate(names)}

    def numbered(name: str | None) -> int:
        if name is None:
            return OUTSIDE
        if name not in number:
            number[name] = len(names)
            names.append(name)
        return number[name]

    mothers = [numbered(_mother(s)) for s in shrubs]
    fathers = [() if s.copy_of else tuple(numbered(f) for f in s.fathers) for s in shrubs]
    known = _known(planting, numbered)
    outside = [OUTSIDE] * (len(names) - len(shrubs))
    return Family(
        names=tuple(names),
        placed=len(placed),
        shrubs=len(shrubs),
        mother=(*mothers, *outside),
        father=(*(f[0] if len(f) == 1 else OUTSIDE for f in fathers), *outside),
        possible_fathers={
            k: dict.fromkeys(some, 1 / len(some)) for k, some in enumerate(fathers) if len(some) > 1
        },
        clone_of=(*(number.get(s.copy_of or "", OUTSIDE) for s in shrubs), *outside),
        known=known,
        crosses=_crosses(planting, number),
    )


def _mother(shrub: ShrubState) -> str | None:
    """Name of the mother; siblings of one lot share one even where nobody knows her name."""
    if shrub.copy_of:
        return None
    return shrub.mother or (f"mother of {shrub.seed_lot}" if shrub.seed_lot else None)


def _known(planting: Planting, numbered: Callable[[str | None], int]) -> dict[int, tuple[int, int]]:
    found = {}
    for note in planting.notes(AllelesKnown):
        name = note.shrub if note.shrub in planting.by_tag else note.parent
        if name is not None:
            found[numbered(name)] = (min(note.first, note.second), max(note.first, note.second))
    return found


def _crosses(planting: Planting, number: dict[str, int]) -> tuple[tuple[int, int, bool], ...]:
    made = {note.id: note for note in planting.notes(CrossMade)}
    found = []
    for note in planting.notes(CrossCounted):
        cross = made.get(note.cross)
        if cross is None or cross.shrub not in number or cross.pollen_from not in number:
            continue
        found.append((number[cross.shrub], number[cross.pollen_from], note.took))
    return tuple(found)


def placed_alleles(order: Hierarchy) -> tuple[int, ...]:
    """Alleles whose place in the order of dominance is one level, in rising order."""
    return tuple(a for a in sorted(order.levels) if order.bounds(a)[0] == order.bounds(a)[1])


def genotypes(planting: Planting, told: Family) -> GenotypePosterior:
    """Return what is known of every genotype, kept until lineage, reports or crosses change."""

    def compute() -> GenotypePosterior:
        return inferred(told).as_draws(KEPT_DRAWS, np.random.default_rng(5))

    return planting.remembered_by("genotypes", told.mark, compute)


def inferred(told: Family) -> GenotypePosterior:
    """Infer every genotype, exactly where the pedigree allows.

    Unknown parents are taken to draw from the alleles whose place in pollen is known or remembered,
    each as likely: frequencies among hybrids have not been published. A cross whose meaning hangs
    on an allele of unknown place is left out.
    """
    order = published_hierarchy(remembered=True)
    placed = placed_alleles(order)
    strange = {k for k, pair in told.known.items() if not set(pair) <= set(placed)}
    alleles = sorted({*placed, *(a for pair in told.known.values() for a in pair)})
    return infer_genotypes(
        told.mother,
        told.father,
        alleles=alleles,
        frequencies=np.array([1 / len(placed) if a in placed else 0.0 for a in alleles]),
        hierarchy=order,
        known=told.known,
        crosses=[c for c in told.crosses if not _hangs_on(told, c, strange)],
        possible_fathers=told.possible_fathers,
        clone_of=told.clone_of,
        effort=EFFORT,
    )


def _hangs_on(told: Family, cross: tuple[int, int, bool], strange: set[int]) -> bool:
    return bool(strange) and any(told.ancestors(k) & strange for k in cross[:2])
