"""What a look at a cane says of its age: a judged age, a size class, or only that it stands."""

from collections.abc import Iterable, Iterator
from datetime import date
from typing import get_args

import numpy as np
from scipy import special

from nuttery.records import Bark, CaneLabelled, RingsCounted
from nuttery.records.cane_notes import SIZE_CLASS_MM
from nuttery.science.arguments import Floats
from nuttery.science.canes import CaneAge, assumed_cane_age, class_given_age, fit_cane_age
from nuttery.season.planting import Planting

AGES = 16
"""Columns of a count: ages 0 to 14, and 15 and older."""
SURE_OF = 0.5
"""Years within which a labelled cane must be known to count as of known age."""
THINNEST, THICKEST = 4.0, 60.0
"""Base diameters, mm, between which the open ends of the size classes are taken to reach."""
FULL_DOUBT = 6
"""Age from which the told spread holds; a sucker is sure, and the years between grow into it."""


def winter_of(day: date) -> int:
    """Year of the summer that follows the winter in which a day falls (July begins the next).

    Examples
    --------
    >>> winter_of(date(2027, 2, 1)), winter_of(date(2026, 11, 20))
    (2027, 2027)
    """
    return day.year if day.month < 7 else day.year + 1


def judged(spread: float, oldest: int | None = None) -> Floats:
    """Chance of each age judged given the true one, (AGES, AGES), a row for each true age.

    Parameters
    ----------
    spread : years within which ages were judged (about two thirds of them)
    oldest : age that stands for that age and older

    Examples
    --------
    >>> judged(1.0)[10, 8:13].round(2)
    array([0.06, 0.24, 0.38, 0.24, 0.06])
    """
    ages = np.arange(AGES)
    sd = spread * np.clip((ages - 1) / (FULL_DOUBT - 1), 0, 1)
    edges = np.arange(1.5, AGES - 1)
    below = special.ndtr((edges - ages[:, None]) / np.maximum(sd, 1e-9)[:, None])
    chance = np.zeros((AGES, AGES))
    chance[:, 1:] = np.diff(below, axis=1, prepend=0.0, append=1.0)
    chance[0] = 0.0
    if oldest is not None and oldest < AGES - 1:
        chance[:, oldest] = chance[:, oldest:].sum(axis=1)
        chance[:, oldest + 1 :] = 0.0
    return chance


def standing() -> Floats:
    """Chance of being counted at all given the age: a total tells nothing more, (AGES, 1)."""
    return (np.arange(AGES) > 0).astype(np.float64)[:, None]


def by_size(model: CaneAge, class_shares: Floats) -> Floats:
    """Chance of each size class given the age, (AGES, 3).

    Parameters
    ----------
    model : age from looks
    class_shares : (3,) how common thin, middling and thick canes are in the counts by size
    """
    rows = []
    for (low, high), bark in zip(SIZE_CLASS_MM.values(), get_args(Bark), strict=True):
        diameters = np.linspace(max(low, THINNEST), min(high, THICKEST), 9)
        rows.append(model.predict(diameters, [bark] * 9).mean(axis=0))
    return class_given_age(np.array(rows), class_shares)


def cane_age(planting: Planting) -> CaneAge:
    """Age of a cane from diameter and bark: learned from rings and labels, else assumed."""
    return planting.remembered("cane age", lambda: _cane_age(planting))


def _cane_age(planting: Planting) -> CaneAge:
    known = list(_of_known_age(planting.notes(RingsCounted, CaneLabelled)))
    if not known:
        return assumed_cane_age(AGES)
    diameter, bark, age = zip(*known, strict=True)
    return fit_cane_age(np.array(diameter), list(bark), np.array(age), ages=AGES)


def _of_known_age(
    notes: Iterable[RingsCounted | CaneLabelled],
) -> Iterator[tuple[float, str, int]]:
    """Diameter, bark and age of every cane whose age is known and whose looks were noted."""
    for note in notes:
        if note.diameter_mm is None or note.bark is None:
            continue
        if isinstance(note, RingsCounted):
            yield note.diameter_mm, note.bark, note.rings
        elif note.came_up is not None and (note.spread or 0) <= SURE_OF:
            age = winter_of(note.seen) - note.came_up
            if age >= 1:
                yield note.diameter_mm, note.bark, age
