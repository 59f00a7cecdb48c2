"""Empty places: where no shrub stands in the grid of the rows."""

from collections import defaultdict
from dataclasses import dataclass

import numpy as np

from nuttery.season.planting import Planting
from nuttery.store import ShrubState

TAKEN_WITHIN = 0.5
"""A shrub so near, in metres, stands in the place."""


@dataclass(frozen=True)
class EmptyPlace:
    """A place without a shrub.

    Attributes
    ----------
    x, y : metres east and north of the planting's origin
    row, number : place along the rows, None where not told
    """

    x: float
    y: float
    row: int | None
    number: int | None

    @property
    def name(self) -> str:
        """The place in words.

        Examples
        --------
        >>> EmptyPlace(1.8, 0.0, 3, 2).name, EmptyPlace(1.8, -4.5, None, None).name
        ('row 3, number 2', '1.8 m east, 4.5 m south')
        """
        if self.row is not None and self.number is not None:
            return f"row {self.row}, number {self.number}"
        sides = ("east" if self.x >= 0 else "west", "north" if self.y >= 0 else "south")
        return f"{abs(self.x):g} m {sides[0]}, {abs(self.y):g} m {sides[1]}"


def empty_places(planting: Planting, beyond: int = 0) -> tuple[EmptyPlace, ...]:
    """Return the gaps of the rows and the places of lost shrubs where nothing stands now.

    A gap is a missing number of a row that has at least two numbered shrubs with a place; it lies
    on the straight line through them. New ground may be had by going on beyond both ends.

    Parameters
    ----------
    planting : the planting as of a day
    beyond : places to go on beyond each end of every row
    """
    about = planting.about.planting
    ever = planting.register.shrubs(about, on=planting.on, recorded_until=planting.known)
    lost = [s for s in ever if s.lost is not None and s.x is not None]
    found = [EmptyPlace(float(s.x or 0), float(s.y or 0), s.row, s.number) for s in lost]
    rows: dict[int, list[ShrubState]] = defaultdict(list)
    for shrub in ever:
        if shrub.row is not None and shrub.number is not None and shrub.x is not None:
            rows[shrub.row].append(shrub)
    for row, shrubs in sorted(rows.items()):
        found += _gaps(row, shrubs, beyond)
    return _free(planting, found)


def _gaps(row: int, shrubs: list[ShrubState], beyond: int) -> list[EmptyPlace]:
    """Missing numbers of a row, on the straight line through its shrubs."""
    numbers = np.array([s.number for s in shrubs], dtype=np.float64)
    told = range(1 - beyond, int(numbers.max()) + 1 + beyond)
    missing = sorted(set(told) - {int(k) for k in numbers})
    if len(set(numbers.tolist())) < 2 or not missing:
        return []
    xy = np.array([(s.x, s.y) for s in shrubs], dtype=np.float64)
    slope, at = np.polyfit(numbers, xy, 1)
    places = at + np.outer(missing, slope)
    return [
        EmptyPlace(round(float(x), 2), round(float(y), 2), row, k)
        for (x, y), k in zip(places, missing, strict=True)
    ]


def _free(planting: Planting, places: list[EmptyPlace]) -> tuple[EmptyPlace, ...]:
    """Places without a standing shrub, each once, in walking order of their rows."""
    standing = [(s.x, s.y) for s in planting.shrubs if s.x is not None]
    taken = np.array(standing, dtype=np.float64).reshape(-1, 2)
    kept: list[EmptyPlace] = []
    for place in sorted(places, key=lambda p: (p.row or 0, p.number or 0, p.x, p.y)):
        others = np.vstack([taken, [(p.x, p.y) for p in kept]]) if kept else taken
        if not len(others) or np.hypot(*(others - (place.x, place.y)).T).min() > TAKEN_WITHIN:
            kept.append(place)
    return tuple(kept)
