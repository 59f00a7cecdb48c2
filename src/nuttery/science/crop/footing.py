"""Pickings put on one footing: mass in shell at one moisture, whatever was weighed.

What was weighed may be in husk, in shell or kernel, fresh or dry. Every step from there has a
doubt of its own; the doubts add up in the interval. Shares start as labelled assumptions and are
learned from the planting's own lots.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import expit, logit, ndtri

from nuttery.reference import Value, value
from nuttery.science.arguments import Floats, float_array, one_of, refuse_where, same_length
from nuttery.science.crop.estimate import Estimate, checked_coverage

STATES = ("in husk", "in shell", "kernel")
CONDITIONS = ("fresh", "dry")
# weight of the prior in the spread between lots, in lots
PRIOR_LOTS = 2.0


@dataclass(frozen=True)
class ShareBelief:
    """A share of mass, normal on the logit scale: `centre ± sd` for the next lot."""

    centre: float
    sd: float
    n_records: int
    basis: str

    @property
    def median(self) -> float:
        """Median of the share."""
        return float(expit(self.centre))

    @property
    def log_sd(self) -> float:
        """Standard deviation of the share's logarithm, to first order."""
        return (1 - self.median) * self.sd


def _logit_spread(row: Value) -> float:
    """Standard deviation on the logit scale, the row's range read as four lots of five."""
    if row.low is None or row.high is None:
        raise KeyError(f"{row.name}: no range in nuttery.reference")
    return float((logit(row.high) - logit(row.low)) / (2 * ndtri(0.9)))


def assumed_share(name: str) -> ShareBelief:
    """Share before any lot of one's own was weighed.

    Parameters
    ----------
    name : a row of the reference room with a range

    Returns
    -------
    ShareBelief, its `basis` the row's certainty

    Notes
    -----
    Source: the row; its range is read as holding four lots of five.
    Valid:  until own lots are weighed.
    Limits: assumed rows are assumptions, and say so.

    Examples
    --------
    >>> b = assumed_share("crop.share.kernel_of_in_shell")
    >>> round(b.median, 2), b.n_records, b.basis
    (0.4, 0, 'assumed')
    """
    row = value(name)
    return ShareBelief(float(logit(row.value)), _logit_spread(row), 0, row.certainty)


def learned_share(name: str, part: ArrayLike, whole: ArrayLike) -> ShareBelief:
    """Share learned from lots of which both the whole and the part were weighed.

    Parameters
    ----------
    name : the row of the reference room from which the belief starts
    part, whole : (n,) float, mass of part and of whole of each lot, one unit

    Returns
    -------
    ShareBelief, for the next lot: doubt about the mean and spread between lots together

    Raises
    ------
    BadArgumentError
        If lengths differ, or a part is not between nothing and its whole.

    Notes
    -----
    Source: normal model with the spread between lots estimated, on the logit scale; the starting
            belief weighs as one lot in the mean and two in the spread. Inferred.
    Valid:  lots of the same planting, moisture alike.
    Limits: shrubs differ; a shrub's own lots are worth more than the planting's.

    Examples
    --------
    >>> b = learned_share("crop.share.kernel_of_in_shell", [0.9, 1.1, 1.0], [2.0, 2.5, 2.2])
    >>> round(b.median, 2), b.n_records, b.basis
    (0.44, 3, 'learned')
    """
    p, w = float_array("part", part, ndim=1), float_array("whole", whole, ndim=1)
    n = same_length(part=p, whole=w)
    refuse_where("part", p, (p <= 0) | (p >= w), "more than 0 and less than its whole")
    start = assumed_share(name)
    if n == 0:
        return start
    seen = logit(p / w)
    squares = PRIOR_LOTS * start.sd**2 + np.sum((seen - seen.mean()) ** 2)
    between = squares / (PRIOR_LOTS + n - 1)
    precision = 1 / start.sd**2 + n / between
    centre = (start.centre / start.sd**2 + seen.sum() / between) / precision
    return ShareBelief(float(centre), float(np.sqrt(1 / precision + between)), n, "learned")


def _moisture(moisture_wb: Floats, default: str) -> tuple[Floats, Floats, bool]:
    """Moisture, standard deviation of the log of dry matter, and whether any was assumed."""
    row = value(default)
    unknown = np.isnan(moisture_wb)
    wet = np.where(unknown, row.value, moisture_wb)
    refuse_where("moisture_wb", wet, (wet < 0) | (wet >= 1), "0 to below 1 (a fraction)")
    spread = ((row.high or row.value) - (row.low or row.value)) / (2 * ndtri(0.9))
    log_sd = np.where(unknown, spread / (1 - row.value), 0.0)
    return wet, log_sd, bool(unknown.any())


def in_shell_mass(
    mass: ArrayLike,
    *,
    state: str,
    condition: str,
    moisture_wb: ArrayLike = np.nan,
    to_wb: float | None = None,
    in_shell_share: ShareBelief | None = None,
    kernel_share: ShareBelief | None = None,
    coverage: float = 0.8,
) -> Estimate:
    """Mass in shell at one moisture that a weighing stands for.

    Parameters
    ----------
    mass : (n,) float, as weighed
    state : "in husk", "in shell" or "kernel"
    condition : "fresh" or "dry", tells the moisture where none was measured
    moisture_wb : float or (n,), measured moisture of nuts in shell (of kernels where kernels were
        weighed), wet-basis fraction; NaN where not measured
    to_wb : moisture of the footing, wet basis; the reference room's 8 % by default
    in_shell_share, kernel_share : beliefs learned from own lots; the assumed ones by default
    coverage : probability that the interval aims at

    Returns
    -------
    Estimate, unit of `mass`; `n_records` the lots from which the shares were learned, `basis` what
        the conversion rests on

    Raises
    ------
    BadArgumentError
        If a mass is negative, a moisture is no wet-basis fraction, or a word is unknown.

    Notes
    -----
    Source: dry matter is kept; shares and moistures of the reference room or learned. The doubts
            are added as variances of logarithms.
    Valid:  lots whose state and condition are as told.
    Limits: the kernel share is taken at storage moisture, kernels at 6 %, nuts in shell at 8 %.

    Examples
    --------
    >>> e = in_shell_mass([100.0], state="in shell", condition="fresh", moisture_wb=0.25)
    >>> e.median.round(4).tolist(), (e.high - e.low).tolist(), e.basis
    ([81.5217], [0.0], 'measured moisture')
    """
    one_of("state", state, STATES)
    one_of("condition", condition, CONDITIONS)
    weighed = float_array("mass", mass, low=0)
    measured = np.broadcast_to(
        float_array("moisture_wb", moisture_wb, nan=True), weighed.shape
    ).astype(np.float64)
    footing = value("crop.moisture.footing").value if to_wb is None else to_wb
    kernels = state == "kernel"
    default = (
        f"crop.moisture.{condition}"
        if not kernels or condition == "fresh"
        else ("crop.moisture.kernel")
    )
    wet, log_sd, guessed = _moisture(measured, default)
    variance, share, belief = log_sd**2, 1.0, None
    if state == "in husk":
        belief = in_shell_share or assumed_share("crop.share.in_shell_of_in_husk")
        share = belief.median
    if kernels:
        belief = kernel_share or assumed_share("crop.share.kernel_of_in_shell")
        dry_kernel = 1 - value("crop.moisture.kernel").value
        share = (1 - value("crop.moisture.footing").value) / dry_kernel / belief.median
    if belief is not None:
        variance = variance + belief.log_sd**2
    median = weighed * share * (1 - wet) / (1 - footing)
    spread = np.exp(ndtri(0.5 + checked_coverage(coverage) / 2) * np.sqrt(variance))
    rests = [f"{state} share {belief.basis}"] if belief is not None else []
    rests.append("moisture assumed" if guessed else "measured moisture")
    n_records = belief.n_records if belief is not None else 0
    return Estimate(median, median / spread, median * spread, n_records, ", ".join(rests))
