"""The order in which to walk a day's round."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from nuttery.science.arguments import Bools, Floats, Ints, float_array, int_array, same_length
from nuttery.science.errors import BadArgumentError


def walk_length(xy: ArrayLike, order: ArrayLike) -> float:
    """Metres walked from the first shrub of a round to the last.

    Parameters
    ----------
    xy : (n, 2) float, m
    order : (k,) int, shrubs in walking order

    Returns
    -------
    float, m

    Raises
    ------
    BadArgumentError
        If a place is missing or an index is not a shrub's.

    Notes
    -----
    Source: straight lines between shrubs.
    Valid:  open ground.
    Limits: fences and hedges are not known.

    Examples
    --------
    >>> walk_length([[0.0, 0.0], [3.0, 4.0], [3.0, 0.0]], [0, 2, 1])
    7.0
    """
    place = _places(xy)
    walked = int_array("order", order, ndim=1, low=0, high=len(place) - 1)
    return float(np.linalg.norm(np.diff(place[walked], axis=0), axis=1).sum())


def walking_order(
    xy: ArrayLike,
    *,
    row: Sequence[object] | None = None,
    number: ArrayLike | None = None,
    wanted: ArrayLike | None = None,
    start: ArrayLike | None = None,
) -> Ints:
    """Shrubs of a round in walking order: up one row and down the next, or the short way round.

    Parameters
    ----------
    xy : (n, 2) float, m
    row : (n,) labels of rows, if shrubs stand in rows
    number : (n,) number in the row; the place along the row if not given
    wanted : (n,) bool, shrubs to visit; all if not given
    start : (2,) float, m, where the walk begins; the end that is nearest to it comes first

    Returns
    -------
    (k,) int, indices of the wanted shrubs

    Raises
    ------
    BadArgumentError
        If lengths differ or a place is missing.

    Notes
    -----
    Source: rows side by side, direction turned at each row that holds a wanted shrub; without
            rows, nearest neighbour improved by turning stretches round (2-opt; Croes 1958, Oper.
            Res. 6:791).
    Valid:  rows that can be walked from either end.
    Limits: without rows the walk is short, not proven shortest.

    Examples
    --------
    >>> xy = [[0.0, 0.0], [0.0, 2.0], [4.0, 0.0], [4.0, 2.0]]
    >>> walking_order(xy, row=["A", "A", "B", "B"], number=[1, 2, 1, 2]).tolist()
    [0, 1, 3, 2]
    """
    place = _places(xy)
    visited = _wanted(wanted, len(place))
    begin = (
        place.min(axis=0)
        if start is None and len(place)
        else float_array("start", np.zeros(2) if start is None else start, ndim=1)
    )
    if not visited.any():
        return np.empty(0, dtype=np.int64)
    if row is None:
        return _short_way(place, np.flatnonzero(visited), begin)
    labels = np.array([str(r) for r in row])
    along = np.zeros(len(place)) if number is None else float_array("number", number, ndim=1)
    same_length(xy=place, row=labels, number=along)
    return _up_and_down(place, labels, None if number is None else along, visited, begin)


def _places(xy: ArrayLike) -> Floats:
    place = float_array("xy", xy, ndim=2)
    if place.shape[1] != 2:
        raise BadArgumentError(f"xy: found shape {place.shape}, expected (n, 2)")
    return place


def _wanted(wanted: ArrayLike | None, n: int) -> Bools:
    if wanted is None:
        return np.ones(n, dtype=np.bool_)
    mask = np.asarray(wanted, dtype=np.bool_)
    if mask.shape != (n,):
        raise BadArgumentError(f"wanted: found shape {mask.shape}, expected ({n},)")
    return mask


def _row_direction(place: Floats, labels: np.ndarray) -> Floats:
    """Unit vector along the rows: the main direction of places about their own row's middle."""
    centred = place.copy()
    for label in np.unique(labels):
        mine = labels == label
        centred[mine] -= place[mine].mean(axis=0)
    if not centred.any():
        return np.array([0.0, 1.0])
    return np.asarray(np.linalg.svd(centred, full_matrices=False)[2][0])


def _up_and_down(
    place: Floats, labels: np.ndarray, number: Floats | None, visited: Bools, begin: Floats
) -> Ints:
    direction = _row_direction(place, labels)
    across = place @ np.array([-direction[1], direction[0]])
    along = place @ direction if number is None else number
    names = np.unique(labels[visited])
    rows = sorted(names, key=lambda name: float(across[labels == name].mean()))
    members = [np.flatnonzero(visited & (labels == name)) for name in rows]
    ranked = [mine[np.argsort(along[mine], kind="stable")] for mine in members]
    walks = [
        np.concatenate(
            [mine if (k + turned) % 2 == 0 else mine[::-1] for k, mine in enumerate(way)]
        )
        for way in (ranked, ranked[::-1])
        for turned in (0, 1)
    ]
    return min(
        walks,
        key=lambda walk: round(
            float(np.linalg.norm(place[walk[0]] - begin)) + walk_length(place, walk), 6
        ),
    )


def _short_way(place: Floats, shrubs: Ints, begin: Floats) -> Ints:
    there = place[shrubs]
    order: list[int] = []
    left = np.ones(len(shrubs), dtype=np.bool_)
    here = begin
    while left.any():
        distance = np.where(left, np.linalg.norm(there - here, axis=1), np.inf)
        nearest = int(np.argmin(distance))
        order.append(nearest)
        left[nearest] = False
        here = there[nearest]
    return shrubs[_turned(there, np.array(order), begin)]


def _turned(there: Floats, order: Ints, begin: Floats) -> Ints:
    """Walk with every stretch turned round that shortens it, until none does."""
    points = np.concatenate([begin[None], there[order]])
    index = np.concatenate([[-1], order])
    shorter = True
    while shorter:
        shorter = False
        for a in range(1, len(index) - 1):
            before, first = points[a - 1], points[a]
            ends = points[a + 1 :]
            after = points[a + 2 :]
            new = np.linalg.norm(ends - before, axis=1)
            old = np.full(len(ends), np.linalg.norm(first - before))
            new[:-1] += np.linalg.norm(after - first, axis=1)
            old[:-1] += np.linalg.norm(after - ends[:-1], axis=1)
            gain = old - new
            best = int(np.argmax(gain))
            if gain[best] > 1e-9:
                stop = a + 1 + best + 1
                points[a:stop] = points[a:stop][::-1].copy()
                index[a:stop] = index[a:stop][::-1].copy()
                shorter = True
    return np.asarray(index[1:])
