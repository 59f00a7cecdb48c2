"""How well the kernel fills its shell, in four bins from which every system can be scored."""

import numpy as np
from numpy.typing import ArrayLike

from nuttery.reference import table
from nuttery.science.arguments import Bools, Ints, float_array, int_array
from nuttery.science.crop.rules import rules_table

FILL_BINS = ("0", "<¼", "¼–½", "≥½")


def fill_bin(fill: ArrayLike) -> Ints:
    """Bin of each nut's fill.

    Parameters
    ----------
    fill : float, share of the shell's cavity that the kernel takes up, 0 to 1

    Returns
    -------
    int, 0 no kernel, 1 below a quarter, 2 below a half, 3 a half and more

    Raises
    ------
    BadArgumentError
        If a fill is missing or not from 0 to 1.

    Notes
    -----
    Source: borders of 7 CFR 51.1995 with OAR 603-051-0283 and of UNECE DDP-03 taken together.
    Valid:  nuts in shell.
    Limits: fill is judged by eye.

    Examples
    --------
    >>> fill_bin([0.0, 0.2, 0.25, 0.4, 0.5]).tolist()
    [0, 1, 2, 2, 3]
    """
    share = float_array("fill", fill, low=0, high=1)
    return np.where(share == 0, 0, 1 + np.searchsorted([0.25, 0.5], share, side="right"))


def fill_faults(bins: ArrayLike, rules: str) -> dict[str, Bools]:
    """Which nuts each fault of fill of a rule set applies to.

    Parameters
    ----------
    bins : (n,) int, as `fill_bin` gives them
    rules : name of a rule set

    Returns
    -------
    dict of fault → (n,) bool

    Raises
    ------
    BadArgumentError
        If a bin is not 0 to 3 or the rule set is unknown.

    Notes
    -----
    Source: the rule set's own, row by row. "Blank" (US) is not "empty" (UNECE).
    Valid:  nuts in shell.
    Limits: a rule set that says nothing of fill gives an empty dict.

    Examples
    --------
    >>> {k: v.tolist() for k, v in fill_faults([0, 1, 2, 3], "UNECE in shell").items()}
    {'empty': [True, False, False, False], 'undeveloped': [True, True, True, False]}
    """
    codes = int_array("bins", bins, low=0, high=3)
    rows = [row for row in table(rules_table(rules)) if row["kind"] == "fill"]
    return {row["defect"]: np.isin(codes, row["bins"]) for row in rows}
