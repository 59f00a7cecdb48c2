"""Weather maker: daily weather that looks like a record, or like a stated climate."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nuttery.science.arguments import Days, Floats
from nuttery.science.errors import BadArgumentError
from nuttery.science.weather.calendar import day_array
from nuttery.science.weather.climate import MonthlyClimate, fit_climate
from nuttery.science.weather.courses import courses


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

    Two memories carry the temperature on: one of days, and a weak one of about a month that makes
    whole months, and years, warm or cold.

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
    Limits: no climate trend; rain amounts are drawn alone, day by day, so very dry and very wet
        months are rarer than real ones.
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
        Limits: most of what the day before tells fades within a week, a little lasts for a month.

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
        if after is not None and not after[0] <= after[1]:
            raise BadArgumentError(f"after: found minimum {after[0]} above maximum {after[1]}")
        if days.size == 0:
            return MadeWeather(days, *(np.empty((draws, 0)) for _ in range(3)))
        return MadeWeather(days, *courses(self.monthly, days, draws, rng, after=after))
