"""Ages of a stool's canes as a distribution: from size classes, and from winter to winter."""

import numpy as np
from numpy.typing import ArrayLike

from nuttery.science.arguments import Floats, Ints, float_array, int_array
from nuttery.science.errors import BadArgumentError


def ages_of_classes(class_counts: ArrayLike, age_given_class: ArrayLike) -> Floats:
    """Expected canes of each age from a count by size class.

    Parameters
    ----------
    class_counts : (n, k) int, canes of each class
    age_given_class : (k, A) float, probability of each age, rows sum to 1

    Returns
    -------
    (n, A) float

    Raises
    ------
    BadArgumentError
        With the argument, the index, the value found and what was expected.

    Notes
    -----
    Source: law of total expectation; exact.
    Valid:  classes that mean the same on every shrub.

    Examples
    --------
    >>> ages_of_classes([[2, 1]], [[0, 0.5, 0.5], [0, 0, 1]])
    array([[0., 1., 2.]])
    """
    counts = int_array("class_counts", class_counts, ndim=2, low=0)
    ages = _shares("age_given_class", age_given_class, counts.shape[1])
    expected: Floats = counts @ ages
    return expected


def _shares(name: str, given: ArrayLike, rows: int) -> Floats:
    shares = float_array(name, given, ndim=2, low=0.0, high=1.0)
    if len(shares) != rows:
        raise BadArgumentError(f"{name}: found {len(shares)} classes, expected {rows}")
    off = np.abs(shares.sum(axis=1) - 1)
    if (off > 1e-6).any():
        worst = int(off.argmax())
        raise BadArgumentError(
            f"{name}[{worst}]: found a sum of {shares[worst].sum():g}, expected 1"
        )
    return shares


def next_winter(
    expected: ArrayLike, cut: ArrayLike, suckers: ArrayLike, *, survival: float = 1.0
) -> Floats:
    """Expected canes of each age a winter later, before any look at the stool.

    Parameters
    ----------
    expected : (n, A) float, canes of each age last winter before pruning
    cut : (n, A) float, of them cut
    suckers : (n,) float, shoots that came up since
    survival : float, share of canes that live through a year

    Returns
    -------
    (n, A) float

    Raises
    ------
    BadArgumentError
        With the argument, the index, the value found and what was expected.

    Notes
    -----
    Source: definition of a cane's age; every cane is a year older. Exact.
    Valid:  cuts written by age; of a cane cut by its looks give its distribution.

    Examples
    --------
    >>> next_winter([[0, 1, 2, 1]], [[0, 0, 1, 0]], [5])
    array([[0., 5., 1., 2.]])
    """
    last = float_array("expected", expected, ndim=2, low=0.0)
    gone = float_array("cut", cut, ndim=2, low=0.0)
    alive = float_array("survival", survival, ndim=0, low=0.0, high=1.0)
    left = np.maximum(0.0, last - gone) * alive
    risen = np.zeros_like(left)
    risen[:, 2:] = left[:, 1:-1]
    risen[:, -1] += left[:, -1]
    risen[:, 1] = float_array("suckers", suckers, ndim=1, low=0.0)
    return risen


def class_given_age(age_given_class: ArrayLike, class_share: ArrayLike) -> Floats:
    """Probability of each size class given the age, turned round by Bayes' rule.

    Parameters
    ----------
    age_given_class : (k, A) float, probability of each age, rows sum to 1
    class_share : (k,) float, how common each class is where the model was learned

    Returns
    -------
    (A, k) float; rows sum to 1, but are zero for an age that no class can have

    Raises
    ------
    BadArgumentError
        With the argument, the index, the value found and what was expected.

    Notes
    -----
    Source: Bayes' rule; exact.
    Valid:  shares of a planting like the one the classes were learned on.

    Examples
    --------
    >>> class_given_age([[0, 0.5, 0.5], [0, 0, 1]], [0.5, 0.5]).round(2)
    array([[0.  , 0.  ],
           [1.  , 0.  ],
           [0.33, 0.67]])
    """
    share = float_array("class_share", class_share, ndim=1, low=0.0)
    joint = share[:, None] * _shares("age_given_class", age_given_class, len(share))
    total = joint.sum(axis=0)
    turned: Floats = (joint / np.where(total > 0, total, 1.0)).T
    return turned


def update_ages(forecast: ArrayLike, class_counts: ArrayLike, class_given_age: ArrayLike) -> Floats:
    """Last winter's estimate carried on and corrected by this winter's count.

    Parameters
    ----------
    forecast : (n, A) float, expected canes of each age before the look, from `next_winter`
    class_counts : (n, k) int, canes counted of each class
    class_given_age : (A, k) float, probability of each class given the age

    Returns
    -------
    (n, A) float, expected canes of each age; they sum to the canes counted

    Raises
    ------
    BadArgumentError
        With the argument, the index, the value found and what was expected.

    Notes
    -----
    Source: posterior mean of independent Poisson counts by age given the counts by class; exact.
    Valid:  every cane was looked at.
    Limits: a class the forecast gives no cane for is taken by its looks alone.

    Examples
    --------
    >>> update_ages([[0, 4, 0, 2]], [[3, 1]], [[0, 0], [0.9, 0.1], [0.5, 0.5], [0.2, 0.8]]).round(2)
    array([[0. , 2.9, 0. , 1.1]])
    """
    before = float_array("forecast", forecast, ndim=2, low=0.0)
    counted = int_array("class_counts", class_counts, ndim=2, low=0)
    looks = float_array("class_given_age", class_given_age, ndim=2, low=0.0, high=1.0)
    joint = before[:, :, None] * looks
    unseen = (joint.sum(axis=1) <= 0) & (counted > 0)
    joint = np.where(unseen[:, None, :], looks[None], joint)
    share = joint / np.maximum(joint.sum(axis=1, keepdims=True), 1e-300)
    after: Floats = (share * counted[:, None, :]).sum(axis=2)
    return after


def draw_ages(
    class_counts: ArrayLike,
    age_given_class: ArrayLike,
    rng: np.random.Generator,
    draws: int,
) -> Ints:
    """Counts by age as they may truly be, given a count by size class.

    Parameters
    ----------
    class_counts : (n, k) int
    age_given_class : (k, A) float, rows sum to 1
    rng : numpy Generator
    draws : int

    Returns
    -------
    (draws, n, A) int

    Raises
    ------
    BadArgumentError
        With the argument, the index, the value found and what was expected.

    Notes
    -----
    Source: multinomial draws, class by class; exact.
    Valid:  canes of a class independent of each other.

    Examples
    --------
    >>> draw_ages([[2, 1]], [[0, 1, 0], [0, 0, 1]], np.random.default_rng(1), 1)
    array([[[0, 2, 1]]])
    """
    counts = int_array("class_counts", class_counts, ndim=2, low=0)
    ages = _shares("age_given_class", age_given_class, counts.shape[1])
    size = (int(int_array("draws", draws, ndim=0, low=1)), len(counts))
    drawn: Ints = np.zeros((*size, ages.shape[1]), dtype=np.int64)
    for column, share in zip(counts.T, ages, strict=True):
        drawn += rng.multinomial(np.broadcast_to(column, size), share)
    return drawn
