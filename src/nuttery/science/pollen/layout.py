"""How to lay out the lots of a new planting, and rules of thumb for donors at intervals."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nuttery.science.arguments import Floats, Ints, float_array
from nuttery.science.errors import BadArgumentError
from nuttery.science.pollen.kernels import Kernel


@dataclass(frozen=True)
class Layout:
    """Lots laid out over a new planting.

    Attributes
    ----------
    lot : (n,) lot of each place
    cover : (n,) expected cover of each place, with all in bloom at once
    objective : mean of the lowest covers
    """

    lot: Ints
    cover: Floats
    objective: float


def lay_out_lots(
    xy: ArrayLike,
    counts: Sequence[int],
    accepted: ArrayLike,
    *,
    kernel: Kernel,
    half_dose: float,
    rng: np.random.Generator,
    lowest: int | None = None,
    starts: int = 8,
) -> Layout:
    """Which place gets a seedling of which lot, in a new planting.

    Parameters
    ----------
    xy : (n, 2) m, places
    counts : seedlings of each lot, n in all
    accepted : (lots, lots) seed × pollen, chance that a seedling of one lot accepts pollen of
        another seedling of the other; on the diagonal, of a sibling
    kernel, half_dose : as in `pollen_cover`
    rng : source of randomness
    lowest : the mean of this many lowest covers is raised, by default a tenth
    starts : random layouts from which the search sets out

    Returns
    -------
    Layout

    Raises
    ------
    BadArgumentError
        If an argument is impossible.

    Notes
    -----
    Source: ours: exchanges of two seedlings until none helps, from several starts.
    Valid:  up to some hundreds of places. Good, not proven best; on layouts small enough to try
        all, it found the best.

    Examples
    --------
    >>> line = [[0, 0], [1, 0], [2, 0], [3, 0]]
    >>> plan = lay_out_lots(line, [2, 2], [[0, 1], [1, 0]], kernel=lambda d: 1 / d**2,
    ...                     half_dose=1.0, rng=np.random.default_rng(1))
    >>> bool(abs(np.diff(plan.lot)).sum() >= 2)
    True
    """
    where = float_array("xy", xy, ndim=2)
    chance = float_array("accepted", accepted, ndim=2, low=0, high=1)
    start = np.repeat(np.arange(len(counts)), counts)
    n = len(where)
    if len(start) != n or chance.shape != (len(counts), len(counts)):
        raise BadArgumentError(
            f"counts: found {list(counts)} and accepted of shape {chance.shape}, expected {n} "
            "seedlings in all and one row and column a lot"
        )
    if half_dose <= 0:
        raise BadArgumentError(f"half_dose: found {half_dose}, expected above 0")
    apart = np.hypot(*(where[:, None] - where[None]).transpose(2, 0, 1))
    np.fill_diagonal(apart, 1.0)
    weight = np.asarray(kernel(apart), dtype=np.float64)
    np.fill_diagonal(weight, 0.0)
    fewest = max(1, n // 10) if lowest is None else lowest
    tried = [
        _exchange(rng.permutation(start), weight, chance, half_dose, fewest) for _ in range(starts)
    ]
    return max(tried, key=lambda layout: layout.objective)


def _layout(lot: Ints, weight: Floats, chance: Floats, half: float, lowest: int) -> Layout:
    dose = (weight * chance[lot[:, None], lot[None, :]]).sum(axis=1)
    cover = dose / (dose + half)
    return Layout(lot, cover, float(np.sort(cover)[:lowest].mean()))


def _exchange(lot: Ints, weight: Floats, chance: Floats, half: float, lowest: int) -> Layout:
    """Exchange two seedlings of different lots as long as that helps the lowest covers."""
    best = _layout(lot, weight, chance, half, lowest)
    improved = True
    while improved:
        improved = False
        for a in np.argsort(best.cover):
            for b in np.nonzero(best.lot != best.lot[a])[0]:
                swapped = best.lot.copy()
                swapped[[a, b]] = swapped[[b, a]]
                now = _layout(swapped, weight, chance, half, lowest)
                if now.objective > best.objective + 1e-12:
                    best, improved = now, True
                    break
            if improved:
                break
    return best


def every_nth(every_tree: int, every_row: int, spacing: float) -> tuple[float, float]:
    """Share of donors, and the farthest place from one, on a square grid with donors at intervals.

    Parameters
    ----------
    every_tree, every_row : a donor at every such tree in every such row, at least 1
    spacing : between neighbours, in any unit of length

    Returns
    -------
    (share, farthest distance in the same unit), away from the edges

    Raises
    ------
    BadArgumentError
        If an interval is below 1 or the spacing is not above 0.

    Notes
    -----
    Source: counted on the grid. The rule "every third tree in every third row" is common.
    Valid:  the interior of a large planting, donors in line from row to row.

    Examples
    --------
    >>> share, farthest = every_nth(3, 3, 20.0)
    >>> round(100 * share, 2), round(farthest, 2)
    (11.11, 28.28)
    """
    if min(every_tree, every_row) < 1 or not spacing > 0:
        raise BadArgumentError(
            f"every_tree, every_row, spacing: found {every_tree}, {every_row}, {spacing}, "
            "expected intervals of at least 1 and a spacing above 0"
        )
    farthest = np.hypot(every_tree // 2, every_row // 2) * spacing
    return 1 / (every_tree * every_row), float(farthest)
