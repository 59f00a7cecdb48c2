"""The heat sum of a season, the day it reaches a requirement, and how well notes fit that day.

Days are counted so that day of year 103 is centred on 103.0 and lasts from 102.5 to 103.5; its heat
comes evenly over that time. A stage first true on day 103 is therefore 103 ± ½, and one that was
"not yet" on the 6th and true on the 13th came between 6.5 and 13.5.

The compiled functions stand together in this file: the compiler does not notice when a function
that they call changes in another one.
"""

import math

import numpy as np
from numba import njit

from nuttery.science.arguments import Floats, Ints

GAUSS = 0  # tail weight that stands for a normal error
_SLOPE_FLOOR = 0.05  # degree-days a day below which a season counts as standing still


@njit(cache=True)
def heat_sums(temps: Floats, first_doy: int, base: float, softness: float, start: float) -> Floats:
    """Running heat sum of each season from the start day on.

    Parameters
    ----------
    temps : (n, n_days) float, daily mean °C
    first_doy : day of year of column 0
    base : °C
    softness : °C, 0 for the plain sum of max(0, temperature − base)
    start : day of year from whose midnight heat counts, fractions allowed

    Returns
    -------
    (n, n_days) float, degree-days to the end of each day

    Notes
    -----
    Source: softness · ln(1 + exp((temperature − base)/softness)), a smooth form of the plain
            degree-day: a day whose mean is just below the base has a warm afternoon.
    Valid:  any temperature.

    Examples
    --------
    >>> heat_sums(np.array([[2.0, 5.0, 9.0]]), 1, 4.0, 0.0, 1.0)
    array([[0., 1., 6.]])
    """
    n, n_days = temps.shape
    sums = np.zeros((n, n_days))
    first = max(0, math.floor(start) - first_doy)
    part = min(1.0, max(0.0, 1.0 - (start - math.floor(start)))) if start > first_doy else 1.0
    for i in range(n):
        total = 0.0
        share = part
        for k in range(first, n_days):
            above = temps[i, k] - base
            if softness > 0.0 and abs(above) < 20.0 * softness:
                total += share * softness * math.log1p(math.exp(above / softness))
            elif above > 0.0:
                total += share * above
            sums[i, k] = total
            share = 1.0
    return sums


@njit(cache=True)
def reached(
    sums: Floats, season: Ints, first_doy: int, log_heat: Floats, onward: bool = False
) -> tuple[Floats, Floats, Floats]:
    """Day on which a season's heat sum reaches a requirement.

    Parameters
    ----------
    sums : (n_seasons, n_days) float, degree-days, as made by `heat_sums`
    season : (n,) int, row of `sums` for each requirement
    first_doy : day of year of column 0
    log_heat : (n,) float, natural logarithm of the degree-days required
    onward : whether to go on at the last days' pace past the days given (else NaN)

    Returns
    -------
    three arrays (n,): day of year; days later per unit of the logarithm of the requirement, at the
    pace of five days and at that of the day itself

    Notes
    -----
    Source: definition.
    Valid:  sums that do not fall.

    Examples
    --------
    >>> sums = np.array([[0.0, 1.0, 6.0]])
    >>> reached(sums, np.array([0]), 1, np.log(np.array([3.5])))[0]
    array([3.])
    """
    n, n_days = len(season), sums.shape[1]
    day = np.empty(n)
    stretch = np.empty(n)
    at_day = np.empty(n)
    for i in range(n):
        total = sums[season[i]]
        heat = math.exp(min(log_heat[i], 50.0))
        k = int(np.searchsorted(total, heat))
        low, high = max(0, k - 3), min(n_days - 1, k + 2)
        pace = max((total[high] - total[low]) / max(1, high - low), _SLOPE_FLOOR)
        stretch[i] = min(heat / pace, 400.0)
        at_day[i] = stretch[i]
        if k < n_days:
            before = total[k - 1] if k > 0 else 0.0
            at_day[i] = min(heat / max(total[k] - before, _SLOPE_FLOOR), 400.0)
            day[i] = first_doy + k - 0.5 + (heat - before) / max(total[k] - before, 1e-9)
        elif onward:
            day[i] = first_doy + n_days - 0.5 + min((heat - total[-1]) / pace, 400.0)
        else:
            day[i] = np.nan
    return day, stretch, at_day


@njit(cache=True)
def share_below(z: float, tail: int) -> float:
    """Distribution function of the error in units of its scale: normal, or Student's t.

    Notes
    -----
    Source: Abramowitz & Stegun 1964, 26.7.4: for even degrees of freedom Student's t is a finite
            sum. Published.
    Valid:  `tail` 0 (normal) or even degrees of freedom.

    Examples
    --------
    >>> round(share_below(2.131847, 4), 4), round(share_below(1.959964, 0), 4)
    (0.95, 0.975)
    """
    if tail == 0:
        return 0.5 * math.erfc(-z / math.sqrt(2.0))
    if abs(z) > 1e9:
        return 1.0 if z > 0.0 else 0.0
    sine = z / math.sqrt(tail + z * z)
    cosine2 = tail / (tail + z * z)
    term, total = 1.0, 1.0
    for j in range(1, tail // 2):
        term *= cosine2 * (2 * j - 1) / (2 * j)
        total += term
    return 0.5 + 0.5 * sine * total


@njit(cache=True)
def mixed_quantile(
    days: Floats, scales: Floats, weights: Floats, tail: int, share: float
) -> Floats:
    """Day by which a share of the probability has come, over several expected days with error.

    Parameters
    ----------
    days : (n, n_points) float, expected day of year
    scales : (n_points,) float, days
    weights : (n_points,) float, sum 1
    tail : 0 for a normal error, else even degrees of freedom
    share : 0 to 1

    Returns
    -------
    (n,) float, day of year

    Notes
    -----
    Source: bisection to 0.001 day of the mixture's distribution function.
    Valid:  any days.

    Examples
    --------
    >>> one = np.ones(1)
    >>> mixed_quantile(np.array([[100.0]]), 2 * one, one, 0, 0.9).round(2)
    array([102.56])
    """
    n, n_points = days.shape
    day = np.empty(n)
    for i in range(n):
        low = (days[i] - 12 * scales).min()
        high = (days[i] + 12 * scales).max()
        while high - low > 1e-3:
            middle = (low + high) / 2
            below = 0.0
            for j in range(n_points):
                below += weights[j] * share_below((middle - days[i, j]) / scales[j], tail)
            low, high = (middle, high) if below < share else (low, middle)
        day[i] = (low + high) / 2
    return day


@njit(cache=True)
def _log_norm(tail: int) -> float:
    """Logarithm of the height of the error's density at zero."""
    if tail == 0:
        return -0.5 * math.log(2.0 * math.pi)
    halves = math.lgamma((tail + 1) / 2) - math.lgamma(tail / 2)
    return halves - 0.5 * math.log(tail * math.pi)


@njit(cache=True)
def _log_fall(z: float, tail: int) -> float:
    """Logarithm of the error's density, less its value at zero."""
    return -0.5 * z * z if tail == 0 else -0.5 * (tail + 1) * math.log1p(z * z / tail)


@njit(cache=True)
def _slope(z: float, tail: int) -> float:
    """Minus the derivative of the logarithm of the density."""
    return z if tail == 0 else (tail + 1) * z / (tail + z * z)


@njit(cache=True)
def _exact_note(
    day: float, seen: float, scale: float, tail: int, norm: float
) -> tuple[float, float, float]:
    z = (seen - day) / scale
    pull = _slope(z, tail) / scale
    weight = 1.0 if tail == 0 else (tail + 1) / (tail + z * z)
    return norm + _log_fall(z, tail) - math.log(scale), pull, weight / scale**2


@njit(cache=True)
def _between_note(  # noqa: PLR0917 - compiled functions have no keyword-only arguments
    day: float, low: float, high: float, scale: float, tail: int, norm: float
) -> tuple[float, float, float]:
    a, b = (low - day) / scale, (high - day) / scale
    mass = share_below(-a, tail) - share_below(-b, tail) if a > 0 else 0.0
    if a <= 0:
        mass = share_below(b, tail) - share_below(a, tail)
    if mass < 1e-280:  # far outside: as if seen at the nearer end
        near = low if a > 0 else high
        value, slope, bend = _exact_note(day, near, scale, tail, norm)
        return value, slope, bend
    at_a = math.exp(norm + _log_fall(a, tail)) if a > -1e9 else 0.0
    at_b = math.exp(norm + _log_fall(b, tail)) if b < 1e9 else 0.0
    pull = (at_a - at_b) / mass
    bend_a = at_a * _slope(a, tail) if at_a > 0.0 else 0.0
    bend_b = at_b * _slope(b, tail) if at_b > 0.0 else 0.0
    weight = pull * pull - (bend_a - bend_b) / mass
    weight = min(max(weight, 1e-6), 1.5)
    return math.log(mass), pull / scale, weight / scale**2


@njit(cache=True)
def note_terms(
    day: Floats, low: Floats, high: Floats, scale: float, tail: int
) -> tuple[float, Floats, Floats]:
    """Log-likelihood of notes given the expected days, with its slope and curvature in the day.

    Parameters
    ----------
    day : (n,) float, expected day of year
    low, high : (n,) float, the stage came between these; equal where seen on the day; ±inf open
    scale : days
    tail : 0 for a normal error, else even degrees of freedom

    Returns
    -------
    log-likelihood, and two arrays (n,): slope (1/day) and curvature (1/day², positive)

    Notes
    -----
    Source: interval-censored location model, by definition.
    Valid:  low ≤ high.
    """
    n = len(day)
    total, norm = 0.0, _log_norm(tail)
    pull = np.empty(n)
    weight = np.empty(n)
    for k in range(n):
        if low[k] == high[k]:
            value, pull[k], weight[k] = _exact_note(day[k], low[k], scale, tail, norm)
        else:
            value, pull[k], weight[k] = _between_note(day[k], low[k], high[k], scale, tail, norm)
        total += value
    return total, pull, weight


@njit(cache=True)
def _prior_misfit(level: Floats, lot: Ints, tau2: float, lot2: float, centre: Floats) -> float:
    """Squared distance of the shrubs' levels from their nested prior, over planting and lots."""
    n_lots = lot.max() + 1
    count, mean = np.zeros(n_lots), np.zeros(n_lots)
    for i in range(len(lot)):
        count[lot[i]] += 1
        mean[lot[i]] += level[i]
    misfit, weights, total = 0.0, 1.0 / centre[1] ** 2, centre[0] / centre[1] ** 2
    for j in range(n_lots):
        mean[j] /= count[j]
        weights += 1.0 / (lot2 + tau2 / count[j])
        total += mean[j] / (lot2 + tau2 / count[j])
    planting = total / weights
    for i in range(len(lot)):
        misfit += (level[i] - mean[lot[i]]) ** 2 / tau2
    for j in range(n_lots):
        misfit += (mean[j] - planting) ** 2 / (lot2 + tau2 / count[j])
    return float(misfit + (planting - centre[0]) ** 2 / centre[1] ** 2)


@njit(cache=True)
def _sweep(  # noqa: PLR0917 - compiled functions have no keyword-only arguments
    a: Floats, b: Floats, lot: Ints, tau2: float, lot2: float, centre: Floats
) -> tuple[float, Floats, Floats, Floats]:
    """Posterior of planting, lots and shrubs for notes of total weight `a` and weighted sum `b`."""
    n_shrubs, n_lots = len(lot), lot.max() + 1
    planting, lots, shrubs = np.zeros(2), np.zeros((n_lots, 2)), np.zeros((n_shrubs, 2))
    own = 1.0 / (1.0 + a * tau2)
    lot_a, lot_b = np.zeros(n_lots), np.zeros(n_lots)
    for i in range(n_shrubs):
        lot_a[lot[i]] += a[i] * own[i]
        lot_b[lot[i]] += b[i] * own[i]
    lot_own = 1.0 / (1.0 + lot_a * lot2)
    precision = (lot_a * lot_own).sum() + 1.0 / centre[1] ** 2
    mean = ((lot_b * lot_own).sum() + centre[0] / centre[1] ** 2) / precision
    planting[0], planting[1] = mean, 1.0 / precision
    for j in range(n_lots):
        lots[j, 0] = mean + lot2 * (lot_b[j] - lot_a[j] * mean) * lot_own[j]
        lots[j, 1] = lot2 * lot_own[j] + lot_own[j] ** 2 * planting[1]
    for i in range(n_shrubs):
        above = lots[lot[i]]
        shrubs[i, 0] = above[0] + tau2 * (b[i] - a[i] * above[0]) * own[i]
        shrubs[i, 1] = tau2 * own[i] + own[i] ** 2 * above[1]
    determinant = math.log(precision * centre[1] ** 2) - np.log(own).sum() - np.log(lot_own).sum()
    return determinant, planting, lots, shrubs


@njit(cache=True)
def pooled_fit(  # noqa: PLR0917 - compiled functions have no keyword-only arguments
    sums: Floats,
    season: Ints,
    first_doy: int,
    low: Floats,
    high: Floats,
    shrub: Ints,
    lot: Ints,
    scales: Floats,
    tail: int,
    centre: Floats,
    levels: Floats,
) -> tuple[float, Floats, Floats, Floats]:
    """Shrubs' requirements pooled towards lot and planting, and the marginal likelihood.

    Parameters
    ----------
    sums : (n_seasons, n_days) float, degree-days
    season : (n,) int, row of `sums` for each note
    first_doy : day of year of column 0
    low, high : (n,) float, bounds of each note
    shrub : (n,) int, index of the shrub of each note
    lot : (n_shrubs,) int, index of the lot of each shrub
    scales : (3,) float: error (days), spread of shrubs, spread of lots (logarithms), all positive
    tail : 0 for a normal error, else even degrees of freedom
    centre : (2,) float, mean and standard deviation of the prior of the planting's logarithm
    levels : (n_shrubs,) float, logarithm of each shrub's requirement to start from

    Returns
    -------
    log of the marginal likelihood, and planting (2,), lots (n_lots, 2), shrubs (n_shrubs, 2), each
    mean and variance of the logarithm of the requirement

    Notes
    -----
    Source: Laplace approximation of a nested random-intercept model; the sweep from shrubs to lots
            to planting and back is exact for each step's weights.
    Valid:  any number of notes from 1 on.
    """
    scale, tau2, lot2 = scales[0], scales[1] ** 2, scales[2] ** 2
    level, kept, target = levels.copy(), levels.copy(), levels.copy()
    best, answer, step = -np.inf, -np.inf, 1.0
    planting, lots, shrubs = np.zeros(2), np.zeros((1, 2)), np.zeros((1, 2))
    for _ in range(40):
        day, stretch, at_day = reached(sums, season, first_doy, level[shrub], onward=True)
        value, pull, weight = note_terms(day, low, high, scale, tail)
        fit = value - 0.5 * _prior_misfit(level, lot, tau2, lot2, centre)
        if fit < best and step > 0.05:
            step *= 0.5
            level = kept + step * (target - kept)
            continue
        a, b = np.zeros(len(lot)), np.zeros(len(lot))
        for k in range(len(low)):
            info = weight[k] * stretch[k] ** 2
            a[shrub[k]] += info
            b[shrub[k]] += info * level[shrub[k]] + pull[k] * at_day[k]
        determinant, planting, lots, shrubs = _sweep(a, b, lot, tau2, lot2, centre)
        answer = fit - 0.5 * determinant
        if abs(fit - best) < 0.01:
            break
        best, kept, step = fit, level.copy(), min(1.0, 2.0 * step)
        target = level + np.minimum(np.maximum(shrubs[:, 0] - level, -0.6), 0.6)
        level = kept + step * (target - kept)
    return answer, planting, lots, shrubs
