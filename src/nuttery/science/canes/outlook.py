"""What the planting will bear over the years under a policy, with canes, years and luck drawn.

Each draw has one bearing curve and cost of crowding, one factor a year and deaths of single canes.
The same random numbers serve every policy (they hang on draw, stool, winter and age), so two
policies differ by what they do and not by luck.
"""

from dataclasses import dataclass

import numba as nb
import numpy as np
from numpy.typing import ArrayLike

from nuttery.reference import value
from nuttery.science.arguments import Floats, Ints, float_array, int_array
from nuttery.science.canes.bearing import Bearing, known_bearing
from nuttery.science.canes.crowding import CropOfStool, known_crowding
from nuttery.science.canes.renewal import RenewalPlan
from nuttery.science.canes.rules import SHARE_TOLERANCE, checked_counts
from nuttery.science.errors import BadArgumentError

COVERAGE = 0.8
NO_PLAN = np.zeros((0, 0, 0), dtype=np.int64)


@dataclass(frozen=True)
class Policy:
    """What is done to a stool each winter.

    Attributes
    ----------
    name : str, as it is shown
    cut_age : int, every cane this old or older goes, as far as the share allows
    rates : (A,) float, share of the canes of each age that is cut; of age 1 where `fills` is false
    cut, kept : (n, years, A) int, a plan followed as far as the canes live; empty if none
    fills : bool, whether suckers fill the empty places of a stool, up to the canes wanted
    """

    name: str
    cut_age: int
    rates: Floats
    cut: Ints
    kept: Ints
    fills: bool = True


def this_plan(cut: Ints, kept: Ints) -> Policy:
    """The policy of following a renewal plan, as far as the canes live.

    Parameters
    ----------
    cut, kept : (n, years, A) int, as in a RenewalPlan

    Notes
    -----
    Source: the plan.
    Valid:  the stools and winters of the plan.

    Examples
    --------
    >>> this_plan(np.zeros((1, 2, 4), int), np.zeros((1, 2, 4), int)).name
    'this plan'
    """
    return Policy("this plan", cut.shape[2] + 1, np.zeros(cut.shape[2]), cut, kept)


def cut_nothing(ages: int) -> Policy:
    """The policy of cutting no cane of age 2 or older; suckers fill empty places.

    Parameters
    ----------
    ages : int, number of ages, A

    Notes
    -----
    Source: neglect, as a baseline.
    Valid:  any planting.

    Examples
    --------
    >>> cut_nothing(12).name
    'cut nothing'
    """
    return Policy("cut nothing", ages + 1, np.zeros(ages), NO_PLAN, NO_PLAN)


def cut_at(age: int, ages: int) -> Policy:
    """The policy of cutting every cane once it is so old; suckers fill empty places.

    Parameters
    ----------
    age : int, age from which a cane goes, as far as the share allows
    ages : int, number of ages, A

    Notes
    -----
    Source: a fixed rotation, common practice.
    Valid:  any planting.

    Examples
    --------
    >>> cut_at(10, 12).name
    'cut every cane at 10'
    """
    return Policy(f"cut every cane at {age}", age, np.zeros(ages), NO_PLAN, NO_PLAN)


def as_done(counts: ArrayLike, cut: ArrayLike) -> Policy:
    """The policy of going on as before: the share of each age that was cut in past winters.

    Parameters
    ----------
    counts : (m, A) int, canes of each age before pruning, one row a shrub and winter
    cut : (m, A) int, of them cut

    Returns
    -------
    Policy; an age never seen is cut at the rate of the oldest age seen below it. Suckers are kept
    at their rate too, or fill empty places where none was ever seen

    Raises
    ------
    BadArgumentError
        If shapes differ or more was cut than stood there.

    Notes
    -----
    Source: the grower's own notes.
    Valid:  winters in which both what stood and what was cut were written down.

    Examples
    --------
    >>> as_done([[0, 2, 4, 4]], [[0, 0, 1, 2]]).rates
    array([0.  , 0.  , 0.25, 0.5 ])
    """
    stood = int_array("counts", counts, ndim=2, low=0)
    gone = int_array("cut", cut, ndim=2, low=0)
    if gone.shape != stood.shape or (gone > stood).any():
        raise BadArgumentError(
            f"cut: found shape {gone.shape} and {gone.sum()} cuts, expected no more than the "
            f"{stood.sum()} canes of shape {stood.shape}"
        )
    rates = np.zeros(stood.shape[1])
    young = int(stood[:, 1].sum())
    for a in range(2, len(rates)):
        seen = int(stood[:, a].sum())
        rates[a] = gone[:, a].sum() / seen if seen else rates[a - 1]
    if young:
        rates[1] = gone[:, 1].sum() / young
    return Policy("as done so far", len(rates) + 1, rates, NO_PLAN, NO_PLAN, fills=not young)


@dataclass(frozen=True)
class Outlook:
    """Crop of the whole planting by year under a policy.

    Attributes
    ----------
    median, low, high : (years,) float, kg; low and high bound the middle 80 % of the draws
    policy : str
    draws : int
    by_draw : (draws, years) float, kg, to compare policies draw by draw
    """

    median: Floats
    low: Floats
    high: Floats
    policy: str
    draws: int
    by_draw: Floats


def project(  # noqa: PLR0917 - the agreed interface
    counts: ArrayLike,
    policy: Policy | RenewalPlan,
    bearing: CropOfStool | Bearing | ArrayLike,
    years: int,
    rng: np.random.Generator,
    draws: int = 200,
    *,
    target: float | None = None,
    suckers: int = 8,
    max_share: float = 1 / 3,
    crowding: float = 0.0,
    death: float | None = None,
    year_spread: float | None = None,
) -> Outlook:
    """Crop of the planting over the coming years under a policy, with its interval.

    Parameters
    ----------
    counts : (n, A) int, canes of each age in the first winter
    policy : Policy, or a RenewalPlan to be followed
    bearing : bearing and crowding as learned together; or Bearing, learned or assumed, or a curve
        (A,) to be taken as it is, with `crowding` above the target
    years : int
    rng : numpy Generator; a generator in the same state gives each policy the same luck
    draws : int
    target, suckers, max_share, crowding : as in `plan_renewal`; target None for common practice
    death : share of canes that die in a year; None for the assumed one
    year_spread : sd of the log of a year's factor; None for the assumed one

    Returns
    -------
    Outlook

    Raises
    ------
    BadArgumentError
        With the argument, the index, the value found and what was expected.

    Notes
    -----
    Source: the renewal model of this project, simulated.
    Valid:  years independent of each other; canes die after they have borne.
    Limits: no biennial habit; deaths do not depend on age.

    Examples
    --------
    >>> from nuttery.science.canes.bearing import assumed_bearing
    >>> counts = [[0, 2, 2, 2, 2, 0, 0, 0, 0, 0, 0, 0]]
    >>> rng = np.random.default_rng(1)
    >>> seen = project(counts, cut_at(10, 12), assumed_bearing(12), 3, rng, 100, target=8)
    >>> seen.median.shape, bool((seen.low <= seen.high).all())
    ((3,), True)
    """
    habit = this_plan(policy.cut, policy.kept) if isinstance(policy, RenewalPlan) else policy
    places = float(float_array("target", _or("canes.target", target), ndim=0, low=0.0))
    known = _crop_of(bearing, places, crowding)
    canes = checked_counts(counts, len(known.bearing.mean))
    dies = float_array("death", _or("canes.death", death), ndim=0, low=0, high=1)
    many = int(int_array("draws", draws, ndim=0, low=1))
    winters = int(int_array("years", years, ndim=0, low=1))
    _check_plan_fits(habit, canes, winters)
    curves, starts, costs = known.draw(rng, many)
    spread = _or("canes.year.spread", year_spread)
    sd = float(float_array("year_spread", spread, ndim=0, low=0.0))
    factors = np.exp(sd * rng.standard_normal((many, winters)) - sd**2 / 2)
    seeds = rng.integers(0, 2**63, many, dtype=np.uint64)
    raw = _simulated(
        canes,
        habit.cut,
        habit.kept,
        np.array([habit.cut_age, suckers, places, habit.fills], dtype=np.float64),
        habit.rates,
        curves,
        np.column_stack([starts, costs]),
        np.array([max_share, float(dies)]),
        winters,
        seeds,
    )
    crops: Floats = raw * factors
    low, median, high = np.quantile(crops, [0.5 - COVERAGE / 2, 0.5, 0.5 + COVERAGE / 2], axis=0)
    return Outlook(median, low, high, habit.name, many, crops)


def _or(name: str, given: float | None) -> float:
    return value(name).value if given is None else given


def _crop_of(
    bearing: CropOfStool | Bearing | ArrayLike, target: float, crowding: float
) -> CropOfStool:
    if isinstance(bearing, CropOfStool):
        return bearing
    known = bearing if isinstance(bearing, Bearing) else known_bearing(bearing)
    return known_crowding(known, target, crowding)


def _check_plan_fits(policy: Policy, canes: Ints, years: int) -> None:
    if policy.cut.size and (len(policy.cut) != len(canes) or policy.cut.shape[1] < years):
        raise BadArgumentError(
            f"policy: found a plan of {policy.cut.shape[:2]} stools and winters, expected "
            f"({len(canes)}, {years} or more)"
        )


@nb.njit(cache=True)
def _luck(seed: int, stool: int, winter: int, age: int, cane: int) -> float:
    """A number between 0 and 1 that hangs on nothing but its place (splitmix64's finish)."""
    x = np.uint64(seed) + np.uint64(0x9E3779B97F4A7C15) * np.uint64(
        ((stool * 64 + winter) * 64 + age) * 256 + cane + 1
    )
    x = (x ^ (x >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    x = (x ^ (x >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    x = x ^ (x >> np.uint64(31))
    return float(x >> np.uint64(11)) / 9007199254740992.0


@nb.njit(cache=True)
def _count_lucky(  # noqa: PLR0917 - jitted code has no keyword arguments
    canes: int, share: float, seed: int, stool: int, winter: int, age: int, first: int
) -> int:
    """How many of some canes a chance befalls."""
    lucky = 0
    if share > 0:
        for cane in range(canes):
            lucky += _luck(seed, stool, winter, age, first + cane) < share
    return lucky


@nb.njit(cache=True)
def _prune(  # noqa: PLR0917 - jitted code has no keyword arguments
    stand: Ints,
    t: int,
    stool: int,
    seed: int,
    cut: Ints,
    kept: Ints,
    cut_age: int,
    rates: Floats,
    target: float,
    fills: bool,
    max_share: float,
) -> None:
    """Take out of `stand` what the policy cuts this winter, the oldest first, then the suckers."""
    grown = 0
    for a in range(2, len(stand)):
        grown += stand[a]
    limit = max(1, int(np.floor(max_share * grown + SHARE_TOLERANCE)))
    planned = len(cut) > 0
    left = 0
    for a in range(len(stand) - 1, 1, -1):
        if planned:
            gone = min(cut[stool, t, a], stand[a])
        elif a >= cut_age:
            gone = stand[a]
        else:
            gone = _count_lucky(stand[a], rates[a], seed, stool, t, a, 0)
        gone = min(gone, limit)
        limit -= gone
        stand[a] -= gone
        left += stand[a]
    places = max(0, int(target) - left)
    if not fills:
        places = stand[1] - _count_lucky(stand[1], rates[1], seed, stool, t, 1, 0)
    if planned:
        # A cane that died before its time leaves its place to a sucker, as in the next year's plan.
        places = max(0, int(np.sum(kept[stool, t, 1:])) - left)
    stand[1] = min(stand[1], places)


@nb.njit(cache=True)
def _bear(stand: Ints, curve: Floats, crowded_from: float, crowding: float) -> float:
    crop = 0.0
    total = 0.0
    for a in range(1, len(stand)):
        crop += curve[a] * stand[a]
        total += stand[a]
    return max(0.0, crop - crowding * max(0.0, total - crowded_from))


@nb.njit(cache=True)
def _grow(  # noqa: PLR0917 - jitted code has no keyword arguments
    stand: Ints, suckers: int, death: float, seed: int, stool: int, t: int
) -> None:
    """A year on: some canes die, all others are a year older, suckers come up."""
    last = len(stand) - 1
    for a in range(1, last + 1):
        stand[a] -= _count_lucky(stand[a], death, seed, stool, t, a, 128)
    stand[last] += stand[last - 1]
    for a in range(last - 1, 1, -1):
        stand[a] = stand[a - 1]
    stand[1] = suckers


@nb.njit(cache=True, parallel=True)
def _simulated(  # noqa: PLR0917 - jitted code has no keyword arguments
    counts: Ints,
    cut: Ints,
    kept: Ints,
    ways: Floats,
    rates: Floats,
    curves: Floats,
    crowding: Floats,
    chances: Floats,
    years: int,
    seeds: Floats,
) -> Floats:
    """Crop of all stools together by draw and year, before the years' factors."""
    crops = np.zeros((len(seeds), years))
    for d in nb.prange(len(seeds)):
        stand = np.zeros(counts.shape[1], np.int64)
        for stool in range(len(counts)):
            for a in range(len(stand)):
                stand[a] = counts[stool, a]
            for t in range(years):
                _prune(
                    stand,
                    t,
                    stool,
                    seeds[d],
                    cut,
                    kept,
                    int(ways[0]),
                    rates,
                    ways[2],
                    ways[3] > 0,
                    chances[0],
                )
                crops[d, t] += _bear(stand, curves[d], crowding[d, 0], crowding[d, 1])
                _grow(stand, int(ways[1]), chances[1], seeds[d], stool, t)
    return crops
