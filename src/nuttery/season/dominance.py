"""The order of dominance: published or remembered, and narrowed by the planting's own reports."""

from dataclasses import replace

from nuttery.records import AllelesKnown
from nuttery.science.pollen import Hierarchy, published_hierarchy
from nuttery.season.planting import Planting

_APART = 0.1
"""Least difference between two levels; levels are whole numbers."""


def order_told(planting: Planting) -> Hierarchy:
    """Return the order of dominance, with what test reports tell of the alleles that pollen shows.

    Parameters
    ----------
    planting : the planting as of a day
    """
    order = published_hierarchy(remembered=True)
    for note in planting.notes(AllelesKnown):
        if note.shown and note.first != note.second:
            order = narrowed(order, note.first, note.second, frozenset(note.shown))
    return order


def narrowed(order: Hierarchy, first: int, second: int, shown: frozenset[int]) -> Hierarchy:
    """Return the order in which pollen of a genotype shows just these alleles.

    A level can be narrowed where that of the other allele is settled. A report that the order on
    record does not allow changes nothing.

    Examples
    --------
    >>> narrowed(Hierarchy({1: 3}), 1, 4, frozenset({1})).possible((1, 4))
    (frozenset({1}),)
    >>> narrowed(Hierarchy({1: 3}), 1, 4, frozenset({1, 4})).bounds(4)
    (3, 3)
    """
    if shown not in order.possible((first, second)):
        return order
    levels = dict(order.levels)
    for known, other in ((first, second), (second, first)):
        level, top = order.bounds(known)
        if level != top:
            continue
        low, high = order.bounds(other)
        if len(shown) == 2:
            low, high = level, level
        elif known in shown:
            high = min(high, level - _APART)
        else:
            low = max(low, level + _APART)
        levels[other] = (low, high)
    return replace(order, levels=levels)
