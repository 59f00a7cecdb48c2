"""How evenly a shrub bears over the years, and how unevenly a planting's crop is shared out."""

import numpy as np
from numpy.typing import ArrayLike

from nuttery.science.arguments import Floats, float_array
from nuttery.science.errors import BadArgumentError


def biennial_index(crop: ArrayLike) -> Floats:
    """Index of alternate bearing: 0 for even crops, 1 for a crop every other year and none between.

    Parameters
    ----------
    crop : (..., years) float, any unit of mass, years in order; NaN for a year not weighed

    Returns
    -------
    (...) float, mean of |difference| / sum over pairs of neighbouring years; NaN without a pair

    Raises
    ------
    BadArgumentError
        If a crop is negative or there is no axis of years.

    Notes
    -----
    Source: Hoblyn, Grubb, Painter and Wates 1936, J. Pomol. Hort. Sci. 14:39 (from memory).
    Valid:  two neighbouring years and more; many are needed for a steady figure.
    Limits: pairs with a missing year, or with no crop in both, are left out.

    Examples
    --------
    >>> biennial_index([2.0, 0.0, 2.0, 0.0]).item(), biennial_index([1.0, 3.0, 1.0]).item()
    (1.0, 0.5)
    """
    kg = float_array("crop", crop, low=0, nan=True)
    if kg.ndim == 0:
        raise BadArgumentError(f"crop: found {crop!r}, expected at least one axis, of years")
    both = kg[..., 1:] + kg[..., :-1]
    used = both > 0
    swing = np.abs(np.diff(kg, axis=-1)) / np.where(used, both, 1.0)
    pairs = used.sum(axis=-1)
    total = np.where(used, swing, 0.0).sum(axis=-1)
    return np.where(pairs > 0, total / np.maximum(pairs, 1), np.nan)


def top_share(crop: ArrayLike, k: int) -> float:
    """Share of the crop that the `k` best shrubs bear.

    Parameters
    ----------
    crop : (n,) float, any unit of mass
    k : number of shrubs, from the best down

    Returns
    -------
    float, 0 to 1

    Raises
    ------
    BadArgumentError
        If a crop is missing or negative, nothing was borne, or `k` is not 0 to n.

    Notes
    -----
    Source: definition.
    Valid:  one season, or sums over seasons.
    Limits: one season says little of which shrubs the best ones are.

    Examples
    --------
    >>> round(top_share([2.0, 2.0, 2.0] + [1.0 / 25] * 25, 3), 3)
    0.857
    """
    kg = float_array("crop", crop, ndim=1, low=0)
    if not 0 <= k <= kg.size:
        raise BadArgumentError(f"k: found {k}, expected 0 to {kg.size}, the number of shrubs")
    if kg.sum() == 0:
        raise BadArgumentError("crop: found 0 in all, expected some crop to share out")
    return float(np.sort(kg)[kg.size - k :].sum() / kg.sum())
