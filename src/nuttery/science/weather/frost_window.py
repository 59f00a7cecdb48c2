"""Frost dates to expect, from a recent window of years, with the trend named."""

from dataclasses import dataclass

import numpy as np

from nuttery.reference import value
from nuttery.science.arguments import Days, Floats, Ints, one_of
from nuttery.science.errors import BadArgumentError
from nuttery.science.weather.calendar import days_of_year
from nuttery.science.weather.frost_dates import FrostDates

SPRING_DAYS, AUTUMN_DAYS = 212, 153
MOST_LEFT_OUT = 5
FEWEST_YEARS = 5


@dataclass(frozen=True)
class Trend:
    """Straight line through the dates of all years on record.

    Attributes
    ----------
    per_decade, low, high : days a decade, with an 80 % interval
    first_year, last_year : years that it runs over
    n_records : years with a date
    """

    per_decade: float
    low: float
    high: float
    first_year: int
    last_year: int
    n_records: int

    @property
    def words(self) -> str:
        """The trend in words.

        Examples
        --------
        >>> Trend(-1.2, -1.9, -0.5, 1950, 2020, 71).words
        '1.2 days a decade earlier over 1950-2020 (80 % interval 1.9 to 0.5 earlier)'
        >>> Trend(0.3, -0.6, 1.2, 1990, 2020, 31).words
        'no clear trend over 1990-2020 (80 % interval 0.6 earlier to 1.2 later a decade)'
        """
        years = f"{self.first_year}-{self.last_year}"
        ends = self.low, self.high
        if self.low <= 0 <= self.high:
            told = f"{-self.low:.1f} earlier to {self.high:.1f} later a decade"
            return f"no clear trend over {years} (80 % interval {told})"
        way = "earlier" if self.per_decade < 0 else "later"
        told = f"{abs(ends[0]):.1f} to {abs(ends[1]):.1f} {way}"
        size = abs(self.per_decade)
        return f"{size:.1f} days a decade {way} over {years} (80 % interval {told})"


@dataclass(frozen=True)
class FrostDateSpread:
    """Dates of one frost in the years of a window.

    Attributes
    ----------
    season : "spring" (last frost) or "autumn" (first frost)
    median, low, high : day of the year (1 on 1 January); NaN where that share of years has none
    days : (n_records,) day of the year in each year of the window, NaN in a year without
    years : (n_records,) the years of the window that count
    trend : over the whole record, None with fewer than five years with a date
    """

    season: str
    median: float
    low: float
    high: float
    days: Floats
    years: Ints
    trend: Trend | None

    @property
    def n_records(self) -> int:
        """Years of the window that count."""
        return int(self.years.size)

    def chance_after(self, day_of_year: float) -> float:
        """Chance of a spring frost after, or of no autumn frost until after, a day of the year.

        Parameters
        ----------
        day_of_year : 1 on 1 January

        Returns
        -------
        chance, never 0 or 1

        Notes
        -----
        Source: share of the window's years with half a year added to either side (Jeffreys 1946).
        Valid:  years that are alike; a trend over the window is not taken out.

        Examples
        --------
        >>> days = np.array([120.0, 130.0, 125.0, np.nan])
        >>> years = np.arange(2017, 2021)
        >>> FrostDateSpread("spring", 122.5, 120, 130, days, years, None).chance_after(127)
        0.3
        """
        none = -np.inf if self.season == "spring" else np.inf
        later = (np.where(np.isnan(self.days), none, self.days) > day_of_year).sum()
        return float((later + 0.5) / (self.n_records + 1))


def frost_date_spread(
    frost: FrostDates,
    season: str = "spring",
    *,
    window: int | None = None,
    until: int | None = None,
    coverage: float = 0.8,
) -> FrostDateSpread:
    """Spread of last spring or first autumn frosts over recent years.

    Parameters
    ----------
    frost : as `frost_dates` gives it
    season : "spring" or "autumn"
    window : number of calendar years; by default `frost.dates.window` (30)
    until : last year of the window; by default the last one that the record covers
    coverage : share of the years' dates between low and high

    Returns
    -------
    FrostDateSpread

    Raises
    ------
    BadArgumentError
        On an unknown season, a coverage not between 0 and 1, or fewer than five covered years in
        the window.

    Notes
    -----
    Source: quantiles of the window's dates (by linear interpolation, or by rank where a year has
        no frost), and least squares over the whole record for the trend.
    Valid:  years that miss at most five days of the half-year asked for; others do not count.
    Limits: where there is a trend a long mean misleads; so does a window, by half its length.

    Examples
    --------
    >>> from nuttery.science.weather.frost_dates import frost_dates
    >>> days = np.arange("1990-01-01", "2020-01-01", dtype="datetime64[D]")
    >>> season = np.cos(2 * np.pi * ((days - days.astype("datetime64[Y]")).astype(int) - 15) / 365)
    >>> spread = frost_date_spread(frost_dates(-12 * season, days, -2.0))
    >>> spread.n_records, spread.trend.words[:14]
    (30, 'no clear trend')
    """
    one_of("season", season, ("spring", "autumn"))
    if not 0 < coverage < 1:
        raise BadArgumentError(f"coverage: found {coverage:g}, expected between 0 and 1")
    years, dates = _covered(frost, season)
    days = _day_numbers(dates)
    length = int(value("frost.dates.window").value) if window is None else window
    end = (int(years[-1]) if years.size else 0) if until is None else until
    recent = (years > end - length) & (years <= end)
    if recent.sum() < FEWEST_YEARS:
        raise BadArgumentError(
            f"frost: found {int(recent.sum())} covered years in the {length} until {end}, "
            f"expected {FEWEST_YEARS} or more"
        )
    low, median, high = _quantiles(days[recent], season, coverage)
    return FrostDateSpread(
        season, median, low, high, days[recent], years[recent], _trend(years, days)
    )


def _covered(frost: FrostDates, season: str) -> tuple[Ints, Days]:
    if season == "spring":
        whole = frost.spring_days >= SPRING_DAYS - MOST_LEFT_OUT
        return frost.years[whole], frost.last_spring[whole]
    whole = frost.autumn_days >= AUTUMN_DAYS - MOST_LEFT_OUT
    return frost.years[whole], frost.first_autumn[whole]


def _day_numbers(dates: Days) -> Floats:
    some = np.where(np.isnat(dates), np.datetime64("2001-01-01", "D"), dates)
    return np.where(np.isnat(dates), np.nan, days_of_year(some))


def _quantiles(days: Floats, season: str, coverage: float) -> tuple[float, float, float]:
    places = [(1 - coverage) / 2, 0.5, (1 + coverage) / 2]
    if not np.isnan(days).any():
        low, median, high = np.quantile(days, places)
        return float(low), float(median), float(high)
    none = -np.inf if season == "spring" else np.inf
    ranked = np.quantile(np.where(np.isnan(days), none, days), places, method="inverted_cdf")
    low, median, high = np.where(np.isinf(ranked), np.nan, ranked)
    return float(low), float(median), float(high)


def _trend(years: Ints, days: Floats) -> Trend | None:
    from scipy.special import stdtrit

    dated = ~np.isnan(days)
    x, y = years[dated].astype(np.float64), days[dated]
    if x.size < FEWEST_YEARS:
        return None
    x0 = x - x.mean()
    slope = float(x0 @ y / (x0 @ x0))
    rest = y - y.mean() - slope * x0
    error = float(np.sqrt(rest @ rest / (x.size - 2) / (x0 @ x0)) * stdtrit(x.size - 2, 0.9))
    ends = 10 * (slope - error), 10 * (slope + error)
    return Trend(10 * slope, *ends, int(x[0]), int(x[-1]), int(x.size))
