"""A second look at a plan: every rule, replayed from the counts and the cuts alone."""

from collections.abc import Iterator

import numpy as np
from numpy.typing import ArrayLike, NDArray

from nuttery.science.arguments import Bools, Ints, place_of
from nuttery.science.canes.rules import checked_cap, cut_limit


def check_plan(
    counts: ArrayLike,
    cut: ArrayLike,
    kept: ArrayLike,
    *,
    suckers: int,
    max_share: float,
    cuts_per_year: ArrayLike | None = None,
) -> tuple[str, ...]:
    """Breaches of the rules in a renewal plan; none if it may be shown.

    Parameters
    ----------
    counts : (n, A) int, canes of each age in the first winter before pruning
    cut, kept : (n, years, A) int
    suckers : int, new canes each summer
    max_share : float, share of the canes of age 2 and older that may go in one winter
    cuts_per_year : cap on cuts of age 2 and older over all shrubs, one number or (years,), or None

    Returns
    -------
    tuple of str, one for each kind of breach, naming the first place where it is found

    Raises
    ------
    BadArgumentError
        If `cuts_per_year` is neither one number nor one a year.

    Notes
    -----
    Source: the renewal model of this project; plain arithmetic, apart from the planner's own.
    Valid:  any whole counts.

    Examples
    --------
    >>> counts = [[0, 1, 0, 3]]
    >>> check_plan(counts, [[[0, 1, 0, 1]]], [[[0, 0, 0, 2]]], suckers=8, max_share=1 / 3)
    ()
    >>> check_plan(counts, [[[0, 0, 0, 2]]], [[[0, 1, 0, 1]]], suckers=8, max_share=1 / 3)
    ('cut[0, 0]: found 2 cuts of age 2 and older, expected 1 at most',)
    """
    start, gone, left = (np.asarray(a) for a in (counts, cut, kept))
    return (
        *_first("cut", gone, gone < 0, "0 or more"),
        *_first("kept", left, left < 0, "0 or more"),
        *_balance(start, gone + left, left, suckers),
        *_shares(gone, left, max_share),
        *_caps(gone, checked_cap(cuts_per_year, gone.shape[1])),
    )


def _first(name: str, found: NDArray[np.int64], wrong: Bools, expected: str) -> Iterator[str]:
    if wrong.any():
        index = tuple(int(i) for i in np.argwhere(wrong)[0])
        yield f"{name}{place_of(index)}: found {found[index]}, expected {expected}"


def _balance(start: Ints, standing: Ints, kept: Ints, suckers: int) -> Iterator[str]:
    yield from _first(
        "standing", standing[:, 0], standing[:, 0] != start, "the canes counted in the first winter"
    )
    for t in range(1, standing.shape[1]):
        risen = np.roll(kept[:, t - 1], 1, axis=1)
        risen[:, -1] += risen[:, 0]
        risen[:, 0] = 0
        risen[:, 1] += suckers
        wrong = standing[:, t] != risen
        yield from _first(f"standing in winter {t}", standing[:, t], wrong, "last winter's kept")


def _shares(cut: Ints, kept: Ints, max_share: float) -> Iterator[str]:
    old = cut[..., 2:].sum(axis=-1)
    limit = cut_limit(old + kept[..., 2:].sum(axis=-1), max_share)
    for where in np.argwhere(old > limit)[:1]:
        at = tuple(int(i) for i in where)
        yield (
            f"cut{place_of(at)}: found {old[at]} cuts of age 2 and older, "
            f"expected {limit[at]} at most"
        )


def _caps(cut: Ints, caps: Ints | None) -> Iterator[str]:
    if caps is not None:
        old = cut[..., 2:].sum(axis=(0, 2))
        for t in np.flatnonzero(old > caps)[:1]:
            yield f"cuts in winter {t}: found {old[t]} over all shrubs, expected {caps[t]} at most"
