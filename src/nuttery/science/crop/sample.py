"""A sample of nuts, cracked and measured one by one."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import expit, logit, stdtrit

from nuttery.science.arguments import Floats, float_array, int_array, refuse_where, same_length
from nuttery.science.crop.estimate import Estimate, checked_coverage, mean_interval, wilson
from nuttery.science.crop.moisture import wet_basis_array
from nuttery.science.crop.size import size_class, size_names
from nuttery.science.errors import BadArgumentError


@dataclass(frozen=True)
class SampleSummary:
    """What a sample tells of its shrub, every figure with its interval and its number of nuts.

    `kernel_share` is of masses as weighed; `kernel_share_dry` of dry matter, only where the
    moisture of kernels and of whole nuts is known. `fill` counts nuts in the four bins of
    `FILL_BINS`; `faults` has the share of each fault, blanks and underfilled nuts among them.
    """

    n_nuts: int
    nut_mass: Estimate
    kernel_mass: Estimate
    kernel_share: Estimate
    kernel_share_dry: Estimate | None
    fill: tuple[int, int, int, int] | None
    faults: Mapping[str, Estimate]


def share_of_nuts(hits: int, examined: int, *, coverage: float = 0.8) -> Estimate:
    """Share of nuts that show something, with an interval fit for small counts.

    Parameters
    ----------
    hits : int, nuts that show it
    examined : int, nuts looked at
    coverage : probability that the interval aims at

    Returns
    -------
    Estimate, 0 to 1

    Raises
    ------
    BadArgumentError
        If a count is not whole, negative, or exceeds the nuts examined.

    Notes
    -----
    Source: Wilson 1927, as in `wilson`.
    Valid:  nuts drawn at random.
    Limits: none.

    Examples
    --------
    >>> e = share_of_nuts(0, 20)
    >>> e.median, e.low, round(e.high, 3)
    (0.0, 0.0, 0.076)
    """
    share, low, high = (float(x) for x in wilson(hits, examined, coverage=coverage))
    return Estimate(share, low, high, int(examined))


def ratio_of_sums(part: ArrayLike, whole: ArrayLike, *, coverage: float = 0.8) -> Estimate:
    """Share of a part in the whole over all nuts together.

    Parameters
    ----------
    part, whole : (n,) float, one unit, of the same nuts
    coverage : probability that the interval aims at

    Returns
    -------
    Estimate
        Σ part / Σ whole; `low` and `high` NaN for a single nut, and where the part is nothing or
        all in every nut.

    Raises
    ------
    BadArgumentError
        If lengths differ, a value is missing, the whole is nothing, or the part exceeds it.

    Notes
    -----
    Source: ratio estimator with its linearised variance, Cochran 1977, Sampling Techniques,
            3rd ed., chapter 6; Student's t with n − 1 degrees, on the log odds, so that no end
            leaves 0 to 1.
    Valid:  nuts drawn at random; some ten and more.
    Limits: not the mean of the nuts' own shares, in which a small nut counts as much as a big one.

    Examples
    --------
    >>> e = ratio_of_sums([0.9, 1.1, 1.0], [2.0, 2.5, 2.5])
    >>> round(e.median, 4), round(e.low, 3), round(e.high, 3)
    (0.4286, 0.4, 0.458)
    >>> e = ratio_of_sums([0.95, 0.0], [2.1, 1.9])
    >>> round(e.median, 4), round(e.low, 3), round(e.high, 3)
    (0.2375, 0.007, 0.935)
    """
    p, w = float_array("part", part, ndim=1), float_array("whole", whole, ndim=1)
    n = same_length(part=p, whole=w)
    if n == 0 or w.sum() <= 0:
        raise BadArgumentError(f"whole: found {w.sum():g} in {n} nuts, expected more than nothing")
    refuse_where("part", p, p > w, "no more than its whole")
    ratio = float(p.sum() / w.sum())
    if n == 1 or ratio in {0.0, 1.0}:
        return Estimate(ratio, float("nan"), float("nan"), n)
    variance = np.sum((p - ratio * w) ** 2) / (n - 1) / n / w.mean() ** 2
    half = stdtrit(n - 1, 0.5 + checked_coverage(coverage) / 2) * np.sqrt(variance)
    low, high = expit(logit(ratio) + half / (ratio * (1 - ratio)) * np.array([-1.0, 1.0]))
    return Estimate(ratio, float(low), float(high), n)


def _dry_share(
    kernel: Floats, nut: Floats, kernel_wb: float | None, nut_wb: float | None, coverage: float
) -> Estimate | None:
    if kernel_wb is None or nut_wb is None:
        return None
    dry_kernel = kernel * (1 - float(wet_basis_array("kernel_wb", kernel_wb)))
    dry_nut = nut * (1 - float(wet_basis_array("nut_wb", nut_wb)))
    return _kernel_share(dry_kernel, dry_nut, coverage)


def _kernel_share(kernel: Floats, nut: Floats, coverage: float) -> Estimate:
    """Kernel in all nuts: the share of nuts that hold one, times the share of kernel in those."""
    there = kernel > 0
    n, holding = len(kernel), int(there.sum())
    filled, fewest, most = (float(x) for x in wilson(holding, n, coverage=coverage))
    if not holding:
        return Estimate(0.0, 0.0, most, n)
    share = ratio_of_sums(kernel, nut, coverage=coverage)
    within = ratio_of_sums(kernel[there], nut[there], coverage=coverage)
    if np.isnan(within.low):
        return share
    down = np.hypot(np.log(filled / fewest), np.log(within.median / within.low))
    up = np.hypot(np.log(most / filled), np.log(within.high / within.median))
    low, high = share.median * np.exp([-down, up])
    return Estimate(share.median, float(low), float(min(high, 1.0)), n)


def describe_sample(
    nut_mass: ArrayLike,
    kernel_mass: ArrayLike,
    *,
    fill: ArrayLike | None = None,
    defects: Mapping[str, ArrayLike] | None = None,
    nut_wb: float | None = None,
    kernel_wb: float | None = None,
    coverage: float = 0.8,
) -> SampleSummary:
    """Size, kernel and faults of a sample, nut by nut.

    Parameters
    ----------
    nut_mass : (n,) float, g in shell
    kernel_mass : (n,) float, g, 0 for an empty nut, NaN for one whose kernel was not weighed
    fill : (n,) int, bins of `fill_bin`, if fill was judged
    defects : name → (n,) bool, what else was looked for
    nut_wb, kernel_wb : moisture of whole nuts and of kernels, wet-basis fractions, if measured
    coverage : probability that the intervals aim at

    Returns
    -------
    SampleSummary

    Raises
    ------
    BadArgumentError
        If lengths differ, there is no nut, a mass is not above 0 (nut) or negative (kernel), or a
        kernel is heavier than its nut.

    Notes
    -----
    Source: means by Student 1908, shares by Wilson 1927; kernel share by the ratio estimator, its
            interval of Wilson's for the nuts that hold a kernel and the ratio's of those nuts,
            put together on the logarithm as in Zou & Donner 2008, Statistics in Medicine 27
            (recovery of variances; from memory).
    Valid:  nuts drawn at random from one shrub's picking.
    Limits: `kernel_mass` is the mean of kernels that are there; empty nuts count in the share.

    Examples
    --------
    >>> s = describe_sample([2.0, 2.2, 1.8], [0.9, 0.0, 0.8], fill=[3, 0, 3])
    >>> s.fill, round(s.kernel_mass.median, 2), round(s.faults["blank"].median, 3)
    ((1, 0, 0, 2), 0.85, 0.333)
    """
    nut = float_array("nut_mass", nut_mass, ndim=1)
    kernel = float_array("kernel_mass", kernel_mass, ndim=1, low=0, nan=True)
    bins = None if fill is None else int_array("fill", fill, ndim=1, low=0, high=3)
    marks = {name: np.asarray(seen, dtype=np.bool_) for name, seen in (defects or {}).items()}
    columns = {"nut_mass": nut, "kernel_mass": kernel, **marks}
    n = same_length(**columns, **({} if bins is None else {"fill": bins}))
    refuse_where("nut_mass", nut, nut <= 0, "more than 0 g")
    refuse_where("kernel_mass", kernel, kernel > nut, "no more than its nut")
    weighed = ~np.isnan(kernel)
    there = weighed & (kernel > 0)
    counts = {name: int(seen.sum()) for name, seen in marks.items()}
    if bins is not None:
        counts |= {"blank": int((bins < 2).sum()), "underfilled": int((bins < 3).sum())}
    nothing = Estimate(float("nan"), float("nan"), float("nan"), 0)
    some = bool(weighed.any())
    return SampleSummary(
        n_nuts=n,
        nut_mass=mean_interval(nut, coverage=coverage),
        kernel_mass=mean_interval(kernel[there], coverage=coverage) if there.any() else nothing,
        kernel_share=_kernel_share(kernel[weighed], nut[weighed], coverage) if some else nothing,
        kernel_share_dry=_dry_share(kernel[weighed], nut[weighed], kernel_wb, nut_wb, coverage)
        if some
        else None,
        fill=None if bins is None else tuple(np.bincount(bins, minlength=4).tolist()),
        faults={k: share_of_nuts(hits, n, coverage=coverage) for k, hits in counts.items()},
    )


def size_shares(
    diameter_mm: ArrayLike, shape: str, rules: str = "US in shell", *, coverage: float = 0.8
) -> dict[str, Estimate]:
    """Share of a sample's nuts that each size class takes.

    Parameters
    ----------
    diameter_mm : (n,) float, mm
    shape : "round" or "long"
    rules : name of a rule set
    coverage : probability that the intervals aim at

    Returns
    -------
    dict of class → Estimate; the shares add up to more than 1 where classes overlap

    Raises
    ------
    BadArgumentError
        If there is no nut, a diameter is not above 0, or the shape or the rule set is unknown.

    Notes
    -----
    Source: the rule set's sizes by `size_class`; interval by Wilson 1927.
    Valid:  nuts drawn at random.
    Limits: none.

    Examples
    --------
    >>> {k: e.median for k, e in size_shares([23.0, 20.0, 20.5, 16.0], "round").items()}
    {'Jumbo': 0.25, 'Large': 0.5, 'Medium': 0.0, 'Small': 0.25}
    """
    classes = size_class(float_array("diameter_mm", diameter_mm, ndim=1), shape, rules)
    if not classes:
        raise BadArgumentError("diameter_mm: found no nut, expected at least one")
    return {
        name: share_of_nuts(sum(name in c for c in classes), len(classes), coverage=coverage)
        for name in size_names(shape, rules)
    }
