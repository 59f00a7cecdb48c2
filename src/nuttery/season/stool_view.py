"""One stool as it stands this winter: each cane with its age, its place, and what is to be done."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from nuttery.records import CaneLabelled
from nuttery.science.arguments import Ints
from nuttery.season.canes import CanePlan
from nuttery.season.planting import Planting
from nuttery.season.stools import AGES, Stools

Doing = Literal["stays", "saw out", "keep", "take away"]
"""Canes stay or are sawn out; suckers of the past summer are kept or taken away."""


@dataclass(frozen=True)
class CaneView:
    """One cane.

    Attributes
    ----------
    label : its label; "" for a cane without one
    age : in winters; `AGES` - 1 stands for that age and older
    compass : degrees from north, clockwise; None where nobody told
    diameter_mm : at the base; None where nobody told
    doing : what the plan wants of it
    """

    label: str
    age: int
    compass: float | None
    diameter_mm: float | None
    doing: Doing


@dataclass(frozen=True)
class StoolView:
    """One stool seen from above.

    Attributes
    ----------
    tag, winter : which, and the year of the summer that follows
    canes : every cane, the oldest first
    counted : winter of the count it rests on
    known : "by age" or "total only"
    choice : ages of which more stand than are to go, so that the choice is the grower's
    """

    tag: str
    winter: int
    canes: tuple[CaneView, ...]
    counted: int
    known: str
    choice: tuple[int, ...]


def stool_view(planting: Planting, tag: str, known: Stools, plan: CanePlan) -> StoolView | None:
    """Return a stool as it stands, or nothing where it was never counted.

    Parameters
    ----------
    planting : the planting as of a day
    tag : which shrub
    known, plan : canes of all stools, and what the plan wants of them
    """
    shrub = planting.shrub(tag)
    if tag not in known.tags:
        return None
    counts = known.counts[known.tags.index(tag)]
    cut = plan.cut[plan.tags.index(tag)] if tag in plan.tags else np.zeros(AGES, dtype=np.int64)
    labelled = _labelled(shrub.canes, known.winter, counts)
    canes = [c for age in range(AGES - 1, 0, -1) for c in _of_age(age, counts, cut, labelled)]
    return StoolView(
        tag=tag,
        winter=known.winter,
        canes=tuple(canes),
        counted=int(known.counted[known.tags.index(tag)]),
        known=known.known[known.tags.index(tag)],
        choice=tuple(a for a in range(AGES - 1, 1, -1) if 0 < cut[a] < counts[a]),
    )


def _labelled(
    canes: tuple[CaneLabelled, ...], winter: int, counts: Ints
) -> dict[int, list[CaneLabelled]]:
    """Labelled canes by age; more than were counted of an age cannot stand."""
    found: dict[int, list[CaneLabelled]] = {}
    for cane in canes:
        if cane.came_up is not None:
            age = min(winter - cane.came_up, AGES - 1)
            if age > 0 and len(found.get(age, ())) < counts[age]:
                found.setdefault(age, []).append(cane)
    return found


def _of_age(
    age: int, counts: Ints, cut: Ints, labelled: dict[int, list[CaneLabelled]]
) -> list[CaneView]:
    """Canes of one age; those to go are the last, so that labelled ones go last of all."""
    mine: list[CaneLabelled | None] = [*labelled.get(age, ())]
    mine += [None] * (int(counts[age]) - len(mine))
    stay = len(mine) - int(cut[age])
    words: tuple[Doing, Doing] = ("keep", "take away") if age == 1 else ("stays", "saw out")
    return [
        CaneView(
            label=str(cane.cane) if cane else "",
            age=age,
            compass=cane.compass if cane else None,
            diameter_mm=cane.diameter_mm if cane else None,
            doing=words[0] if k < stay else words[1],
        )
        for k, cane in enumerate(mine)
    ]
