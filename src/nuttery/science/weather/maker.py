"""Weather maker: daily weather that looks like a record, or like a stated climate."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nuttery.science.arguments import Bools, Days, Floats, Ints
from nuttery.science.errors import BadArgumentError
from nuttery.science.weather.calendar import day_array
from nuttery.science.weather.climate import MonthlyClimate, fit_climate
from nuttery.science.weather.season_curve import MONTH_OF_DAY, daily_curve, place_in_year

WARM_UP_DAYS = 60
WET_AMOUNT = 0.1
STRONGEST_MEMORY = 0.98


@dataclass(frozen=True)
class MadeWeather:
    """Made daily weather of consecutive days.

    Attributes
    ----------
    dates : (n_days,) datetime64[D]
    tmin, tmax : (n_days,) or (draws, n_days) °C, to 0.1; tmin is never above tmax
    rain : the same shape, mm, to 0.1
    """

    dates: Days
    tmin: Floats
    tmax: Floats
    rain: Floats


@dataclass(frozen=True)
class WeatherMaker:
    """Maker of daily extremes and rain for a climate.

    Attributes
    ----------
    monthly : the climate by months, fitted (`WeatherMaker.fit`) or stated
        (`MonthlyClimate.stated`)

    Notes
    -----
    Source: the idea of Richardson 1981, Water Resour. Res. 17:182-190 (wet days as a chain, then
        temperatures by an autoregression that knows whether the day is wet); written anew for the
        daily mean and range, so that the minimum never passes the maximum.
    Valid:  sites with all twelve months on record.
    Limits: no memory beyond days, so warm and cold years differ less than real ones; rain amounts
        are drawn alone, day by day.
    """

    monthly: MonthlyClimate

    @classmethod
    def fit(
        cls, dates: ArrayLike, tmin: ArrayLike, tmax: ArrayLike, rain: ArrayLike
    ) -> "WeatherMaker":
        """Maker fitted on a daily record.

        Parameters
        ----------
        dates : (n_days,) rising; days may be left out
        tmin, tmax : (n_days,) °C
        rain : (n_days,) mm; a day above 0 is wet

        Returns
        -------
        WeatherMaker

        Raises
        ------
        BadArgumentError
            On crossed extremes, negative rain, or a month with fewer than 28 whole days. A day on
            which any of the three is NaN is left out.

        Notes
        -----
        Source: moments of the record by month; see `fit_climate`.
        Valid:  a few years at least; thirty make a climate.
        Limits: a trend within the record becomes spread.

        Examples
        --------
        >>> days = np.arange("2001-01-01", "2005-01-01", dtype="datetime64[D]")
        >>> rng = np.random.default_rng(1)
        >>> low = rng.normal(0, 3, days.size)
        >>> rain = rng.exponential(4, days.size) * (rng.random(days.size) < 0.3)
        >>> maker = WeatherMaker.fit(days, low, low + rng.uniform(5, 15, days.size), rain)
        >>> maker.monthly.wet_share.mean().round(1)
        np.float64(0.3)
        """
        return cls(fit_climate(dates, tmin, tmax, rain))

    def make(
        self, n_years: int, rng: np.random.Generator, *, first_year: int = 2001
    ) -> MadeWeather:
        """Weather of whole calendar years.

        Parameters
        ----------
        n_years : number of years
        rng : source of randomness
        first_year : the calendar year of the first day

        Returns
        -------
        MadeWeather with `.dates`, `.tmin`, `.tmax`, `.rain`, each (n_days,)

        Raises
        ------
        BadArgumentError
            If `n_years` is less than 1.

        Notes
        -----
        Source: see the class.
        Valid:  years 1 to 9999.
        Limits: values are rounded to 0.1, as records are; that also keeps a seed's weather the same
            on every machine.

        Examples
        --------
        >>> climate = MonthlyClimate.stated(
        ...     tmin=np.zeros(12), tmax=np.full(12, 10.0), spread=4.0, wet_share=0.3, rain=60.0
        ... )
        >>> made = WeatherMaker(climate).make(2, np.random.default_rng(1))
        >>> made.dates.size, bool((made.tmin <= made.tmax).all())
        (730, True)
        """
        if n_years < 1:
            raise BadArgumentError(f"n_years: found {n_years}, expected 1 or more")
        first = np.datetime64(f"{first_year:04d}-01-01", "D")
        last = np.datetime64(f"{first_year + n_years:04d}-01-01", "D")
        made = self.futures(np.arange(first, last), 1, rng)
        return MadeWeather(made.dates, made.tmin[0], made.tmax[0], made.rain[0])

    def futures(
        self,
        dates: ArrayLike,
        draws: int,
        rng: np.random.Generator,
        *,
        after: tuple[float, float, float] | None = None,
    ) -> MadeWeather:
        """Several courses that the weather of some coming days may take.

        Parameters
        ----------
        dates : (n_days,) consecutive days
        draws : number of courses
        rng : source of randomness
        after : minimum and maximum (°C) and rain (mm) of the day before, which the courses go on
            from; None for any

        Returns
        -------
        MadeWeather with `.tmin`, `.tmax`, `.rain`, each (draws, n_days)

        Raises
        ------
        BadArgumentError
            On days left out, `draws` below 1, or crossed extremes in `after`.

        Notes
        -----
        Source: see the class.
        Valid:  as `make`.
        Limits: what the day before tells fades within about a week.

        Examples
        --------
        >>> climate = MonthlyClimate.stated(
        ...     tmin=np.zeros(12), tmax=np.full(12, 10.0), spread=4.0, wet_share=0.3, rain=60.0
        ... )
        >>> days = np.arange("2026-04-01", "2026-04-11", dtype="datetime64[D]")
        >>> warm = WeatherMaker(climate).futures(
        ...     days, 500, np.random.default_rng(1), after=(8.0, 22.0, 0.0)
        ... )
        >>> bool(warm.tmax[:, 0].mean() > warm.tmax[:, -1].mean() + 3)
        True
        """
        days = day_array("dates", dates, consecutive=True)
        if draws < 1:
            raise BadArgumentError(f"draws: found {draws}, expected 1 or more")
        return _simulate(self.monthly, days, draws, rng, after)


def _simulate(
    climate: MonthlyClimate,
    days: Days,
    draws: int,
    rng: np.random.Generator,
    after: tuple[float, float, float] | None,
) -> MadeWeather:
    from nuttery.science.weather.chains import walk_on, wet_days

    warm_up = WARM_UP_DAYS if after is None else 0
    if days.size == 0:
        none = np.empty((draws, 0))
        return MadeWeather(days, none, none.copy(), none.copy())
    place = place_in_year(np.arange(days[0] - warm_up, days[-1] + 1))
    month = MONTH_OF_DAY[place]
    before = MONTH_OF_DAY[place_in_year(days[:1] - warm_up - 1)]
    was_wet, anomaly = _start(climate, days[0], after, draws, rng)
    months = np.concatenate([before, month])
    wet = wet_days(rng.random((draws, place.size)), was_wet, *_wet_chances(climate, months))
    noise = rng.standard_normal((draws, place.size, 2))
    walk = walk_on(noise, anomaly, *_memory(climate, months))
    mean, spread = _temperatures(climate, place, month, wet, walk)
    amount = _rain(climate, month, wet, rng)
    tmin, tmax = mean - spread / 2, mean + spread / 2
    return MadeWeather(days, *(np.round(a[:, warm_up:], 1) for a in (tmin, tmax, amount)))


def _start(
    climate: MonthlyClimate,
    first: np.datetime64,
    after: tuple[float, float, float] | None,
    draws: int,
    rng: np.random.Generator,
) -> tuple[Bools, Floats]:
    """State of the day before the first one: wet or not, and its two standard anomalies."""
    day = place_in_year(np.array([first]) - 1)
    month = MONTH_OF_DAY[day]
    if after is None:
        wet = rng.random(draws) < climate.wet_share[month]
        return wet, rng.standard_normal((draws, 2))
    low, high, rain = after
    if not low <= high:
        raise BadArgumentError(f"after: found minimum {low} above maximum {high}")
    wet = np.array([rain > 0])
    anomaly = climate.standard_anomalies(np.array([low]), np.array([high]), wet, day, month)
    return np.repeat(wet, draws), np.repeat(anomaly, draws, axis=0)


def _wet_chances(climate: MonthlyClimate, months: Ints) -> tuple[Floats, Floats]:
    """Chance of a wet day after a dry and after a wet one; the share of each day stays exact."""
    share, memory = climate.wet_share[months], climate.wet_memory[months[1:]]
    after_dry = np.clip(share[1:] - memory * share[:-1], 0.0, 1.0)
    return after_dry, np.clip(after_dry + memory, 0.0, 1.0)


def _memory(climate: MonthlyClimate, months: Ints) -> tuple[Floats, Floats]:
    """Matrices A and B of z[t] = A z[t−1] + B noise that keep each month's correlations."""
    now = np.linalg.cholesky(climate.correlation)[months[1:]]
    past = np.linalg.cholesky(climate.correlation)[months[:-1]]
    lagged = np.linalg.inv(now) @ climate.memory[months[1:]]
    left, canonical, right = np.linalg.svd(lagged @ np.linalg.inv(past).transpose(0, 2, 1))
    # Canonical correlations below 1 keep the walk steady even where two months meet.
    canonical = np.minimum(canonical, STRONGEST_MEMORY)[:, None, :]
    carry = now @ (left * canonical) @ right @ np.linalg.inv(past)
    root = now @ left * np.sqrt(1 - canonical**2)
    return carry, root


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
