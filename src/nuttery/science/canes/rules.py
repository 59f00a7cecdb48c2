"""The rules of a renewal plan: what a stool does over a summer, what it bears, what may be cut."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nuttery.science.arguments import Floats, Ints, float_array, int_array, refuse_where
from nuttery.science.errors import BadArgumentError

SHARE_TOLERANCE = 1e-9  # a third of nine canes is three, whatever the last binary digit says


@dataclass(frozen=True)
class Rules:
    """What the plan of every stool is judged by.

    Attributes
    ----------
    bearing : (A,) float, kg a cane of each age bears in the summer that follows the winter
    years : int, winters planned
    target : float, canes a stool carries without crowding
    suckers : int, new canes that come up each summer
    max_age : int, a cane kept at this age or older is overdue
    max_share : float, 0 to 1, share of the canes of age 2 and older that may go in one winter
    crowding : float, kg of crop lost for each cane above the target
    evenness : float, weight of the poorest year, beside the sum of all years
    discount : float, weight of a year against the year before
    overdue : float, kg charged for each overdue cane and year
    """

    bearing: Floats
    years: int
    target: float
    suckers: int
    max_age: int
    max_share: float
    crowding: float
    evenness: float
    discount: float
    overdue: float

    @property
    def ages(self) -> int:
        """Number of columns of a count, A."""
        return len(self.bearing)

    @property
    def weights(self) -> Floats:
        """Weight of each year's crop, discount^t, shape (years,)."""
        weights: Floats = np.power(self.discount, np.arange(self.years, dtype=np.float64))
        return weights

    @property
    def worth(self) -> Floats:
        """Crop of a kept cane by age less the charge when overdue, shape (A,)."""
        return self.bearing - self.overdue * (np.arange(self.ages) >= self.max_age)


def checked_rules(
    bearing: ArrayLike,
    years: int,
    *,
    target: float,
    suckers: int,
    max_age: int,
    max_share: float,
    crowding: float,
    evenness: float,
    discount: float,
    overdue: float | None,
) -> Rules:
    """Rules of a plan, each checked; `overdue` is twice the best bearing unless given.

    Raises
    ------
    BadArgumentError
        Naming the argument, the value found and what was expected.
    """
    crops = float_array("bearing", bearing, ndim=1, low=0.0)
    if len(crops) < 3:
        raise BadArgumentError(f"bearing: found {len(crops)} ages, expected 3 or more (0, 1, 2)")
    charge = 2 * float(crops.max()) if overdue is None else overdue
    return Rules(
        bearing=crops,
        years=_whole("years", years, low=1),
        target=_number("target", target),
        suckers=_whole("suckers", suckers, low=0),
        max_age=_whole("max_age", max_age, low=1),
        max_share=_number("max_share", max_share, high=1.0),
        crowding=_number("crowding", crowding),
        evenness=_number("evenness", evenness),
        discount=_number("discount", discount, low=np.nextafter(0, 1)),
        overdue=_number("overdue", charge),
    )


def _number(name: str, value: float, *, low: float = 0.0, high: float = np.inf) -> float:
    return float(float_array(name, value, ndim=0, low=low, high=high))


def _whole(name: str, value: int, *, low: int) -> int:
    return int(int_array(name, value, ndim=0, low=low))


def checked_counts(counts: ArrayLike, ages: int) -> Ints:
    """Counts of canes by age, (n, A), whole, none negative and none of age 0 in winter.

    Raises
    ------
    BadArgumentError
        Naming the argument, the index, the value found and what was expected.
    """
    canes = int_array("counts", counts, ndim=2, low=0)
    if canes.shape[1] != ages:
        raise BadArgumentError(
            f"counts: found {canes.shape[1]} ages, expected {ages}, as many as bearing has"
        )
    newborn = np.zeros(canes.shape, dtype=np.bool_)
    newborn[:, 0] = canes[:, 0] != 0
    refuse_where("counts", canes, newborn, "0 (no cane is of age 0 in winter)")
    return canes


def checked_cap(cuts_per_year: ArrayLike | None, years: int) -> Ints | None:
    """Cap on cuts of each winter, (years,), or None where there is none.

    Raises
    ------
    BadArgumentError
        Naming the argument, the index, the value found and what was expected.
    """
    if cuts_per_year is None:
        return None
    caps = int_array("cuts_per_year", cuts_per_year, low=0)
    if caps.shape not in {(), (years,)}:
        raise BadArgumentError(
            f"cuts_per_year: found shape {caps.shape}, expected one number or ({years},)"
        )
    return np.broadcast_to(caps, (years,)).copy()


def cut_limit(standing: ArrayLike, max_share: float) -> Ints:
    """Canes of age 2 and older that may go in one winter.

    Parameters
    ----------
    standing : (...) int, canes of age 2 and older before pruning
    max_share : float, 0 to 1

    Returns
    -------
    (...) int, `max(1, floor(max_share · standing))`

    Notes
    -----
    Source: a third of the older stems in a winter, RHS advice on cobnuts and Michigan State
            University Extension 2019; common practice.
    Valid:  live canes; dead and cankered ones go at once and do not count.
    Limits: the floor is taken with a tolerance of 1e-9, so that rounding never costs a cane.

    Examples
    --------
    >>> cut_limit([0, 2, 9, 10, 14], 1 / 3)
    array([1, 1, 3, 3, 4])
    """
    share = np.floor(max_share * np.asarray(standing) + SHARE_TOLERANCE)
    return np.maximum(1, share).astype(np.int64)


def standing_canes(counts: Ints, kept: Ints, suckers: int) -> Ints:
    """Canes of each stool before pruning in each winter, when `kept` were left standing.

    Parameters
    ----------
    counts : (n, A) int, canes in the first winter
    kept : (n, years, A) int, canes left standing in each winter
    suckers : int, new canes each summer

    Returns
    -------
    (n, years, A) int; the last column holds age A - 1 and older

    Notes
    -----
    Source: definition of a cane's age, seasons completed; exact.
    Valid:  any count.

    Examples
    --------
    >>> counts = np.array([[0, 2, 1, 1]])
    >>> kept = np.array([[[0, 1, 1, 1], [0, 0, 1, 2]]])
    >>> standing_canes(counts, kept, 8)
    array([[[0, 2, 1, 1],
            [0, 8, 1, 2]]])
    """
    standing = np.zeros_like(kept)
    standing[:, 0] = counts
    standing[:, 1:, 2:] = kept[:, :-1, 1:-1]
    standing[:, 1:, -1] += kept[:, :-1, -1]
    standing[:, 1:, 1] = suckers
    return standing


def crop_of(kept: Ints, rules: Rules) -> Floats:
    """Crop of each stool in each summer, kg.

    Parameters
    ----------
    kept : (..., A) int, canes left standing
    rules : bearing, target and crowding are used

    Returns
    -------
    (...) float, kg

    Notes
    -----
    Source: the renewal model of this project, crop = Σ bearing · kept − crowding · excess.
    Valid:  any count; far above the target the crop may come out negative.

    Examples
    --------
    >>> rules = checked_rules(
    ...     [0, 0, 1.0, 2.0], 1, target=2, suckers=4, max_age=10, max_share=0.5, crowding=0.5,
    ...     evenness=1.0, discount=1.0, overdue=None,
    ... )
    >>> crop_of(np.array([[0, 0, 1, 1], [0, 2, 1, 1]]), rules)
    array([3., 2.])
    """
    excess = np.maximum(0.0, kept.sum(axis=-1) - rules.target)
    crop: Floats = kept @ rules.bearing - rules.crowding * excess
    return crop


def plan_value(kept: Ints, rules: Rules) -> Floats:
    """What the plan of each stool is worth.

    Parameters
    ----------
    kept : (n, years, A) int, canes left standing
    rules : all but max_share and suckers are used

    Returns
    -------
    (n,) float, kg: discounted crop less charges for overdue canes, plus the evenness term

    Notes
    -----
    Source: the renewal model of this project; exact.
    Valid:  any count.

    Examples
    --------
    >>> rules = checked_rules(
    ...     [0, 0, 1.0, 2.0], 2, target=2, suckers=4, max_age=3, max_share=0.5, crowding=0.5,
    ...     evenness=1.0, discount=1.0, overdue=4.0,
    ... )
    >>> plan_value(np.array([[[0, 0, 2, 0], [0, 0, 0, 2]]]), rules)  # 2 + 4 - 4 * 2 + 2 * 2
    array([2.])
    """
    crop = crop_of(kept, rules)
    overdue = kept[..., rules.max_age :].sum(axis=-1)
    yearly = (crop - rules.overdue * overdue) @ rules.weights
    value: Floats = yearly + rules.evenness * rules.years * crop.min(axis=1)
    return value
