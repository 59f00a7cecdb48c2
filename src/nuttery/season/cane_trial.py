"""A stool's cuts put to the test: do the same canes go if their ages are a little different."""

from dataclasses import dataclass

import numpy as np

from nuttery.science.arguments import Bools, Floats, Ints
from nuttery.science.canes import Effort
from nuttery.season.errors import WrongQuestion
from nuttery.season.planting import Planting
from nuttery.season.renewal import planned, renewal_rules, winters_planned
from nuttery.season.stools import AGES, stools

DRAWS = 20
SEED = 20
GAP = 0.01
"""Distance to the best plan that is near enough for a trial."""


@dataclass(frozen=True)
class Trial:
    """What became of a stool's cuts over draws of the true ages of its canes.

    Attributes
    ----------
    tag : which stool
    draws : how many were planned anew
    ages : (c,) ages as planned of the canes named to go, the oldest first
    low, high : (c,) ages between which each of them lies four times in five
    goes : (c,) share of the draws in which each of them goes
    same : share of the draws in which exactly these canes go
    """

    tag: str
    draws: int
    ages: Ints
    low: Ints
    high: Ints
    goes: Floats
    same: float


def drawn_ages(expected: Floats, rng: np.random.Generator, draws: int) -> Ints:
    """Ages of a stool's canes as they may truly be, each cane drawn on its own.

    Parameters
    ----------
    expected : (AGES,) canes of each age as a distribution; their sum is a whole number
    rng : generator
    draws : how many stools

    Returns
    -------
    (draws, canes) ages; cane i is the i-th youngest

    Examples
    --------
    >>> stool = np.zeros(AGES); stool[[1, 8]] = 2, 1
    >>> drawn_ages(stool, np.random.default_rng(1), 2)
    array([[1, 1, 8],
           [1, 1, 8]])
    """
    reach = np.cumsum(expected)
    canes = round(float(reach[-1]))
    at = np.arange(canes) + rng.random((draws, canes))
    ages: Ints = np.searchsorted(reach, at * (reach[-1] / max(canes, 1)), side="right")
    return np.minimum(ages, AGES - 1)


def trial(planting: Planting, tag: str) -> Trial:
    """Plan a stool anew for draws of its ages and tell how often the named canes go.

    Parameters
    ----------
    planting : the planting as of a day
    tag : a counted stool

    Raises
    ------
    WrongQuestion
        If the stool was never counted.
    """
    return planting.remembered("cane trial", lambda: _trial(planting, tag), tag=tag)


def _trial(planting: Planting, tag: str) -> Trial:
    known, plan = stools(planting), planned(planting).plan
    if tag not in known.tags:
        raise WrongQuestion(f"shrub: found {tag!r}, expected a stool whose canes were counted")
    k = known.tags.index(tag)
    ages = drawn_ages(known.expected[k], np.random.default_rng(SEED), DRAWS)
    stays = _without(plan.counts[k], plan.must[k])
    ages = ages[:, stays]
    planned_ages = np.repeat(np.arange(AGES), plan.counts[k])[stays]
    named = _places(planned_ages, plan.cut[k] - plan.must[k])
    if not len(named):
        return Trial(tag, DRAWS, *(np.zeros(0, dtype=np.int64),) * 3, np.zeros(0), np.nan)
    counts = np.array([np.bincount(row, minlength=AGES) for row in ages])
    rules = renewal_rules(planting, plan.target, plan.max_age)
    years = winters_planned(plan.max_age)
    found = rules.plan(counts, years, effort=Effort(gap=GAP))
    went = np.array([_went(row, gone[0], named) for row, gone in zip(ages, found.cut, strict=True)])
    low, high = np.quantile(ages[:, named], [0.1, 0.9], axis=0, method="nearest")
    return Trial(
        tag=tag,
        draws=DRAWS,
        ages=planned_ages[named],
        low=low.astype(np.int64),
        high=high.astype(np.int64),
        goes=went[:, named].mean(axis=0),
        same=float((went[:, named].all(axis=1) & (went.sum(axis=1) == len(named))).mean()),
    )


def _without(counts: Ints, must: Ints) -> Bools:
    """Canes, from young to old, that are left once those that must go at once are out."""
    ages = np.repeat(np.arange(AGES), counts)
    stays = np.ones(len(ages), dtype=np.bool_)
    stays[_places(ages, must)] = False
    return stays


def _places(ages: Ints, cut: Ints) -> Ints:
    """Places, among canes of these ages, of so many of two years and older, the oldest first."""
    found = [np.flatnonzero(ages == age)[: int(cut[age])] for age in range(AGES - 1, 1, -1)]
    return np.concatenate(found).astype(np.int64)


def _went(ages: Ints, cut: Ints, named: Ints) -> Ints:
    """Which canes go in a draw: of those of one age the named ones first, (canes,) 0 or 1."""
    went = np.zeros(len(ages), dtype=np.int64)
    order = np.argsort(~np.isin(np.arange(len(ages)), named), kind="stable")
    for age in range(2, AGES):
        went[order[ages[order] == age][: int(cut[age])]] = 1
    return went
