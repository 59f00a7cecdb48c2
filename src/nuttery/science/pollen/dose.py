"""Pollen reaching every shrub, summed tile by tile so that no n × n table is ever made."""

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from nuttery.science.arguments import Floats, refuse_where
from nuttery.science.errors import BadArgumentError
from nuttery.science.pollen.kernels import Kernel, WindRose

Block = Callable[[slice, slice], Floats]
Compatibility = NDArray[np.float64] | Block
TILE = 128  # a tile of float64 stays in the second cache, and is freed without the system
WORKERS = 2


@dataclass(frozen=True)
class Drift:
    """What decides how much of a donor's pollen counts for a receiver.

    Parameters
    ----------
    xy : (n, 2) m east and north
    compatibility : (n, n) seed × pollen in 0..1, or a function of two slices (seed rows,
        pollen columns) that returns that block
    kernel : weight by distance in metres
    wind : weight by direction, or None for an even spread
    """

    xy: Floats
    compatibility: Compatibility
    kernel: Kernel
    wind: WindRose | None = None

    def accepted(self, seed: slice, pollen: slice) -> Floats:
        """Block of compatibility, checked.

        Raises
        ------
        BadArgumentError
            If its shape is wrong, or a value is missing or outside 0 to 1.

        Notes
        -----
        Source: as given.
        Valid:  probabilities.

        Examples
        --------
        >>> drift = Drift(np.zeros((2, 2)), np.ones((2, 2)), np.ones_like)
        >>> drift.accepted(slice(0, 1), slice(0, 2))
        array([[1., 1.]])
        """
        block = self._block(seed, pollen)
        if not _within(block, 1.0):
            _refuse_block(block, seed.start, pollen.start)
        return block

    def _block(self, seed: slice, pollen: slice) -> Floats:
        """Block of compatibility, its shape checked and its values not."""
        if callable(self.compatibility):
            block = np.ascontiguousarray(self.compatibility(seed, pollen), dtype=np.float64)
        else:
            block = self.compatibility[seed, pollen]
        wanted = (seed.stop - seed.start, pollen.stop - pollen.start)
        if block.shape != wanted:
            raise BadArgumentError(f"compatibility: found block {block.shape}, expected {wanted}")
        return block

    def counted(self, seed: slice, pollen: slice, weight: Floats) -> Floats:
        """Weight of the pollen that is accepted: the block of compatibility times a weight.

        Raises
        ------
        BadArgumentError
            As `accepted`.

        Notes
        -----
        Source: compatibility · weight, checked in the same pass.
        Valid:  as `accepted`.

        Examples
        --------
        >>> drift = Drift(np.zeros((2, 2)), np.full((2, 2), 0.5), np.ones_like)
        >>> drift.counted(slice(0, 1), slice(0, 2), np.array([[2.0, 4.0]]))
        array([[1., 2.]])
        """
        block = self._block(seed, pollen)
        product = np.empty(block.shape)
        if not _times(block, weight, product):
            _refuse_block(block, seed.start, pollen.start)
        return product

    def weight(self, receiver: slice, donor: slice) -> tuple[Floats, Floats | None]:
        """Weight by distance and direction, there and (with wind) back; None back if the same.

        Raises
        ------
        BadArgumentError
            If the kernel gives anything but finite weights of at least 0.

        Notes
        -----
        Source: design of `pollen_cover`.
        Valid:  any places; a shrub's own pollen counts nothing.

        Examples
        --------
        >>> drift = Drift(np.array([[0.0, 0.0], [3.0, 4.0]]), np.ones((2, 2)), lambda d: d)
        >>> drift.weight(slice(0, 2), slice(0, 2))[0]
        array([[0., 5.],
               [5., 0.]])
        """
        distance = np.empty((receiver.stop - receiver.start, donor.stop - donor.start))
        _distances(self.xy[receiver], self.xy[donor], distance)
        own = np.arange(max(receiver.start, donor.start), min(receiver.stop, donor.stop))
        itself = (own - receiver.start, own - donor.start)
        distance[itself] = 1.0  # a kernel need not have a value at 0
        weight = np.ascontiguousarray(self.kernel(distance), dtype=np.float64)
        if weight.shape != distance.shape:
            raise BadArgumentError(
                f"kernel: found weights of shape {weight.shape}, expected {distance.shape}"
            )
        if not _within(weight, np.finfo(np.float64).max):
            bad = ~((weight >= 0) & (weight < np.inf))
            raise BadArgumentError(
                f"kernel: found {weight[bad][0]} at {distance[bad][0]:g} m, "
                "expected a finite weight of at least 0"
            )
        if len(own):
            weight = weight if weight.flags.writeable else weight.copy()
            weight[itself] = 0.0
        if self.wind is None:
            return weight, None
        east = self.xy[receiver, 0, None] - self.xy[None, donor, 0]
        north = self.xy[receiver, 1, None] - self.xy[None, donor, 1]
        return weight * self.wind.factor(east, north), weight * self.wind.factor(-east, -north)


@njit(cache=True, nogil=True)
def _distances(receiver: Floats, donor: Floats, distance: Floats) -> None:
    """Metres from each receiver (rows) to each donor (columns), into `distance`."""
    for i in range(distance.shape[0]):
        for j in range(distance.shape[1]):
            east = receiver[i, 0] - donor[j, 0]
            north = receiver[i, 1] - donor[j, 1]
            distance[i, j] = np.sqrt(east * east + north * north)


@njit(cache=True, nogil=True)
def _within(block: Floats, most: float) -> bool:
    """Whether every value lies from 0 to `most`; a missing one does not."""
    bad = 0
    for i in range(block.shape[0]):
        for j in range(block.shape[1]):
            bad += not (block[i, j] >= 0.0 and block[i, j] <= most)
    return bad == 0


@njit(cache=True, nogil=True)
def _times(accepted: Floats, weight: Floats, product: Floats) -> bool:
    """Fill in the product; whether every chance lies from 0 to 1, a missing one does not."""
    bad = 0
    for i in range(product.shape[0]):
        for j in range(product.shape[1]):
            chance = accepted[i, j]
            bad += not (chance >= 0.0 and chance <= 1.0)
            product[i, j] = chance * weight[i, j]
    return bad == 0


def _refuse_block(block: Floats, row: int, column: int) -> None:
    """Raise for the first bad value of a block, named by its place in the whole table."""
    bad = ~((block >= 0) & (block <= 1))
    i, j = (int(k[0]) for k in np.nonzero(bad))
    raise BadArgumentError(
        f"compatibility[{row + i}, {column + j}]: found {block[i, j]}, expected 0 to 1"
    )


def tiles(n: int, size: int = TILE) -> list[slice]:
    """Slices that cover 0..n.

    Notes
    -----
    Source: bookkeeping of our own.
    Valid:  n ≥ 0.

    Examples
    --------
    >>> tiles(5, 3)
    [slice(0, 3, None), slice(3, 5, None)]
    """
    return [slice(start, min(start + size, n)) for start in range(0, n, size)]


def season_dose(drift: Drift, supply: Floats) -> Floats:
    """Pollen reaching each shrub from all others.

    Parameters
    ----------
    drift : who accepts whom, and how much arrives
    supply : (n, columns) pollen given off by each shrub, a column a day (or day of a draw)

    Returns
    -------
    (n, columns) dose

    Raises
    ------
    BadArgumentError
        If compatibility or the kernel gives an impossible value.

    Notes
    -----
    Source: dose[i, t] = Σ_{j≠i} compatibility[i, j] · kernel(d_ij) · supply[j, t].
    Valid:  any number of shrubs; memory O(n · columns + tile²).

    Examples
    --------
    >>> drift = Drift(np.array([[0.0, 0.0], [0.0, 2.0]]), np.ones((2, 2)), np.ones_like)
    >>> season_dose(drift, np.array([[1.0], [3.0]]))
    array([[3.],
           [1.]])
    """
    parts = tiles(len(supply))
    pairs = [(a, b) for i, a in enumerate(parts) for b in parts[i:]]
    workers = min(WORKERS, len(pairs)) or 1

    def share(worker: int) -> Floats:
        dose = np.zeros_like(supply)
        for receiver, donor in pairs[worker::workers]:
            _add_tile(dose, drift, supply, receiver, donor)
        return dose

    if workers == 1:
        return share(0)
    with ThreadPoolExecutor(workers) as pool:
        total: Floats = sum(pool.map(share, range(workers)), start=np.zeros_like(supply))
    return total


def _add_tile(dose: Floats, drift: Drift, supply: Floats, receiver: slice, donor: slice) -> None:
    """Add what `donor` gives to `receiver` and, off the diagonal, the other way round."""
    there, back = drift.weight(receiver, donor)
    dose[receiver] += drift.counted(receiver, donor, there) @ supply[donor]
    if receiver != donor:
        returned = there if back is None else back
        dose[donor] += drift.counted(donor, receiver, returned.T) @ supply[receiver]


def donor_rows(drift: Drift, n: int) -> Iterator[tuple[slice, Floats]]:
    """Blocks of receivers with the weight of every donor on each of them.

    Yields
    ------
    (receivers, (len, n) weights), in order

    Notes
    -----
    Source: compatibility · kernel · wind, as in `season_dose`.
    Valid:  any number of shrubs; one block in memory at a time.

    Examples
    --------
    >>> drift = Drift(np.array([[0.0, 0.0], [0.0, 2.0]]), np.ones((2, 2)), np.ones_like)
    >>> [weights.tolist() for _, weights in donor_rows(drift, 2)]
    [[[0.0, 1.0], [1.0, 0.0]]]
    """
    for receiver in tiles(n, 64):
        blocks = [donor_row_block(drift, receiver, donor) for donor in tiles(n, 4096)]
        yield receiver, np.hstack(blocks)


def donor_row_block(drift: Drift, receiver: slice, donor: slice) -> Floats:
    """Weight of some donors on some receivers, their own pollen left out.

    Notes
    -----
    Source: compatibility · kernel · wind, as in `season_dose`.
    Valid:  any two slices.

    Examples
    --------
    >>> drift = Drift(np.array([[0.0, 0.0], [0.0, 2.0]]), np.ones((2, 2)), np.ones_like)
    >>> donor_row_block(drift, slice(0, 1), slice(1, 2))
    array([[1.]])
    """
    there, _ = drift.weight(receiver, donor)
    return drift.counted(receiver, donor, there)


def check_places(xy: Floats, n: int) -> None:
    """Raise unless there is one place a shrub.

    Raises
    ------
    BadArgumentError
        If the shape is not (n, 2) or a coordinate is missing.

    Notes
    -----
    Source: the agreed interface.
    Valid:  metres east and north.

    Examples
    --------
    >>> check_places(np.zeros((3, 2)), 3)
    """
    if xy.shape != (n, 2):
        raise BadArgumentError(f"xy: found shape {xy.shape}, expected ({n}, 2)")
    refuse_where("xy", xy, ~np.isfinite(xy), "a finite number of metres")
