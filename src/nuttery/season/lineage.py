"""Whose pollen each shrub accepts: genotypes inferred from lineage, test reports and crosses."""

from dataclasses import dataclass

import numpy as np

from nuttery import reference
from nuttery.records import AllelesKnown, CrossCounted, CrossMade
from nuttery.science.pollen import GenotypePosterior, Hierarchy, infer_genotypes
from nuttery.season.planting import Planting

OUTSIDE = -1


@dataclass(frozen=True)
class Family:
    """Shrubs and the parents that stand elsewhere, numbered together: shrubs first.

    Attributes
    ----------
    names : (k,) tags of the shrubs in walking order, then names of other parents
    mother, father : (k,) number of the parent, -1 if unknown
    possible_fathers : shrub → {father: chance} where one of several
    clone_of : (k,) number of the shrub of which it is a layer, -1 for none
    known : number → genotype by test report
    crosses : (seed, pollen, took)
    """

    names: tuple[str, ...]
    mother: tuple[int, ...]
    father: tuple[int, ...]
    possible_fathers: dict[int, dict[int, float]]
    clone_of: tuple[int, ...]
    known: dict[int, tuple[int, int]]
    crosses: tuple[tuple[int, int, bool], ...]


def family(planting: Planting) -> Family:
    """Return the lineage of all standing shrubs as far as notes tell it."""
    shrubs = planting.shrubs
    names = [s.tag for s in shrubs]
    number = {name: k for k, name in enumerate(names)}

    def numbered(name: str) -> int:
        if name not in number:
            number[name] = len(names)
            names.append(name)
        return number[name]

    told = [(_mother(s, numbered), tuple(numbered(f) for f in s.fathers)) for s in shrubs]
    # Siblings of one lot share a mother even where nobody knows her name.
    for k, shrub in enumerate(shrubs):
        if told[k][0] == OUTSIDE and shrub.seed_lot and not shrub.copy_of:
            told[k] = (numbered(f"mother of {shrub.seed_lot}"), told[k][1])
    crosses = _crosses(planting, number)
    known = _known(planting, numbered)
    extra = len(names) - len(shrubs)
    return Family(
        names=tuple(names),
        mother=(*(mother for mother, _ in told), *[OUTSIDE] * extra),
        father=(*(f[0] if len(f) == 1 else OUTSIDE for _, f in told), *[OUTSIDE] * extra),
        possible_fathers={
            k: dict.fromkeys(fathers, 1 / len(fathers))
            for k, (_, fathers) in enumerate(told)
            if len(fathers) > 1
        },
        clone_of=(*(number.get(s.copy_of or "", OUTSIDE) for s in shrubs), *[OUTSIDE] * extra),
        known=known,
        crosses=crosses,
    )


def _mother(shrub: object, numbered: object) -> int:
    name = getattr(shrub, "mother", None)
    if name is None or getattr(shrub, "copy_of", None):
        return OUTSIDE
    return int(numbered(name))  # type: ignore[operator]


def _known(planting: Planting, numbered: object) -> dict[int, tuple[int, int]]:
    found = {}
    for note in planting.notes(AllelesKnown):
        name = note.shrub if note.shrub in planting.by_tag else note.parent
        if name is not None:
            pair = sorted((note.first, note.second))
            found[int(numbered(name))] = (pair[0], pair[1])  # type: ignore[operator]
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


def hierarchy() -> tuple[Hierarchy, tuple[int, ...]]:
    """Order of dominance as far as known or remembered, and the alleles on one level for sure."""
    levels, placed = {}, []
    for row in reference.table("alleles"):
        low, high = float(row["remembered_low"]), float(row["remembered_high"])
        levels[int(row["allele"])] = (low, high)
        if low == high:
            placed.append(int(row["allele"]))
    return Hierarchy(levels), tuple(placed)


def genotypes(told: Family) -> GenotypePosterior:
    """Return what is known of every genotype.

    Unknown parents are taken to draw from the alleles whose place in pollen is known or remembered,
    each as likely: frequencies among hybrids have not been published.
    """
    order, placed = hierarchy()
    alleles = sorted({*placed, *(a for pair in told.known.values() for a in pair)})
    return infer_genotypes(
        told.mother,
        told.father,
        alleles=alleles,
        frequencies=np.full(len(alleles), 1 / len(alleles)),
        hierarchy=order,
        known=told.known,
        crosses=told.crosses,
        possible_fathers=told.possible_fathers,
        clone_of=told.clone_of,
    )
