"""Size classes of nuts in shell by the round openings that they pass."""

from typing import Any, overload

import numpy as np
from numpy.typing import ArrayLike

from nuttery.reference import table
from nuttery.science.arguments import Floats, float_array, one_of, refuse_where

SHAPES = ("round", "long")


def opening_mm(sixty_fourths: float) -> float:
    """Width of an opening given in sixty-fourths of an inch, to a thousandth of a millimetre.

    Parameters
    ----------
    sixty_fourths : float, width in 1/64 inch

    Returns
    -------
    float, mm

    Notes
    -----
    Source: 1 inch = 25.4 mm exactly.
    Valid:  any width.
    Limits: rounded as size tables print it, so that a nut read as 19.447 mm passes 49/64 inch.

    Examples
    --------
    >>> [opening_mm(n) for n in (56, 49, 45, 34)]
    [22.225, 19.447, 17.859, 13.494]
    """
    return round(sixty_fourths * 25.4 / 64, 3)


def _fits(row: dict[str, Any], diameter: Floats) -> Any:  # noqa: ANN401 - a NumPy mask
    passes = diameter <= opening_mm(row["passes"]) if "passes" in row else True
    held = diameter > opening_mm(row["held_by"]) if "held_by" in row else True
    return np.broadcast_to(passes & np.asarray(held), diameter.shape)


@overload
def size_class(diameter_mm: float, shape: str) -> frozenset[str]: ...
@overload
def size_class(diameter_mm: ArrayLike, shape: str) -> tuple[frozenset[str], ...]: ...
def size_class(diameter_mm: ArrayLike, shape: str) -> frozenset[str] | tuple[frozenset[str], ...]:
    """Size classes that a nut may be sold in: one for round types, one or two for long ones.

    Parameters
    ----------
    diameter_mm : float or (n,) float, mm, the least opening that the nut passes
    shape : "round" or "long", the type

    Returns
    -------
    frozenset of class names, or a tuple of (n,) of them

    Raises
    ------
    BadArgumentError
        If a diameter is missing or not above 0, or the shape is not one of the two.

    Notes
    -----
    Source: 7 CFR 51.1995, Filberts in the Shell, U.S. No. 1, size table. Published.
    Valid:  nuts in shell. The classes of long types overlap, so the answer is a set.
    Limits: a nut passes an opening as wide as itself (inferred: the rule says only "will pass").

    Examples
    --------
    >>> sorted(size_class(22.3, "round")), sorted(size_class(18.8, "long"))
    (['Jumbo'], ['Jumbo', 'Large'])
    """
    one_of("shape", shape, SHAPES)
    diameter = float_array("diameter_mm", diameter_mm)
    refuse_where("diameter_mm", diameter, diameter <= 0, "a diameter above 0 mm")
    rows = [r for r in table("grading_us") if r["kind"] == "size" and r["shape"] == shape]
    fits = [(row["class"], _fits(row, diameter)) for row in rows]
    if diameter.ndim == 0:
        return frozenset(name for name, mask in fits if mask)
    return tuple(
        frozenset(name for name, mask in fits if mask[i]) for i in range(diameter.shape[0])
    )
