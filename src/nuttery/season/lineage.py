"""Whose pollen each shrub accepts: genotypes inferred from lineage, test reports and crosses."""

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from nuttery.records import AllelesKnown, CrossCounted, CrossMade
from nuttery.science.arguments import Floats
from nuttery.science.pollen import (
    GenotypePosterior,
    Hierarchy,
    infer_genotypes,
    published_hierarchy,
)
from nuttery.season.dominance import order_told
from nuttery.season.errors import NotEnoughKnown
from nuttery.season.planting import Planting
from nuttery.store import ShrubState

OUTSIDE = -1
EFFORT = 0.25
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
    lots : seed lots of the planting, in the order of their names
    seedlings : number of two further seedlings of each lot, such as might still be planted
    mother, father : (k,) number of the parent, -1 if unknown
    possible_fathers : shrub → {father: chance} where one of several
    clone_of : (k,) number of the shrub of which it is a layer, -1 for none
    known : number → genotype by test report
    crosses : (seed, pollen, took)
    order : order of dominance in pollen, as far as it is known
    """

    names: tuple[str, ...]
    placed: int
    shrubs: int
    lots: tuple[str, ...]
    seedlings: tuple[tuple[int, int], ...]
    mother: tuple[int, ...]
    father: tuple[int, ...]
    possible_fathers: dict[int, dict[int, float]]
    clone_of: tuple[int, ...]
    known: dict[int, tuple[int, int]]
    crosses: tuple[tuple[int, int, bool], ...]
    order: Hierarchy

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
    plants = _Plants([s.tag for s in shrubs])
    for k, shrub in enumerate(shrubs):
        plants.descend(k, shrub)
        if shrub.copy_of in plants.number:
            plants.clone_of[k] = plants.number[shrub.copy_of]
    known = _known(planting, plants)
    crosses = _crosses(planting, plants)
    lots = {s.seed_lot: s for s in shrubs if s.seed_lot and not s.copy_of}
    seedlings = [
        (plants.seedling_like(lots[lot]), plants.seedling_like(lots[lot])) for lot in sorted(lots)
    ]
    return Family(
        names=tuple(plants.names),
        placed=len(placed),
        shrubs=len(shrubs),
        lots=tuple(sorted(lots)),
        seedlings=tuple(seedlings),
        mother=tuple(plants.mother),
        father=tuple(f[0] if len(f) == 1 else OUTSIDE for f in plants.fathers),
        possible_fathers={
            k: dict.fromkeys(some, 1 / len(some))
            for k, some in enumerate(plants.fathers)
            if len(some) > 1
        },
        clone_of=tuple(plants.clone_of),
        known=known,
        crosses=crosses,
        order=order_told(planting),
    )


class _Plants:
    """Plants as they are numbered: shrubs first, then whoever is named beside them."""

    def __init__(self, tags: Iterable[str]) -> None:
        self.names: list[str] = []
        self.number: dict[str | None, int] = {}
        self.mother: list[int] = []
        self.fathers: list[tuple[int, ...]] = []
        self.clone_of: list[int] = []
        for tag in tags:
            self.numbered(tag)

    def numbered(self, name: str | None) -> int:
        """Number of a plant of that name, a new one if it is new; OUTSIDE for none."""
        if name is None:
            return OUTSIDE
        if name not in self.number:
            self.number[name] = len(self.names)
            self.names.append(name)
            self.mother.append(OUTSIDE)
            self.fathers.append(())
            self.clone_of.append(OUTSIDE)
        return self.number[name]

    def descend(self, k: int, shrub: ShrubState) -> None:
        """Tell whose offspring plant k is; siblings of a lot share a mother even without a name."""
        if shrub.copy_of:
            return
        mother = shrub.mother or (f"mother of {shrub.seed_lot}" if shrub.seed_lot else None)
        self.mother[k] = self.numbered(mother)
        self.fathers[k] = tuple(self.numbered(name) for name in shrub.fathers)

    def seedling_like(self, shrub: ShrubState) -> int:
        """A further seedling of a shrub's lot."""
        k = self.numbered(f"seedling {len(self.names)} of {shrub.seed_lot}")
        self.descend(k, shrub)
        return k


def _known(planting: Planting, plants: _Plants) -> dict[int, tuple[int, int]]:
    found = {}
    for note in planting.notes(AllelesKnown):
        name = note.shrub if note.shrub in planting.by_tag else note.parent
        if name is not None:
            pair = (min(note.first, note.second), max(note.first, note.second))
            found[plants.numbered(name)] = pair
    return found


def _crosses(planting: Planting, plants: _Plants) -> tuple[tuple[int, int, bool], ...]:
    """Crosses on standing shrubs that were counted; pollen may be of a plant that is elsewhere."""
    made = {note.id: note for note in planting.notes(CrossMade)}
    found = []
    for note in planting.notes(CrossCounted):
        cross = made.get(note.cross)
        if cross is not None and cross.shrub in planting.by_tag:
            pair = plants.number[cross.shrub], plants.numbered(cross.pollen_from)
            found.append((*pair, note.took))
    return tuple(found)


def placed_alleles(order: Hierarchy) -> tuple[int, ...]:
    """Alleles whose place in the order of dominance is one level, in rising order."""
    return tuple(a for a in sorted(order.levels) if order.bounds(a)[0] == order.bounds(a)[1])


def genotypes(
    planting: Planting, told: Family, hints: Mapping[int, Floats] | None = None
) -> GenotypePosterior:
    """Return what is known of every genotype, kept until lineage, reports or crosses change.

    `hints` are weak evidence, as `infer_genotypes` takes them.
    """
    mark = told.mark + "".join(
        f"{k}{row.tobytes().hex()}" for k, row in sorted((hints or {}).items())
    )

    def compute() -> GenotypePosterior:
        return inferred(told, hints).as_draws(KEPT_DRAWS, np.random.default_rng(5))

    kept = hashlib.sha256(mark.encode()).hexdigest()
    return planting.remembered_by("genotypes", kept, compute)


def inferred(told: Family, hints: Mapping[int, Floats] | None = None) -> GenotypePosterior:
    """Infer every genotype, exactly where the pedigree allows.

    Unknown parents are taken to draw from the alleles whose place in pollen is known or remembered,
    each as likely: frequencies among hybrids have not been published. A cross whose meaning hangs
    on an allele of unknown place is left out. A tested shrub with such an allele that no tested
    parent has is taken for a plant of unknown parents: its siblings do not learn of the allele.

    Raises
    ------
    NotEnoughKnown
        Where a test report cannot be true of a shrub whose parents were tested too.
    """
    placed = placed_alleles(published_hierarchy(remembered=True))
    refuse_impossible(told)
    alleles = sorted({*placed, *(a for pair in told.known.values() for a in pair)})
    strangers = _strangers(told, set(placed))
    mothers = [OUTSIDE if k in strangers else m for k, m in enumerate(told.mother)]
    return infer_genotypes(
        mothers,
        [OUTSIDE if k in strangers else f for k, f in enumerate(told.father)],
        alleles=alleles,
        frequencies=np.array([1 / len(placed) if a in placed else 0.0 for a in alleles]),
        hierarchy=told.order,
        known=told.known,
        crosses=crosses_used(told),
        possible_fathers={k: f for k, f in told.possible_fathers.items() if k not in strangers},
        clone_of=told.clone_of,
        hints=hints,
        effort=EFFORT,
    )


def refuse_impossible(told: Family) -> None:
    """Refuse a tested shrub that can have got neither allele, or not both, from tested parents."""
    for k, (first, second) in told.known.items():
        fathers = (
            [told.father[k]] if told.father[k] != OUTSIDE else [*told.possible_fathers.get(k, ())]
        )
        egg = _may_pass(told, [told.mother[k]])
        pollen = _may_pass(told, fathers or [OUTSIDE])
        ways = ((first, second), (second, first))
        if not any((not egg or a in egg) and (not pollen or b in pollen) for a, b in ways):
            who = [told.mother[k], *fathers]
            found = ", ".join(
                f"{told.names[p]} {_pair(told.known[p])}" for p in who if p in told.known
            )
            raise NotEnoughKnown(
                f"S-alleles known: {told.names[k]} was reported {_pair((first, second))}, its "
                f"parents {found}; expected one allele from each parent. Correct the report, or "
                "who the parents are (parents known)"
            )


def _may_pass(told: Family, parents: Iterable[int]) -> set[int]:
    """Alleles that one of several parents may pass on; empty if one of them was never tested."""
    pairs = [told.known.get(p) for p in parents]
    return set() if None in pairs else {a for pair in pairs if pair for a in pair}


def _pair(pair: tuple[int, int]) -> str:
    return f"{pair[0]} and {pair[1]}"


def _strangers(told: Family, placed: set[int]) -> set[int]:
    """Tested plants with an allele that neither a founder nor a tested parent of theirs has."""
    found = set()
    for k, pair in told.known.items():
        parents = {told.mother[k], told.father[k], *told.possible_fathers.get(k, {})}
        brought = {a for p in parents for a in told.known.get(p, ())}
        if not set(pair) <= placed | brought:
            found.add(k)
    return found


def crosses_used(told: Family) -> list[tuple[int, int, bool]]:
    """Return the counted crosses whose meaning does not hang on an allele of unknown place.

    Only the pollen parent's alleles can: a stigma shows both of its own.
    """
    settled = set(placed_alleles(told.order))
    strange = {k for k, pair in told.known.items() if not set(pair) <= settled}
    return [cross for cross in told.crosses if not told.ancestors(cross[1]) & strange]
