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
_TURNS = 20  # steps of the inner search; most end after 6
_ROUGH = 1.0  # log-likelihood by which single warm or cold days may set back a step that is sound
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
) -> tuple[Floats, Floats]:
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
    two arrays (n,): day of year; days later per unit of the logarithm of the requirement, at the
    pace of the six days about it

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
    for i in range(n):
        total = sums[season[i]]
        heat = math.exp(min(log_heat[i], 50.0))
        k = int(np.searchsorted(total, heat))
        low, high = max(0, k - 3), min(n_days - 1, k + 2)
        pace = max((total[high] - total[low]) / max(1, high - low), _SLOPE_FLOOR)
        stretch[i] = min(heat / pace, 400.0)
        if k < n_days:
            before = total[k - 1] if k > 0 else 0.0
            day[i] = first_doy + k - 0.5 + (heat - before) / max(total[k] - before, 1e-9)
        elif onward:
            day[i] = first_doy + n_days - 0.5 + min((heat - total[-1]) / pace, 400.0)
        else:
            day[i] = np.nan
    return day, stretch


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
def _joint(  # noqa: PLR0917 - compiled functions have no keyword-only arguments
    info: Floats,
    pull: Floats,
    stretch: Floats,
    first: Ints,
    lot: Ints,
    effect: Ints,
    level: Floats,
    wander: Floats,
    tau2: float,
    prior: Floats,
) -> tuple[Floats, Floats, Floats, Floats, Floats]:
    """Normal equations of planting, lots and seasons once the shrubs are eliminated.

    `prior` holds the precisions of those q unknowns. Returns matrix (q, q), right side (q,), and
    per shrub: links to the q unknowns (n_shrubs, q), own precision and right side (n_shrubs,).
    """
    n_shrubs, n_lots = len(lot), lot.max() + 1
    q = len(prior)
    matrix, right = np.diag(prior), np.zeros(q)
    link, own, side = np.zeros((n_shrubs, q)), np.zeros(n_shrubs), np.zeros(n_shrubs)
    touched = np.empty(q, dtype=np.int64)
    for i in range(n_shrubs):
        home, n_touched = 1 + lot[i], 2
        touched[0], touched[1] = 0, home
        for k in range(first[i], first[i + 1]):
            e = effect[k]
            shift = wander[e] if e >= 0 else 0.0
            cross = info[k] * stretch[k]
            own[i] += cross * stretch[k]
            side[i] += cross * (stretch[k] * level[i] + shift) + pull[k] * stretch[k]
            if e >= 0:
                s = 1 + n_lots + e
                if link[i, s] == 0.0:
                    touched[n_touched] = s
                    n_touched += 1
                link[i, s] += cross
                matrix[s, s] += info[k]
                right[s] += info[k] * (stretch[k] * level[i] + shift) + pull[k]
        link[i, 0] = link[i, home] = own[i]
        right[0] += side[i]
        right[home] += side[i]
        matrix[0, 0] += own[i]
        matrix[home, home] += own[i]
        matrix[0, home] += own[i]
        matrix[home, 0] += own[i]
        for x in touched[2:n_touched]:
            matrix[0, x] += link[i, x]
            matrix[x, 0] += link[i, x]
            matrix[home, x] += link[i, x]
            matrix[x, home] += link[i, x]
        own[i] += 1.0 / tau2
        for x in touched[:n_touched]:
            right[x] -= link[i, x] * side[i] / own[i]
            for y in touched[:n_touched]:
                matrix[x, y] -= link[i, x] * link[i, y] / own[i]
    return matrix, right, link, own, side


@njit(cache=True)
def _variances(inverse: Floats, link: Floats, own: Floats, lot: Ints) -> tuple[Floats, Floats]:
    """Posterior variances of lots' and shrubs' levels."""
    n_lots = lot.max() + 1
    lots, shrubs = np.empty(n_lots), np.empty(len(lot))
    for j in range(n_lots):
        lots[j] = inverse[0, 0] + inverse[1 + j, 1 + j] + 2 * inverse[0, 1 + j]
    for i in range(len(lot)):
        row = -link[i] / own[i]
        row[0] += 1.0
        row[1 + lot[i]] += 1.0
        used = np.flatnonzero(row)
        total = 1.0 / own[i]
        for x in used:
            for y in used:
                total += row[x] * inverse[x, y] * row[y]
        shrubs[i] = total
    return lots, shrubs


@njit(cache=True)
def pooled_fit(  # noqa: PLR0917 - compiled functions have no keyword-only arguments
    sums: Floats,
    season: Ints,
    first_doy: int,
    low: Floats,
    high: Floats,
    first: Ints,
    lot: Ints,
    effect: Ints,
    scales: Floats,
    tail: int,
    centre: Floats,
    levels: Floats,
) -> tuple[float, Floats, Floats, Floats]:
    """Shrubs' requirements pooled towards lot and planting, and the marginal likelihood.

    Parameters
    ----------
    sums : (n_seasons, n_days) float, degree-days
    season : (n,) int, row of `sums` for each note; notes are in the order of shrubs
    first_doy : day of year of column 0
    low, high : (n,) float, bounds of each note
    first : (n_shrubs + 1,) int, where each shrub's notes begin, and the number of notes
    lot : (n_shrubs,) int, index of the lot of each shrub
    effect : (n,) int, index of the season whose error the note shares, or −1 for none
    scales : (4,) float, positive: error of a note (days), spread of shrubs, spread of lots
        (logarithms), error that a season's notes share (days)
    tail : 0 for a normal error, else even degrees of freedom
    centre : (2,) float, mean and standard deviation of the prior of the planting's logarithm
    levels : (n_shrubs,) float, logarithm of each shrub's requirement to start from

    Returns
    -------
    log of the marginal likelihood, and planting (2,), lots (n_lots, 2), shrubs (n_shrubs, 2), each
    mean and variance of the logarithm of the requirement

    Notes
    -----
    Source: Laplace approximation of a random-intercept model, shrubs nested in lots and crossed
            with seasons; shrubs are eliminated first, the rest is solved densely.
    Valid:  any number of notes from 1 on.
    """
    scale, tau2, lot2, shared2 = scales[0], scales[1] ** 2, scales[2] ** 2, scales[3] ** 2
    n, n_shrubs, n_lots, n_effects = len(low), len(lot), lot.max() + 1, effect.max() + 1
    prior = np.empty(1 + n_lots + n_effects)
    prior[0], prior[1 : 1 + n_lots], prior[1 + n_lots :] = 1 / centre[1] ** 2, 1 / lot2, 1 / shared2
    owner = np.empty(n, dtype=np.int64)
    for shrub in range(n_shrubs):
        owner[first[shrub] : first[shrub + 1]] = shrub
    level, kept, target = levels.copy(), levels.copy(), levels.copy()
    wander = np.zeros(n_effects)
    kept_wander, target_wander = wander.copy(), wander.copy()
    best, top, step = -np.inf, -np.inf, 1.0
    found = (np.eye(len(prior)), np.zeros((n_shrubs, len(prior))), levels, np.zeros(1), levels)
    for turn in range(_TURNS):
        day, stretch = reached(sums, season, first_doy, level[owner], onward=True)
        for k in range(n):
            if effect[k] >= 0:
                day[k] += wander[effect[k]]
        value, pull, info = note_terms(day, low, high, scale, tail)
        misfit = _prior_misfit(level, lot, tau2, lot2, centre) + (wander**2).sum() / shared2
        fit = value - 0.5 * misfit
        if fit < best - _ROUGH and step > 0.05:
            step *= 0.5
        else:
            gain, best = fit - best, fit
            kept, kept_wander = level.copy(), wander.copy()
            step = min(1.0 if turn < 4 else 0.5, 2.0 * step)
            matrix, right, link, own, side = _joint(
                info, pull, stretch, first, lot, effect, level, wander, tau2, prior
            )
            right[0] += prior[0] * centre[0]
            beta = np.linalg.solve(matrix, right)
            target = beta[0] + beta[1 + lot] + (side - link @ beta) / own
            target_wander = beta[1 + n_lots :].copy()
            if fit > top:
                top, found = fit, (matrix, link, own, beta, target)
            if abs(gain) < 0.02:
                break
        # no shrub moves by more than a factor of 1.8 at once, and seasons in the same proportion
        part = step * min(1.0, 0.6 / max(np.abs(target - kept).max(), 1e-9))
        level = kept + part * (target - kept)
        wander = kept_wander + part * (target_wander - kept_wander)
    matrix, link, own, beta, target = found
    determinant = np.linalg.slogdet(matrix)[1] - np.log(prior).sum() + np.log(own * tau2).sum()
    answer = top - 0.5 * determinant
    inverse = np.linalg.inv(matrix)
    lots, shrubs = np.empty((n_lots, 2)), np.empty((n_shrubs, 2))
    lots[:, 0], shrubs[:, 0] = beta[0] + beta[1 : 1 + n_lots], target
    lots[:, 1], shrubs[:, 1] = _variances(inverse, link, own, lot)
    return answer, np.array([beta[0], inverse[0, 0]]), lots, shrubs


@njit(cache=True)
def linear_fit(  # noqa: PLR0917 - compiled functions have no keyword-only arguments
    logs: Floats,
    stretch: Floats,
    variance: Floats,
    first: Ints,
    lot: Ints,
    effect: Ints,
    scales: Floats,
    centre: Floats,
) -> float:
    """Marginal likelihood of looks with a normal error in the logarithm of the heat.

    Parameters
    ----------
    logs : (n,) float, logarithm of the heat at which each look tells the stage came
    stretch : (n,) float, days later per unit of the logarithm in the look's season
    variance : (n,) float, days², error of that, with what the days between two looks leave open
    first, lot, effect : as in `pooled_fit`
    scales : (3,) float, spread of shrubs, spread of lots (logarithms), error of a season (days)
    centre : as in `pooled_fit`

    Returns
    -------
    log of the marginal likelihood

    Notes
    -----
    Source: the model of `pooled_fit` with its errors in heat instead of days: linear, so that
            nothing is searched within and it is smooth in base and start.
    Valid:  looks with both sides known.
    """
    tau2, lot2, shared2 = scales[0] ** 2, scales[1] ** 2, scales[2] ** 2
    n_shrubs, n_lots, n_effects = len(lot), lot.max() + 1, effect.max() + 1
    prior = np.empty(1 + n_lots + n_effects)
    prior[0], prior[1 : 1 + n_lots], prior[1 + n_lots :] = 1 / centre[1] ** 2, 1 / lot2, 1 / shared2
    info, seen = 1.0 / variance, stretch * logs
    nothing, still = np.zeros(n_shrubs), np.zeros(n_effects)
    matrix, right, link, own, side = _joint(
        info, info * seen, stretch, first, lot, effect, nothing, still, tau2, prior
    )
    right[0] += prior[0] * centre[0]
    beta = np.linalg.solve(matrix, right)
    level = beta[0] + beta[1 + lot] + (side - link @ beta) / own
    wander = beta[1 + n_lots :]
    value = -0.5 * np.log(2 * math.pi * variance).sum()
    for i in range(n_shrubs):
        for k in range(first[i], first[i + 1]):
            shift = wander[effect[k]] if effect[k] >= 0 else 0.0
            value -= 0.5 * info[k] * (seen[k] - stretch[k] * level[i] - shift) ** 2
    misfit = _prior_misfit(level, lot, tau2, lot2, centre) + (wander**2).sum() / shared2
    determinant = np.linalg.slogdet(matrix)[1] - np.log(prior).sum() + np.log(own * tau2).sum()
    return float(value - 0.5 * (misfit + determinant))
