"""What an estimate looks like, and intervals for shares counted on few nuts."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import betaincinv, ndtri, stdtrit

from nuttery.science.arguments import Floats, float_array, int_array, refuse_where
from nuttery.science.errors import BadArgumentError


@dataclass(frozen=True)
class Estimate:
    """A median with its interval, the number of records it rests on, and what else it rests on."""

    median: Any
    low: Any
    high: Any
    n_records: int
    basis: str = ""


def checked_coverage(coverage: float) -> float:
    """`coverage` if it lies strictly between 0 and 1.

    Raises
    ------
    BadArgumentError
        If it does not.
    """
    if not 0.0 < coverage < 1.0:
        raise BadArgumentError(f"coverage: found {coverage}, expected more than 0 and less than 1")
    return coverage


def _counts(hits: ArrayLike, examined: ArrayLike) -> tuple[Floats, Floats]:
    k = int_array("hits", hits, low=0).astype(np.float64)
    n = int_array("examined", examined, low=1).astype(np.float64)
    k, n = np.broadcast_arrays(k, n)
    refuse_where("hits", k, k > n, "no more than were examined")
    return k, n


def wilson(
    hits: ArrayLike, examined: ArrayLike, *, coverage: float = 0.95
) -> tuple[Floats, Floats, Floats]:
    """Share of nuts and its score interval.

    Parameters
    ----------
    hits : int, nuts that show it
    examined : int, nuts looked at
    coverage : probability that the interval aims at

    Returns
    -------
    share, low, high : float, 0 to 1, in the shape of the counts

    Raises
    ------
    BadArgumentError
        If a count is negative, not whole, or exceeds the nuts examined.

    Notes
    -----
    Source: Wilson 1927, J. Am. Stat. Assoc. 22:209; recommended for few trials by Newcombe 1998,
            Stat. Med. 17:857, method 3. Published.
    Valid:  any number of nuts from 1 up, also when none or all of them show it.
    Limits: the nuts must be drawn at random from the lot.

    Examples
    --------
    >>> [round(float(x), 4) for x in wilson(1, 29)]
    [0.0345, 0.0061, 0.1718]
    """
    k, n = _counts(hits, examined)
    z = ndtri(0.5 + checked_coverage(coverage) / 2)
    share = k / n
    middle = (k + z**2 / 2) / (n + z**2)
    half = z * np.sqrt(n * share * (1 - share) + z**2 / 4) / (n + z**2)
    low = np.where(k == 0, 0.0, middle - half)
    high = np.where(k == n, 1.0, middle + half)
    return share, low, high


def jeffreys(
    hits: ArrayLike, examined: ArrayLike, *, coverage: float = 0.95
) -> tuple[Floats, Floats, Floats]:
    """Posterior median of a share and its equal-tailed interval under the Jeffreys prior.

    Parameters
    ----------
    hits : int, nuts that show it
    examined : int, nuts looked at
    coverage : probability that the interval holds

    Returns
    -------
    median, low, high : float, 0 to 1, in the shape of the counts

    Raises
    ------
    BadArgumentError
        If a count is negative, not whole, or exceeds the nuts examined.

    Notes
    -----
    Source: Brown, Cai and DasGupta 2001, Stat. Sci. 16:101, section 3.1 and 4.1.2. Published.
    Valid:  any number of nuts from 1 up; low is 0 when none, high is 1 when all show it.
    Limits: the nuts must be drawn at random from the lot.

    Examples
    --------
    >>> [round(float(x), 3) for x in jeffreys(2, 20)]
    [0.107, 0.021, 0.284]
    """
    k, n = _counts(hits, examined)
    tail = (1 - checked_coverage(coverage)) / 2
    a, b = k + 0.5, n - k + 0.5
    low = np.where(k == 0, 0.0, betaincinv(a, b, tail))
    high = np.where(k == n, 1.0, betaincinv(a, b, 1 - tail))
    return np.asarray(betaincinv(a, b, 0.5)), low, high


def mean_interval(values: ArrayLike, *, coverage: float = 0.95) -> Estimate:
    """Mean of measured nuts with Student's interval.

    Parameters
    ----------
    values : (n,) float, any unit
    coverage : probability that the interval aims at

    Returns
    -------
    Estimate
        Mean as `median`; `low` and `high` are NaN for a single nut, which tells nothing of spread.

    Raises
    ------
    BadArgumentError
        If there is no value or one is missing.

    Notes
    -----
    Source: Student 1908, Biometrika 6:1. Published.
    Valid:  values near enough to normal, as sizes and masses of nuts of one shrub are.
    Limits: the interval is for the mean, not for the next nut.

    Examples
    --------
    >>> e = mean_interval([1.0, 2.0, 3.0])
    >>> round(e.median, 3), round(e.low, 3), round(e.high, 3)
    (2.0, -0.484, 4.484)
    """
    x = float_array("values", values, ndim=1)
    if x.size == 0:
        raise BadArgumentError("values: found none, expected at least one")
    if x.size == 1:
        return Estimate(float(x[0]), float("nan"), float("nan"), 1)
    half = stdtrit(x.size - 1, 0.5 + checked_coverage(coverage) / 2)
    half *= x.std(ddof=1) / np.sqrt(x.size)
    return Estimate(float(x.mean()), float(x.mean() - half), float(x.mean() + half), x.size)
