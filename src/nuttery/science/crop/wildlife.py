"""Ripe nuts lost to wildlife and wind: the chance a day, learned from nuts counted twice."""

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import expit, logit, ndtri

from nuttery.reference import value
from nuttery.science.arguments import float_array, int_array, refuse_where, same_length
from nuttery.science.crop.estimate import Estimate, checked_coverage


def learn_loss(
    marked: ArrayLike, left: ArrayLike, days: ArrayLike, *, coverage: float = 0.8
) -> Estimate:
    """Chance a day that a ripe nut still out is lost.

    Parameters
    ----------
    marked : (n,) int, ripe nuts counted at the first look
    left : (n,) int, of these, still there at the second
    days : (n,) float, days between the looks
    coverage : probability that the interval aims at

    Returns
    -------
    Estimate
        Without counts the assumption of the reference room, said in `basis`.

    Raises
    ------
    BadArgumentError
        If lengths differ, a count is negative or grows, or days are not above 0.

    Notes
    -----
    Source: posterior on a grid; each nut outlasts a day with chance 1 − p, so `left` of `marked`
            is binomial with (1 − p)^days. Prior: normal on the logit scale through the assumed
            range read as four of five.
    Valid:  nuts that do not fall together; a cluster taken whole counts for less than it seems.
    Limits: one rate for all shrubs and days.

    Examples
    --------
    >>> e = learn_loss([40, 30], [30, 26], [3.0, 2.0])
    >>> round(e.median, 2), e.n_records, e.basis
    (0.08, 2, 'learned')
    """
    first = int_array("marked", marked, ndim=1, low=0).astype(np.float64)
    second = int_array("left", left, ndim=1, low=0).astype(np.float64)
    time = float_array("days", days, ndim=1)
    n = same_length(marked=first, left=second, days=time)
    refuse_where("left", second, second > first, "no more than were marked")
    refuse_where("days", time, time <= 0, "more than 0 days")
    checked_coverage(coverage)
    row = value("crop.picking.loss_per_day")
    low, high = logit([row.low or row.value, row.high or row.value])
    grid = np.linspace(logit(1e-4), logit(0.95), 4001)
    log_kept = np.log1p(-expit(grid))[:, None] * time
    # log(1 − e^x) for x < 0, without loss of digits near 0
    log_lost = np.log(-np.expm1(log_kept))
    weight = -0.5 * ((grid - logit(row.value)) / ((high - low) / (2 * ndtri(0.9)))) ** 2
    weight = weight + log_kept @ second + log_lost @ (first - second)
    density = np.exp(weight - weight.max())
    cumulative = (np.cumsum(density) - density / 2) / density.sum()
    tails = (0.5, (1 - coverage) / 2, (1 + coverage) / 2)
    median, lower, upper = expit(np.interp(tails, cumulative, grid))
    basis = "learned" if n else row.certainty
    return Estimate(float(median), float(lower), float(upper), n, basis)
