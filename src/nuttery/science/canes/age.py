"""The age of a cane from its looks: base diameter and bark."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import linalg, optimize, special

from nuttery.reference import value
from nuttery.science.arguments import Floats, float_array, int_array, refuse_where, same_length
from nuttery.science.errors import BadArgumentError

BARK = ("smooth", "fading", "rough")
AGES = 15  # columns 0 … 13, and 14 and older
TRUST = 0.5  # sd of each assumed coefficient, on the scale of log age


@dataclass(frozen=True)
class CaneAge:
    """Age of a cane given its looks: log age is logistic about a line in log diameter and bark.

    Attributes
    ----------
    coefficients : (4,) float: level, log diameter, bark step, log of the spread
    covariance : (4, 4) float
    ages : int, number of ages; the last column holds that age and older
    n_records : int, canes of known age it rests on; 0 for an assumption
    assumed : bool, whether no cane of known age speaks yet
    """

    coefficients: Floats
    covariance: Floats
    ages: int
    n_records: int
    assumed: bool

    def predict(self, diameter_mm: ArrayLike, bark: ArrayLike) -> Floats:
        """Probability of each age.

        Parameters
        ----------
        diameter_mm : (n,) float, mm at the base, above zero
        bark : (n,) 0 smooth, 1 fading, 2 rough, or these words

        Returns
        -------
        (n, ages) float, each row sums to 1; column 0 is zero in winter

        Raises
        ------
        BadArgumentError
            With the argument, the index, the value found and what was expected.

        Notes
        -----
        Source: ordinal regression with known limits between the ages (McCullagh 1980), logistic;
                the doubt about the coefficients is added to the spread.
        Valid:  diameters like those it was learned on; an assumption says so by `assumed`.

        Examples
        --------
        >>> share = assumed_cane_age().predict([25.0], ["fading"])
        >>> int(share.argmax()), bool(share.max() < 0.3)
        (5, True)
        """
        looks = _looks(diameter_mm, bark)
        middle = looks @ self.coefficients[:3]
        doubt = np.einsum("ni,ij,nj->n", looks, self.covariance[:3, :3], looks)
        spread = np.sqrt(np.exp(2 * self.coefficients[3]) + 3 * doubt / np.pi**2)
        edges = np.log(np.arange(1.5, self.ages - 0.5))
        below = special.expit((edges - middle[:, None]) / spread[:, None])
        share = np.zeros((len(middle), self.ages))
        share[:, 1:] = np.diff(below, axis=1, prepend=0.0, append=1.0)
        return share


def _looks(diameter_mm: ArrayLike, bark: ArrayLike) -> Floats:
    """The line's terms: 1, log diameter, bark step from fading, (n, 3)."""
    diameter = float_array("diameter_mm", diameter_mm, ndim=1, low=np.nextafter(0, 1))
    given = np.asarray(bark)
    if given.dtype.kind in "UO":
        known = {name: float(k) for k, name in enumerate(BARK)}
        wrong = np.array([word not in known for word in given.tolist()], dtype=np.bool_)
        refuse_where("bark", given, wrong, f"one of {', '.join(BARK)}")
        given = np.array([known[word] for word in given.tolist()])
    step = int_array("bark", given, ndim=1, low=0, high=len(BARK) - 1) - 1.0
    same_length(diameter_mm=diameter, bark=step)
    return np.column_stack([np.ones(len(diameter)), np.log(diameter), step])


def assumed_cane_age(ages: int = AGES) -> CaneAge:
    """Age from looks before any cane of known age: assumed, and wide.

    Parameters
    ----------
    ages : int, number of ages, A

    Returns
    -------
    CaneAge with `assumed` true

    Raises
    ------
    BadArgumentError
        If fewer than 3 ages are asked for.

    Notes
    -----
    Source: `canes.growth` and `canes.bark.step` in the reference room; from memory and inferred.
    Valid:  a label to be shown beside every number that rests on it.
    Limits: no published diameter by age of hazel canes was found.

    Examples
    --------
    >>> share = assumed_cane_age().predict([10.0, 40.0], ["smooth", "rough"])
    >>> share.argmax(axis=1)
    array([ 2, 14])
    """
    columns = int(int_array("ages", ages, ndim=0, low=3))
    growth, spread = value("canes.growth"), value("canes.growth.spread")
    scale = spread.value * np.sqrt(3) / np.pi
    level = [-np.log(growth.value), 1.0, value("canes.bark.step").value, np.log(scale)]
    return CaneAge(np.array(level), _doubt(), columns, 0, assumed=True)


def _doubt() -> Floats:
    """Covariance of the assumed coefficients, about a cane of 25 mm."""
    centre = np.log(25.0)
    turn = np.array([[1.0, -centre, 0, 0], [0, 1, 0, 0], [0, 0, 1, 0], [0, 0, 0, 1]])
    sizes = np.diag(np.array([0.3, 0.3, 0.2, TRUST]) ** 2)
    matrix: Floats = turn @ sizes @ turn.T
    return matrix


def fit_cane_age(
    diameter_mm: ArrayLike, bark: ArrayLike, age: ArrayLike, *, ages: int = AGES
) -> CaneAge:
    """Age from looks, learned from canes of known age on top of what is assumed.

    Parameters
    ----------
    diameter_mm : (m,) float, mm at the base
    bark : (m,) 0 smooth, 1 fading, 2 rough, or these words
    age : (m,) int, rings counted on the stub or years since it was labelled, 1 or more
    ages : int, number of ages, A

    Returns
    -------
    CaneAge

    Raises
    ------
    BadArgumentError
        With the argument, the index, the value found and what was expected.

    Notes
    -----
    Source: ordinal regression with known limits (McCullagh 1980, J. R. Stat. Soc. B 42:109), the
            assumed coefficients as a normal prior, normal approximation at the mode.
    Valid:  one cane or more; with few the assumption still speaks.

    Examples
    --------
    >>> model = fit_cane_age([8, 16, 24, 32], [0, 0, 1, 2], [2, 4, 6, 8])
    >>> model.predict([20.0], ["fading"]).argmax(axis=1), model.n_records
    (array([5]), 4)
    """
    prior = assumed_cane_age(ages)
    looks = _looks(diameter_mm, bark)
    known = int_array("age", age, ndim=1, low=1)
    if not same_length(diameter_mm=looks, age=known):
        raise BadArgumentError("age: found no cane, expected one or more")
    known = np.minimum(known, prior.ages - 1)
    low = np.where(known > 1, np.log(np.maximum(known - 0.5, 1.0)), -np.inf)
    high = np.where(known < prior.ages - 1, np.log(known + 0.5), np.inf)
    trust = linalg.inv(prior.covariance)

    def regret(line: Floats) -> float:
        middle, spread = looks @ line[:3], np.exp(line[3])
        inside = special.expit((high - middle) / spread) - special.expit((low - middle) / spread)
        off = line - prior.coefficients
        return float(0.5 * off @ trust @ off - np.log(np.maximum(inside, 1e-300)).sum())

    best = optimize.minimize(regret, prior.coefficients, method="BFGS").x
    covariance = linalg.inv(_curvature(regret, best))
    return CaneAge(best, covariance, prior.ages, len(known), assumed=False)


def _curvature(function: Callable[[Floats], float], at: Floats) -> Floats:
    """Second derivatives by central differences, (k, k)."""
    steps = 1e-3 * np.eye(len(at))
    matrix = np.zeros((len(at), len(at)))
    for i, one in enumerate(steps):
        for j, two in enumerate(steps):
            plus = function(at + one + two) + function(at - one - two)
            minus = function(at + one - two) + function(at - one + two)
            matrix[i, j] = (plus - minus) / (4 * 1e-6)
    return matrix
