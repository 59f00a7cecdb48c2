"""Climate by months, as the weather maker needs it: stated, or fitted on a record."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from nuttery.science.arguments import (
    Bools,
    Days,
    Floats,
    Ints,
    float_array,
    refuse_where,
    same_length,
)
from nuttery.science.errors import BadArgumentError
from nuttery.science.weather.calendar import day_array, months_of
from nuttery.science.weather.season_curve import MONTH_OF_DAY, daily_curve, place_in_year

DRY, WET = 0, 1
SLOW_MEMORY = 0.97
RANGE_MEMORY = 0.25
MOST_SLOW = 0.4
NO_SPREAD = 1e-6
BLOCK = 30
FEWEST_BLOCKS = 60
FEWEST_DAYS = 28


@dataclass(frozen=True)
class MonthlyClimate:
    """Daily weather of twelve months, January first; of two states 0 is dry and 1 wet.

    Attributes
    ----------
    mean, range : (12,) °C, average over a month of (tmin + tmax) / 2 and of tmax − tmin
    mean_shift, range_shift : (12, 2) °C, what dry and wet days add to the season's curve
    mean_spread, range_spread : (12, 2) °C, standard deviation about curve and shift
    correlation : (12, 2, 2) of the standard anomalies of mean and range on one day
    memory : (12, 2, 2) of today's (row) with yesterday's (column) anomalies
    wet_share : (12,) share of days with rain
    wet_memory : (12,) chance of rain after a wet day less that after a dry one
    rain_mean, rain_spread : (12,) mm, mean and standard deviation on a wet day
    slow_share : share of the variance of the daily mean that lasts for about a month (memory 0.97 a
        day), which makes warm and cold months
    """

    mean: Floats
    range: Floats
    mean_shift: Floats
    range_shift: Floats
    mean_spread: Floats
    range_spread: Floats
    correlation: Floats
    memory: Floats
    wet_share: Floats
    wet_memory: Floats
    rain_mean: Floats
    rain_spread: Floats
    slow_share: float = 0.0

    @classmethod
    def stated(
        cls,
        *,
        tmin: ArrayLike,
        tmax: ArrayLike,
        spread: ArrayLike,
        wet_share: ArrayLike,
        rain: ArrayLike,
        range_spread: ArrayLike | None = None,
        memory: ArrayLike = 0.65,
        correlation: ArrayLike = 0.2,
        wet_cooling: ArrayLike = 1.0,
        wet_narrowing: ArrayLike = 3.0,
        wet_memory: ArrayLike = 0.2,
        slow_share: float = 0.1,
    ) -> "MonthlyClimate":
        """Climate from the figures of a climate table.

        Parameters
        ----------
        tmin, tmax : (12,) °C, monthly averages of the daily extremes
        spread : (12,) or one, °C, standard deviation of the daily mean about the season's curve
        wet_share : (12,) or one, share of days with rain
        rain : (12,) or one, mm a month
        range_spread : °C, standard deviation of the daily range; by default 0.35 of the range
        memory : correlation of the daily mean with yesterday's; that of the range is taken as 0.25
        correlation : of mean and range on one day
        wet_cooling, wet_narrowing : °C by which the mean and the range of a wet day are below
            those of a dry one
        wet_memory : chance of rain after a wet day less that after a dry one
        slow_share : share of the daily mean's variance that lasts for about a month

        Returns
        -------
        MonthlyClimate

        Raises
        ------
        BadArgumentError
            On a value outside its range, or a range too narrow for `wet_narrowing`.

        Notes
        -----
        Source: the defaults are assumed, of the size found at mid-latitude stations.
        Valid:  twelve months of one place.
        Limits: rain on wet days is taken as exponential.

        Examples
        --------
        >>> climate = MonthlyClimate.stated(
        ...     tmin=np.full(12, 2.0), tmax=np.full(12, 14.0), spread=4.0, wet_share=0.25, rain=50
        ... )
        >>> climate.rain_mean[0].round(2)
        np.float64(6.45)
        """
        low, high = _months("tmin", tmin), _months("tmax", tmax)
        refuse_where("tmin", low, low >= high, "less than tmax of the same month")
        share = _months("wet_share", wet_share, low=0.0, high=1.0)
        narrow = _months("wet_narrowing", wet_narrowing)
        shifts = [_shift(share, _months("wet_cooling", wet_cooling)), _shift(share, narrow)]
        span = high - low
        least = span + shifts[1].min(axis=1)
        refuse_where("tmax", high, least <= 0, f"a range above the narrowing of {narrow[0]:g} °C")
        sides = _months("correlation", correlation, low=-0.95, high=0.95)
        own = _months("memory", memory, low=0.0, high=0.95)
        lasting = float(float_array("slow_share", slow_share, ndim=0, low=0.0, high=MOST_SLOW))
        other = np.full(12, RANGE_MEMORY)
        wide = 0.35 * span if range_spread is None else _months("range_spread", range_spread, low=0)
        days = np.bincount(MONTH_OF_DAY) - 0.75 * (np.arange(12) == 1)
        amount = _months("rain", rain, low=0.0) / np.maximum(days * share, 1e-9)
        amount = np.where(share > 0, amount, 0.0)
        return cls(
            mean=(low + high) / 2,
            range=span,
            mean_shift=shifts[0],
            range_shift=shifts[1],
            mean_spread=np.repeat(_months("spread", spread, low=0.0)[:, None], 2, axis=1),
            range_spread=np.repeat(wide[:, None], 2, axis=1),
            correlation=_symmetric(np.ones(12), np.ones(12), sides),
            memory=_symmetric(own, other, sides * np.sqrt(own * other)),
            wet_share=share,
            wet_memory=_months("wet_memory", wet_memory, low=0.0, high=0.95),
            rain_mean=amount,
            rain_spread=amount,
            slow_share=lasting,
        )

    def standard_anomalies(
        self, tmin: Floats, tmax: Floats, wet: Bools, place: Ints, month: Ints
    ) -> Floats:
        """Mean and range of days in standard deviations from what is usual.

        Parameters
        ----------
        tmin, tmax : (n_days,) °C, NaN where missing
        wet : (n_days,) whether it rained
        place : (n_days,) place in the year, as `place_in_year` gives it
        month : (n_days,) 0 for January

        Returns
        -------
        (n_days, 2) float, mean and range; NaN on a day with a gap

        Notes
        -----
        Source: definition; a spread of 0 counts as the smallest that is told apart from none.
        Valid:  days of the place whose climate it is.

        Examples
        --------
        >>> climate = MonthlyClimate.stated(
        ...     tmin=np.full(12, 2.0), tmax=np.full(12, 14.0), spread=4.0, wet_share=0.25, rain=50
        ... )
        >>> low, high = np.array([6.25]), np.array([19.25])
        >>> dry, first = np.array([False]), np.array([0])
        >>> climate.standard_anomalies(low, high, dry, first, first).round(1)
        array([[1.1, 0.1]])
        """
        state = wet.astype(np.int64)
        mean = (tmin + tmax) / 2 - daily_curve(self.mean)[place] - self.mean_shift[month, state]
        span = tmax - tmin - daily_curve(self.range)[place] - self.range_shift[month, state]
        spreads = self.mean_spread[month, state], self.range_spread[month, state]
        scaled = [a / np.maximum(s, NO_SPREAD) for a, s in zip((mean, span), spreads, strict=True)]
        return np.stack(scaled, axis=-1)


def _months(name: str, values: ArrayLike, *, low: float = -np.inf, high: float = np.inf) -> Floats:
    array = float_array(name, values, low=low, high=high)
    if array.shape not in {(), (12,)}:
        raise BadArgumentError(
            f"{name}: found shape {array.shape}, expected 12 months or one value"
        )
    return np.broadcast_to(array, 12).copy()


def _shift(share: Floats, drop: Floats) -> Floats:
    """What dry and wet days add so that a wet day is `drop` below a dry one and the mean stays."""
    return np.stack([share * drop, (share - 1) * drop], axis=1)


def _symmetric(first: Floats, second: Floats, across: Floats) -> Floats:
    return np.stack([np.stack([first, across], 1), np.stack([across, second], 1)], axis=1)


def fit_climate(
    dates: ArrayLike, tmin: ArrayLike, tmax: ArrayLike, rain: ArrayLike
) -> MonthlyClimate:
    """Climate of a daily record, by the moments of each month.

    Parameters
    ----------
    dates : (n_days,) rising; days may be left out
    tmin, tmax : (n_days,) °C
    rain : (n_days,) mm; a day above 0 is wet

    Returns
    -------
    MonthlyClimate

    Raises
    ------
    BadArgumentError
        On crossed extremes, negative rain, or a month with fewer than 28 whole days. A day on
        which any of the three is NaN is left out.

    Notes
    -----
    Source: sample moments; see `WeatherMaker`.
    Valid:  a few years at least.
    Limits: a state (wet or dry) with fewer than 10 days in a month borrows the whole month's
        spread and no shift of its own.

    Examples
    --------
    >>> days = np.arange("2001-01-01", "2004-01-01", dtype="datetime64[D]")
    >>> low = np.where(np.arange(days.size) % 2, 0.0, 4.0)
    >>> fit_climate(days, low, low + 8, np.zeros(days.size)).mean.round(0)
    array([6., 6., 6., 6., 6., 6., 6., 6., 6., 6., 6., 6.])
    """
    days, low, high, amount = _record(dates, tmin, tmax, rain)
    place, month = place_in_year(days), months_of(days)
    wet = amount > 0
    share = _by_month(wet.astype(np.float64), month)
    mean, mean_shift, mean_spread = _moments((low + high) / 2, place, month, wet)
    span, span_shift, span_spread = _moments(high - low, place, month, wet)
    next_day = np.flatnonzero(np.diff(days).astype(np.int64) == 1) + 1
    rained = [amount[wet & (month == m)] for m in range(12)]
    draft = MonthlyClimate(
        mean=mean,
        range=span,
        mean_shift=mean_shift,
        range_shift=span_shift,
        mean_spread=mean_spread,
        range_spread=span_spread,
        correlation=np.empty((12, 2, 2)),
        memory=np.empty((12, 2, 2)),
        wet_share=share,
        wet_memory=_wet_memory(wet, month, next_day),
        rain_mean=np.array([r.mean() if r.size else 0.0 for r in rained]),
        rain_spread=np.array([r.std() if r.size > 1 else r.sum() for r in rained]),
    )
    anomaly = draft.standard_anomalies(low, high, wet, place, month)
    correlation, memory = _correlations(anomaly, month, next_day)
    slow = _slow_share(anomaly[:, 0], days, memory[:, 0, 0])
    return replace(draft, correlation=correlation, memory=memory, slow_share=slow)


def _record(
    dates: ArrayLike, tmin: ArrayLike, tmax: ArrayLike, rain: ArrayLike
) -> tuple[Days, Floats, Floats, Floats]:
    days = day_array("dates", dates)
    low = float_array("tmin", tmin, ndim=1, nan=True)
    high = float_array("tmax", tmax, ndim=1, nan=True)
    amount = float_array("rain", rain, ndim=1, low=0.0, nan=True)
    same_length(dates=days, tmin=low, tmax=high, rain=amount)
    refuse_where("tmin", low, low > high, "at most tmax of the same day")
    whole = ~(np.isnan(low) | np.isnan(high) | np.isnan(amount))
    count = np.bincount(months_of(days[whole]), minlength=12)
    if count.min() < FEWEST_DAYS:
        short = int(np.argmin(count))
        raise BadArgumentError(
            f"dates: found {count[short]} whole days in month {short + 1}, "
            f"expected {FEWEST_DAYS} or more in every month"
        )
    return days[whole], low[whole], high[whole], amount[whole]


def _by_month(values: Floats, month: Ints) -> Floats:
    return np.bincount(month, values, minlength=12) / np.bincount(month, minlength=12)


def _moments(values: Floats, place: Ints, month: Ints, wet: Bools) -> tuple[Floats, Floats, Floats]:
    """Monthly mean, and shift and spread of dry and wet days about the season's curve."""
    mean = _by_month(values, month)
    rest = values - daily_curve(mean)[place]
    shift, spread = np.zeros((12, 2)), np.empty((12, 2))
    for m in range(12):
        for state in (DRY, WET):
            own = rest[(month == m) & (wet == bool(state))]
            if own.size >= 10:
                shift[m, state], spread[m, state] = own.mean(), own.std()
            else:
                spread[m, state] = rest[month == m].std()
        spread[m] *= _scale(
            values[month == m], rest[month == m], shift[m], spread[m], wet[month == m]
        )
    return mean, shift, spread


def _scale(values: Floats, rest: Floats, shift: Floats, spread: Floats, wet: Bools) -> float:
    """Factor on a month's spreads that gives the month's whole spread back.

    Within a month the season's curve and the weather happen to go together or against each other;
    made weather knows no such chance, so the spread about the curve takes it over.
    """
    state = wet.astype(np.int64)
    from_curve = (values - rest).var() + shift[state].var()
    own = (spread[state] ** 2).mean()
    left = max(values.var() - from_curve, 0.25 * own)
    return float(np.sqrt(left / own)) if own > 0 else 1.0


def _wet_memory(wet: Bools, month: Ints, next_day: Ints) -> Floats:
    memory = np.zeros(12)
    for m in range(12):
        today = next_day[month[next_day] == m]
        after_wet, after_dry = wet[today[wet[today - 1]]], wet[today[~wet[today - 1]]]
        if after_wet.size and after_dry.size:
            memory[m] = after_wet.mean() - after_dry.mean()
    return memory


def _correlations(anomaly: Floats, month: Ints, next_day: Ints) -> tuple[Floats, Floats]:
    same, lagged = np.empty((12, 2, 2)), np.empty((12, 2, 2))
    for m in range(12):
        own = anomaly[month == m]
        today = next_day[month[next_day] == m]
        size = np.maximum(own.std(axis=0), NO_SPREAD)
        same[m] = own.T @ own / len(own) / np.outer(size, size)
        lagged[m] = anomaly[today].T @ anomaly[today - 1] / max(len(today), 1)
        lagged[m] /= np.outer(size, size)
    same[:, [0, 1], [1, 0]] = np.clip(same[:, [0, 1], [1, 0]], -0.95, 0.95)
    same[:, [0, 1], [0, 1]] = 1.0
    return same, lagged


def _slow_share(anomaly: Floats, days: Days, memory: Floats) -> float:
    """Share of variance that must be slow for 30-day means to vary as in the record.

    Blocks of 30 days that the record has whole; 0 where days alone explain them.
    """
    block = (days - days[0]).astype(np.int64) // BLOCK
    whole = np.bincount(block) == BLOCK
    variance = float((anomaly**2).mean())
    if whole.sum() < FEWEST_BLOCKS or variance < NO_SPREAD:
        return 0.0
    means = np.bincount(block, anomaly)[whole] / BLOCK
    found = float((means**2).mean()) / variance
    day = float(memory.mean())
    shares = np.linspace(0.0, MOST_SLOW, 401)
    quick = np.clip((day - shares * SLOW_MEMORY) / (1 - shares), 0.0, 0.99)
    made = (1 - shares) * _mean_variance(quick) + shares * _mean_variance(np.array(SLOW_MEMORY))
    return float(shares[np.argmin(np.abs(made - found))])


def _mean_variance(memory: Floats) -> Floats:
    """Variance of the mean of a block of days of a walk with variance 1."""
    lag = np.arange(1, BLOCK)
    weight = 2 * (1 - lag / BLOCK)
    variance: Floats = (1 + (weight * memory[..., None] ** lag).sum(axis=-1)) / BLOCK
    return variance
