"""The plan of the planting by what is asked, with its classes and every shrub's words."""

import numpy as np

from nuttery.figures.chart import Chart, Sheet, known
from nuttery.figures.marks import BY_CLASS, Mark
from nuttery.figures.planting_map import Place, planting_map
from nuttery.season.at_a_look import Look


def look_chart(look: Look, *, linked: str = "") -> Chart:
    """Return the plan; the last class, of which nothing is known, is a dashed ring.

    Parameters
    ----------
    look : every shrub's class
    linked : address of a shrub's page with {} for its tag
    """
    marks = class_marks(look)
    placed = np.flatnonzero(~np.isnan(look.x)).tolist()
    places = [
        Place(
            look.tags[k],
            float(look.x[k]),
            float(look.y[k]),
            look.shade[look.place[k]],
            marks[look.place[k]],
            look.words[k],
        )
        for k in placed
    ]
    legend = [
        (marks[c], look.shade[c], f"{words} ({count})")
        for c, (words, count) in enumerate(zip(look.classes, look.counts, strict=True))
    ]
    picture = planting_map(places, title=look.title, legend=legend, tallest=640, linked=linked)
    left = len(look.tags) - len(placed)
    told = look.told + (f" {left} shrubs have no place and are only in the table." if left else "")
    return Chart("map", look.title, picture, look_sheet(look), told)


def class_marks(look: Look) -> tuple[Mark, ...]:
    """Shape of each class."""
    known_classes = len(look.classes) - 1
    return (*(BY_CLASS[c % len(BY_CLASS)] for c in range(known_classes)), "gap")


def look_sheet(look: Look) -> Sheet:
    """Return every shrub with its class and words."""
    classes = [look.classes[c] for c in look.place.tolist()]
    at = zip(look.x.tolist(), look.y.tolist(), strict=True)
    rows = tuple(
        (tag, known(x, 1), known(y, 1), kind, words)
        for tag, (x, y), kind, words in zip(look.tags, at, classes, look.words, strict=True)
    )
    columns = ("shrub", "m east", "m north", "class", "in words")
    return Sheet(look.title, columns, rows, tags=True)
