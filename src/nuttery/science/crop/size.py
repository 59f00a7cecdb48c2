"""Size classes of nuts by the table of a chosen rule set."""

from typing import Any, overload

import numpy as np
from numpy.typing import ArrayLike

from nuttery.reference import table
from nuttery.science.arguments import Bools, Floats, float_array, one_of, refuse_where
from nuttery.science.crop.rules import rules_table

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


def _fits(row: dict[str, Any], diameter: Floats) -> Bools:
    """Nuts that a row's openings (US, one end open) or millimetres (both ends within) let in."""
    fits = np.ones(diameter.shape, dtype=np.bool_)
    if "passes" in row:
        fits &= diameter <= opening_mm(row["passes"])
    if "held_by" in row:
        fits &= diameter > opening_mm(row["held_by"])
    if "from_mm" in row:
        fits &= diameter >= row["from_mm"]
    if "to_mm" in row:
        fits &= diameter <= row["to_mm"]
    return fits


def _rows(shape: str, rules: str) -> list[dict[str, Any]]:
    """Rows of a rule set's size table for a type; those without a shape are for every type."""
    one_of("shape", shape, SHAPES)
    return [
        row
        for row in table(rules_table(rules))
        if row["kind"] == "size" and row.get("shape", shape) == shape
    ]


def size_names(shape: str, rules: str = "US in shell") -> tuple[str, ...]:
    """Names of a rule set's size classes, in the order of its table.

    Parameters
    ----------
    shape : "round" or "long", the type
    rules : name of a rule set

    Returns
    -------
    tuple of str

    Raises
    ------
    BadArgumentError
        If the shape or the rule set is unknown.

    Notes
    -----
    Source: the rule set's own table.
    Valid:  the rule sets of `RULE_SETS`.
    Limits: none.

    Examples
    --------
    >>> size_names("round")
    ('Jumbo', 'Large', 'Medium', 'Small')
    """
    return tuple(row["class"] for row in _rows(shape, rules))


@overload
def size_class(diameter_mm: float, shape: str, rules: str = ...) -> frozenset[str]: ...
@overload
def size_class(
    diameter_mm: ArrayLike, shape: str, rules: str = ...
) -> tuple[frozenset[str], ...]: ...
def size_class(
    diameter_mm: ArrayLike, shape: str, rules: str = "US in shell"
) -> frozenset[str] | tuple[frozenset[str], ...]:
    """Size classes that a nut may be sold in: a set, as classes overlap where the rules let them.

    Parameters
    ----------
    diameter_mm : float or (n,) float, mm: for the US rules the least opening that the nut passes,
        for the UNECE ones the widest place across its middle
    shape : "round" or "long", the type
    rules : name of a rule set

    Returns
    -------
    frozenset of class names, or a tuple of (n,) of them; empty where a nut fits none

    Raises
    ------
    BadArgumentError
        If a diameter is missing or not above 0, or the shape or the rule set is unknown.

    Notes
    -----
    Source: 7 CFR 51.1995, Filberts in the Shell, U.S. No. 1, size table (published); sizes of
            UNECE DDP-03 and DDP-04 as their tables say (secondary source, from memory).
    Valid:  nuts in shell; kernels by "UNECE kernels".
    Limits: a nut passes an opening as wide as itself, and one on the edge of two intervals belongs
            to both (inferred: the rules do not say).

    Examples
    --------
    >>> sorted(size_class(22.3, "round")), sorted(size_class(18.8, "long"))
    (['Jumbo'], ['Jumbo', 'Large'])
    >>> sorted(size_class(12.0, "round", "UNECE kernels"))
    ['11 mm and over', '11–13 mm', '9 mm and over']
    """
    rows = _rows(shape, rules)
    diameter = float_array("diameter_mm", diameter_mm)
    refuse_where("diameter_mm", diameter, diameter <= 0, "a diameter above 0 mm")
    fits = [(row["class"], _fits(row, diameter)) for row in rows]
    if diameter.ndim == 0:
        return frozenset(name for name, mask in fits if mask)
    return tuple(
        frozenset(name for name, mask in fits if mask[i]) for i in range(diameter.shape[0])
    )
