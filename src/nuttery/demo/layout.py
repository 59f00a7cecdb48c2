"""Where the invented shrubs stand, when they were set, and from whom they descend. All invented."""

from dataclasses import dataclass

import numpy as np

from nuttery.science.arguments import Bools, Floats, Ints

IN_ROW = 1.8
BETWEEN_ROWS = 4.5
LOTS = ("Sorrel A", "Sorrel B", "Sorrel C", "Sorrel D")
MOTHERS = ("Ash Gate", "Brook Stool", "Cold Corner", "Ash Gate")
FATHERS: tuple[tuple[str, ...], ...] = (
    ("Dry Knoll",),
    ("East Hedge", "Far Hedge"),
    (),
    ("Gully",),
)
"""Fathers as the grower knows them: one, one of two, unknown, one (a half-sib lot of the first)."""


@dataclass(frozen=True)
class Layout:
    """Places and lineage of every shrub, one element a shrub.

    Attributes
    ----------
    tags : (n,) names on the shrubs
    x, y : (n,) metres east and north of the planting's origin
    row, number : (n,) place along the rows, from 1
    lot : (n,) index into LOTS
    planted : (n,) year in which it was set
    lost : (n,) year in which it died, 9999 if it stands
    copy_of : (n,) index of the shrub of which it is a layer, -1 for a seedling
    """

    tags: tuple[str, ...]
    x: Floats
    y: Floats
    row: Ints
    number: Ints
    lot: Ints
    planted: Ints
    lost: Ints
    copy_of: Ints

    @property
    def seedling(self) -> Bools:
        """Which shrubs grew from a seed of their own."""
        return self.copy_of < 0


def per_row(shrubs: int) -> int:
    """Shrubs in a row: twelve in the planting as told, longer rows in larger ones."""
    return 12 if shrubs <= 240 else int(np.ceil(np.sqrt(shrubs * BETWEEN_ROWS / IN_ROW)))


def lay_out(shrubs: int, first_season: int, rng: np.random.Generator) -> Layout:
    """Places, lots and planting years of an invented planting.

    Parameters
    ----------
    shrubs : number of places; a few shrubs die, two layers of the first shrub fill gaps
    first_season : first year of bloom notes; the oldest shrubs were set five years before
    rng : generator of the fixed seed
    """
    width = per_row(shrubs)
    index = np.arange(shrubs)
    row, number = index // width + 1, index % width + 1
    share = index / shrubs
    lot = np.select([share < 0.2, share < 0.4, share < 0.7], [0, 1, 2], 3)
    planted = first_season + np.select([share < 0.4, share < 0.7], [-5, -2], 1)
    lost = np.full(shrubs, 9999)
    gone = rng.choice(np.arange(1, shrubs), size=max(1, shrubs // 30), replace=False)
    lost[gone] = planted[gone] + rng.integers(3, 8, size=len(gone))
    copy_of = np.full(shrubs, -1)
    for place in [k for k in (shrubs // 2, shrubs // 2 + 1) if k < shrubs]:
        copy_of[place], planted[place], lost[place] = 0, first_season + 2, 9999
    return Layout(
        tags=tuple(f"{r}-{k:02d}" for r, k in zip(row, number, strict=True)),
        x=np.asarray((number - 1) * IN_ROW, dtype=np.float64),
        y=np.asarray(-(row - 1) * BETWEEN_ROWS, dtype=np.float64),
        row=row,
        number=number,
        lot=lot,
        planted=planted,
        lost=lost,
        copy_of=copy_of,
    )
