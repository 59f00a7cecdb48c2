"""Heat by the day: degree-days from daily extremes, by the published methods."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nuttery.science.arguments import Floats, float_array, one_of, refuse_where
from nuttery.science.errors import BadArgumentError


def growing_degree_days(
    tmin: ArrayLike,
    tmax: ArrayLike,
    base: float,
    upper: float | None = None,
    method: str = "single_sine",
    *,
    cutoff: str = "horizontal",
) -> Floats:
    """Degree-days above `base` of each day.

    Parameters
    ----------
    tmin, tmax : (..., n_days) °C, consecutive days along the last axis
    base : °C, lower threshold
    upper : °C, upper threshold, or None for none
    method : "average", "clipped_average", "single_triangle", "single_sine", "double_triangle" or
        "double_sine"
    cutoff : what heat above `upper` does: "horizontal" it adds no more than at `upper`;
        "intermediate" it is taken off once again; "vertical" growth stands still while it lasts

    Returns
    -------
    (..., n_days) float, °C d

    Raises
    ------
    BadArgumentError
        On a gap, a minimum above its maximum, `upper` not above `base`, an unknown method or
        cut-off, or a cut-off that the method does not know (the averages: horizontal only).

    Notes
    -----
    Source: "average" and "clipped_average" McMaster & Wilhelm 1997, both readings of the mean
        method (the second lifts and cuts the extremes to the thresholds before they are averaged);
        "single_sine" Baskerville & Emin 1969, Ecology 50:514; "double_…" Allen 1976: half the day
        with its own minimum, half with tomorrow's; cut-offs Zalom et al. 1983. Secondary sources.
    Valid:  daily extremes of one thermometer, °C.
    Limits: the methods differ by days in spring; keep the name beside every sum. The last day has
        no tomorrow, so the double methods use its own minimum twice. "intermediate" never goes
        below zero.

    Examples
    --------
    >>> growing_degree_days([0.0], [10.0], 5.0).round(4)
    array([1.5915])
    >>> growing_degree_days([2.0, 6.0], [16.0, 16.0], 5.0, method="double_sine").round(4)
    array([5.3015, 6.    ])
    """
    low, high = _extremes(tmin, tmax)
    methods = ("average", "clipped_average", *SHAPES)
    one_of("method", method, methods)
    one_of("cutoff", cutoff, ("horizontal", "intermediate", "vertical"))
    if upper is not None and not upper > base:
        raise BadArgumentError(f"upper: found {upper:g}, expected more than base {base:g}")
    if method in SHAPES:
        return _by_shape(low, high, _Thresholds(base, upper, cutoff), method)
    if cutoff != "horizontal":
        raise BadArgumentError(f"cutoff: found {cutoff!r}, expected 'horizontal' with {method}")
    return _by_average(low, high, base, upper, clipped=method == "clipped_average")


def _extremes(tmin: ArrayLike, tmax: ArrayLike) -> tuple[Floats, Floats]:
    low, high = float_array("tmin", tmin), float_array("tmax", tmax)
    if low.shape != high.shape:
        raise BadArgumentError(f"tmax: found shape {high.shape}, expected {low.shape} as of tmin")
    refuse_where("tmin", low, low > high, "at most tmax of the same day")
    return low, high


def _by_average(
    low: Floats, high: Floats, base: float, upper: float | None, *, clipped: bool
) -> Floats:
    top = np.inf if upper is None else upper
    if clipped:
        low, high = np.clip(low, base, top), np.clip(high, base, top)
    return np.clip((low + high) / 2, base, top) - base


@dataclass(frozen=True)
class _Thresholds:
    base: float
    upper: float | None
    cutoff: str


Shape = Callable[[Floats, Floats, float], Floats]


def _by_shape(low: Floats, high: Floats, limits: _Thresholds, method: str) -> Floats:
    if not method.startswith("double"):
        return _cut(low, high, limits, SHAPES[method])
    flat_low, flat_high = np.atleast_1d(low), np.atleast_1d(high)
    tomorrow = np.concatenate([flat_low[..., 1:], flat_low[..., -1:]], axis=-1)
    # A night that stays above today's maximum only swaps the ends of the half wave.
    ends = np.minimum(tomorrow, flat_high), np.maximum(tomorrow, flat_high)
    first = _cut(flat_low, flat_high, limits, SHAPES[method])
    second = _cut(ends[0], ends[1], limits, SHAPES[method])
    return ((first + second) / 2).reshape(low.shape)


def _cut(low: Floats, high: Floats, limits: _Thresholds, shape: tuple[Shape, Shape]) -> Floats:
    above, share_above = shape
    heat = above(low, high, limits.base)
    if limits.upper is None:
        return heat
    excess = above(low, high, limits.upper)
    if limits.cutoff == "horizontal":
        return heat - excess
    if limits.cutoff == "intermediate":
        return np.maximum(heat - 2 * excess, 0.0)
    standing = (limits.upper - limits.base) * share_above(low, high, limits.upper)
    return np.maximum(heat - excess - standing, 0.0)


def _crossing(low: Floats, high: Floats, threshold: float, inside: Floats) -> Floats:
    """Degree-days of a day wholly above or below the threshold, `inside` for one that crosses."""
    whole = (low + high) / 2 - threshold
    return np.where(low >= threshold, whole, np.where(high <= threshold, 0.0, inside))


def _width(low: Floats, high: Floats) -> Floats:
    return np.where(high > low, high - low, 1.0)


def _sine_angle(low: Floats, high: Floats, threshold: float) -> Floats:
    middle, half = (low + high) / 2, _width(low, high) / 2
    return np.arcsin(np.clip((threshold - middle) / half, -1, 1))


def _triangle_above(low: Floats, high: Floats, threshold: float) -> Floats:
    inside = (high - threshold) ** 2 / (2 * _width(low, high))
    return _crossing(low, high, threshold, inside)


def _triangle_share(low: Floats, high: Floats, threshold: float) -> Floats:
    share = np.clip((high - threshold) / _width(low, high), 0.0, 1.0)
    return np.where(low >= threshold, 1.0, share)


def _sine_above(low: Floats, high: Floats, threshold: float) -> Floats:
    angle = _sine_angle(low, high, threshold)
    middle, half = (low + high) / 2, (high - low) / 2
    inside = ((middle - threshold) * (np.pi / 2 - angle) + half * np.cos(angle)) / np.pi
    return _crossing(low, high, threshold, inside)


def _sine_share(low: Floats, high: Floats, threshold: float) -> Floats:
    share = (np.pi / 2 - _sine_angle(low, high, threshold)) / np.pi
    return np.where(low >= threshold, 1.0, share)


SHAPES: dict[str, tuple[Shape, Shape]] = {
    "single_triangle": (_triangle_above, _triangle_share),
    "single_sine": (_sine_above, _sine_share),
    "double_triangle": (_triangle_above, _triangle_share),
    "double_sine": (_sine_above, _sine_share),
}
