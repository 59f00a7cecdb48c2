"""Cover: how well each shrub's stigmas are met by pollen that they accept."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nuttery.science.arguments import Floats, float_array, same_length
from nuttery.science.errors import BadArgumentError
from nuttery.science.pollen.dose import (
    Compatibility,
    Drift,
    check_places,
    donor_row_block,
    season_dose,
    tiles,
)
from nuttery.science.pollen.kernels import Kernel, WindRose


@dataclass(frozen=True)
class PollenCover:
    """Pollen that reached each shrub in one season.

    Attributes
    ----------
    dose : (n, days) pollen arriving that the stigma accepts
    taken : (n, days) in 0..1, dose / (dose + half_dose)
    cover : (n,) mean of `taken` over receptive days, NaN where never receptive
    """

    dose: Floats
    taken: Floats
    cover: Floats
    shed: Floats
    receptive: Floats
    catkins: Floats
    half_dose: float
    drift: Drift

    def weights_on(self, i: int) -> Floats:
        """Weight of a day's full shed of every donor on shrub i.

        Returns
        -------
        (n,) compatibility · catkins · kernel, 0 for itself

        Raises
        ------
        BadArgumentError
            If there is no such shrub.

        Notes
        -----
        Source: as in `pollen_cover`.
        Valid:  i from 0 to n − 1.

        Examples
        --------
        >>> day = np.ones((2, 1))
        >>> cover = pollen_cover([[0, 0], [3, 4]], day, day, np.ones((2, 2)), [1, 2],
        ...                      kernel=np.ones_like, half_dose=1.0)
        >>> cover.weights_on(0)
        array([0., 2.])
        """
        n = len(self.cover)
        if not 0 <= i < n:
            raise BadArgumentError(f"i: found {i}, expected 0 to {n - 1}")
        one = slice(i, i + 1)
        near = [donor_row_block(self.drift, one, donor)[0] for donor in tiles(n, 4096)]
        weights: Floats = np.concatenate(near) * self.catkins
        return weights

    def share_of_donor(self, i: int) -> Floats:
        """Share of each donor in the pollen that reached shrub i over the whole season.

        Returns
        -------
        (n,) adds up to 1, or all 0 where nothing arrived

        Raises
        ------
        BadArgumentError
            If there is no such shrub.

        Notes
        -----
        Source: Σ_t of the terms of `dose[i, t]`, each donor's part over the total.
        Valid:  counts every day of shed, also those on which i's stigmas are not out;
            `useful_share_of_donor` counts only days on which they are.

        Examples
        --------
        >>> day = np.ones((3, 1))
        >>> cover = pollen_cover([[0, 0], [0, 9], [9, 0]], day, day, np.ones((3, 3)), [1, 3, 1],
        ...                      kernel=np.ones_like, half_dose=1.0)
        >>> cover.share_of_donor(0)
        array([0.  , 0.75, 0.25])
        """
        return _shares(self.weights_on(i) * self.shed.sum(axis=1))

    def useful_share_of_donor(self, i: int) -> Floats:
        """Share of each donor in the pollen that reached shrub i while its stigmas were out.

        Returns
        -------
        (n,) adds up to 1, or all 0 where nothing useful arrived

        Raises
        ------
        BadArgumentError
            If there is no such shrub.

        Notes
        -----
        Source: Σ_t receptive[i, t] · the terms of `dose[i, t]`, each donor's part over the total.
        Valid:  i from 0 to n − 1.

        Examples
        --------
        >>> shed, out = np.array([[0, 0], [1, 0], [1, 3]]), np.array([[1, 0], [1, 1], [1, 1]])
        >>> cover = pollen_cover([[0, 0], [0, 9], [9, 0]], shed / 3, out, np.ones((3, 3)),
        ...                      [1, 1, 1], kernel=np.ones_like, half_dose=1.0)
        >>> cover.useful_share_of_donor(0)
        array([0. , 0.5, 0.5])
        """
        return _shares(self.weights_on(i) * (self.shed @ self.receptive[i]))


def _shares(parts: Floats) -> Floats:
    total = parts.sum()
    return parts / total if total > 0 else parts


@dataclass(frozen=True)
class _Inputs:
    """Arguments of `pollen_cover`, checked."""

    xy: Floats
    shed: Floats
    receptive: Floats
    catkins: Floats
    compatibility: Compatibility


def checked_inputs(
    xy: ArrayLike,
    shed: ArrayLike,
    receptive: ArrayLike,
    compatibility: Compatibility,
    catkins: ArrayLike,
) -> _Inputs:
    """Arguments of `pollen_cover` as float64 arrays.

    Raises
    ------
    BadArgumentError
        With the argument, the index, the value found and what was expected.

    Notes
    -----
    Source: the agreed interface.
    Valid:  see `pollen_cover`; the values of compatibility are checked tile by tile.

    Examples
    --------
    >>> day = np.ones((1, 1))
    >>> checked_inputs([[0, 0]], day, day, np.zeros((1, 1)), [2]).catkins
    array([2.])
    """
    flying = float_array("shed", shed, ndim=2, low=0, high=1)
    out = float_array("receptive", receptive, ndim=2, low=0, high=1)
    supply = float_array("catkins", catkins, ndim=1, low=0)
    n = same_length(shed=flying, receptive=out, catkins=supply)
    if flying.shape != out.shape:
        raise BadArgumentError(
            f"receptive: found shape {out.shape}, expected that of shed, {flying.shape}"
        )
    places = float_array("xy", xy, ndim=2)
    check_places(places, n)
    if not callable(compatibility):
        compatibility = np.asarray(compatibility, dtype=np.float64)
        if compatibility.shape != (n, n):
            raise BadArgumentError(
                f"compatibility: found shape {compatibility.shape}, expected ({n}, {n})"
            )
    return _Inputs(places, flying, out, supply, compatibility)


def checked_half_dose(half_dose: float) -> float:
    """`half_dose` as a float above 0.

    Raises
    ------
    BadArgumentError
        If it is not.

    Notes
    -----
    Source: the agreed interface.
    Valid:  any unit, that of the doses.

    Examples
    --------
    >>> checked_half_dose(2)
    2.0
    """
    half = float(float_array("half_dose", half_dose, ndim=0))
    if half <= 0:
        raise BadArgumentError(f"half_dose: found {half_dose}, expected above 0")
    return half


def mean_over_receptive(taken: Floats, receptive: Floats) -> Floats:
    """Mean of `taken` over the last axis, weighted by `receptive`; NaN where never receptive.

    Notes
    -----
    Source: cover[i] = Σ_t receptive · taken / Σ_t receptive.
    Valid:  weights of at least 0.

    Examples
    --------
    >>> mean_over_receptive(np.array([[0.2, 0.6], [0.5, 0.5]]), np.array([[1.0, 3.0], [0.0, 0.0]]))
    array([0.5, nan])
    """
    total = receptive.sum(axis=-1)
    weighted = np.einsum("...t,...t->...", taken, receptive)
    mean: Floats = np.divide(weighted, total, out=np.full(total.shape, np.nan), where=total > 0)
    return mean


def pollen_cover(
    xy: ArrayLike,
    shed: ArrayLike,
    receptive: ArrayLike,
    compatibility: Compatibility,
    catkins: ArrayLike,
    *,
    kernel: Kernel,
    half_dose: float,
    wind: WindRose | None = None,
) -> PollenCover:
    """How well each shrub's stigmas are met by pollen that they accept, day by day.

    Parameters
    ----------
    xy : (n, 2) m east and north
    shed : (n, days) in 0..1, share of a shrub's pollen in the air that day
    receptive : (n, days) in 0..1, share of its stigmas out
    compatibility : (n, n) seed × pollen, chance of acceptance in 0..1; or a function of two
        slices (seed rows, pollen columns) giving that block, which keeps memory bounded
    catkins : (n,) ≥ 0, catkins living to shed, in any one unit
    kernel : weight by distance in m, of the same shape
    half_dose : dose at which half of the stigmas out that day are met
    wind : weight by direction, or None for an even spread

    Returns
    -------
    PollenCover

    Raises
    ------
    BadArgumentError
        With the argument, the index, the value found and what was expected.

    Notes
    -----
    Source: ours: dose[i, t] = Σ_{j≠i} compatibility·catkins·shed·kernel; taken = dose / (dose +
        half_dose); cover = Σ receptive·taken / Σ receptive.
    Valid:  pollen from outside the planting is not counted. Shrubs killed by frost or shy of
        catkins enter through `catkins` and `shed`.
    Limits: relative, as no kernel or half-dose of hazel has been published; rank with it.

    Examples
    --------
    >>> day = np.ones((2, 1))
    >>> pollen_cover([[0, 0], [3, 4]], day, day, np.ones((2, 2)), [1, 3],
    ...              kernel=np.ones_like, half_dose=1.0).cover
    array([0.75, 0.5 ])
    """
    given = checked_inputs(xy, shed, receptive, compatibility, catkins)
    half = checked_half_dose(half_dose)
    drift = Drift(given.xy, given.compatibility, kernel, wind)
    dose = season_dose(drift, given.catkins[:, None] * given.shed)
    taken = dose / (dose + half)
    cover = mean_over_receptive(taken, given.receptive)
    return PollenCover(dose, taken, cover, given.shed, given.receptive, given.catkins, half, drift)
