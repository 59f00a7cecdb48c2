"""Courses of daily weather drawn from a climate."""

import numpy as np

from nuttery.science.arguments import Bools, Days, Floats, Ints
from nuttery.science.weather.climate import SLOW_MEMORY, MonthlyClimate
from nuttery.science.weather.season_curve import MONTH_OF_DAY, daily_curve, place_in_year

WET_AMOUNT = 0.1
STRONGEST_MEMORY = 0.98

After = tuple[float, float, float] | None


def courses(
    climate: MonthlyClimate, days: Days, draws: int, rng: np.random.Generator, *, after: After
) -> tuple[Floats, Floats, Floats]:
    """Minimum, maximum and rain of consecutive days, each (draws, n_days), to 0.1."""
    place = place_in_year(np.arange(days[0] - 1, days[-1] + 1))
    month = MONTH_OF_DAY[place]
    wet = _wet(climate, month, _was_wet(climate, month[0], draws, rng, after), rng)
    walk = _anomalies(climate, place, days.size, draws, rng, after=after)
    mean, spread = _temperatures(climate, place[1:], month[1:], wet, walk)
    rain = _rain(climate, month[1:], wet, rng)
    return np.round(mean - spread / 2, 1), np.round(mean + spread / 2, 1), np.round(rain, 1)


def _was_wet(
    climate: MonthlyClimate, month: int, draws: int, rng: np.random.Generator, after: After
) -> Bools:
    """Whether the day before the first one had rain."""
    if after is None:
        first: Bools = rng.random(draws) < climate.wet_share[month]
        return first
    return np.full(draws, after[2] > 0)


def _wet(climate: MonthlyClimate, month: Ints, was_wet: Bools, rng: np.random.Generator) -> Bools:
    """Days with rain, a chain whose chances keep the share of every month exactly."""
    from nuttery.science.weather.chains import wet_days

    share, memory = climate.wet_share[month], climate.wet_memory[month[1:]]
    after_dry = np.clip(share[1:] - memory * share[:-1], 0.0, 1.0)
    after_wet = np.clip(after_dry + memory, 0.0, 1.0)
    chance = rng.random((was_wet.size, month.size - 1))
    wet: Bools = wet_days(chance, was_wet, after_dry, after_wet)
    return wet


def _anomalies(
    climate: MonthlyClimate,
    place: Ints,
    n_days: int,
    draws: int,
    rng: np.random.Generator,
    *,
    after: After,
) -> Floats:
    """Standard anomalies of daily mean and range, (draws, n_days, 2): a quick and a slow walk."""
    from nuttery.science.weather.chains import drift_on, walk_on

    month = MONTH_OF_DAY[place]
    quick, slow = np.sqrt(1 - climate.slow_share), np.sqrt(climate.slow_share)
    correlation, memory = _quick_part(climate)
    noise = rng.standard_normal((draws, n_days, 2))
    drift = rng.standard_normal((draws, n_days))
    if after is None:
        first = rng.standard_normal((draws, 2)) @ np.linalg.cholesky(correlation[month[0]]).T
        drifted = rng.standard_normal(draws)
    else:
        first = np.repeat(_anomaly_of(climate, place[:1], after), draws, axis=0)
        # What the day before tells is split between the two walks by their shares.
        drifted = slow * first[:, 0] + quick * rng.standard_normal(draws)
        first[:, 0] = (first[:, 0] - slow * drifted) / quick
    walk: Floats = walk_on(noise, first, *_steps(correlation, memory, month))
    walk[..., 0] = quick * walk[..., 0] + slow * drift_on(drift, drifted, SLOW_MEMORY)
    return walk


def _anomaly_of(climate: MonthlyClimate, place: Ints, after: tuple[float, float, float]) -> Floats:
    low, high, rain = (np.array([v]) for v in after)
    return climate.standard_anomalies(low, high, rain > 0, place, MONTH_OF_DAY[place])


def _quick_part(climate: MonthlyClimate) -> tuple[Floats, Floats]:
    """Correlation and memory of the quick walk: those of both, less what the slow one gives."""
    share = np.array([climate.slow_share, 0.0])
    size = np.sqrt(1 - share)
    correlation = (climate.correlation - np.diag(share)) / np.outer(size, size)
    correlation = np.clip(correlation, -0.98, 0.98) + 0.02 * np.eye(2)
    memory = (climate.memory - SLOW_MEMORY * np.diag(share)) / np.outer(size, size)
    return correlation, memory


def _steps(correlation: Floats, memory: Floats, month: Ints) -> tuple[Floats, Floats]:
    """Matrices A and B of z[t] = A z[t−1] + B noise that keep each month's correlations."""
    root = np.linalg.cholesky(correlation)
    now, past = root[month[1:]], root[month[:-1]]
    lagged = np.linalg.inv(now) @ memory[month[1:]] @ np.linalg.inv(past).transpose(0, 2, 1)
    left, canonical, right = np.linalg.svd(lagged)
    # Canonical correlations below 1 keep the walk steady even where two months meet.
    canonical = np.minimum(canonical, STRONGEST_MEMORY)[:, None, :]
    carry = now @ (left * canonical) @ right @ np.linalg.inv(past)
    # A Cholesky root, as the signs of singular vectors differ from one machine to another.
    axes = now @ left
    return carry, np.linalg.cholesky((axes * (1 - canonical**2)) @ axes.transpose(0, 2, 1))


def _temperatures(
    climate: MonthlyClimate, place: Ints, month: Ints, wet: Bools, walk: Floats
) -> tuple[Floats, Floats]:
    """Daily mean and range: the range by its gamma quantile, so that it is never negative."""
    state = wet.astype(np.int64)
    mean = daily_curve(climate.mean)[place] + climate.mean_shift[month, state]
    mean = mean + climate.mean_spread[month, state] * walk[..., 0]
    middle = daily_curve(climate.range)[place] + climate.range_shift[month, state]
    return mean, gamma_quantile(walk[..., 1], middle, climate.range_spread[month, state])


def gamma_quantile(score: Floats, mean: Floats, spread: Floats) -> Floats:
    """Gamma quantile at a standard normal score, for a mean and a standard deviation.

    A spread below 1 % of the mean is taken as normal: the two agree there.
    """
    from scipy.special import gammaincinv, ndtr

    mean = np.maximum(mean, 0.1)
    shape = (mean / np.maximum(spread, 1e-9)) ** 2
    narrow = shape > 1e4
    curved = gammaincinv(np.where(narrow, 1.0, shape), ndtr(score)) * mean / shape
    return np.where(narrow, mean + spread * score, curved)


def _rain(climate: MonthlyClimate, month: Ints, wet: Bools, rng: np.random.Generator) -> Floats:
    mean = np.maximum(climate.rain_mean[month], WET_AMOUNT)
    shape = np.clip((mean / np.maximum(climate.rain_spread[month], 1e-9)) ** 2, 1e-3, 1e4)
    amount = rng.gamma(np.broadcast_to(shape, wet.shape)) * mean / shape
    return np.where(wet, np.maximum(amount, WET_AMOUNT), 0.0)
