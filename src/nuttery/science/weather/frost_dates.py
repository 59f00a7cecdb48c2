"""Last frost of spring and first of autumn, year by year."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nuttery.science.arguments import Bools, Days, Floats, Ints, float_array, same_length
from nuttery.science.weather.calendar import day_array, months_of, years_of

AUGUST = 7


@dataclass(frozen=True)
class FrostDates:
    """Frost dates of each calendar year in a record.

    Attributes
    ----------
    years : (n_years,) int
    last_spring : (n_years,) datetime64[D], NaT where none
    first_autumn : (n_years,) datetime64[D], NaT where none
    threshold : °C, a day at or below it has frost
    spring_days, autumn_days : (n_years,) int, days of January to July (212 or 213) and of August
        to December (153) that the record has
    """

    years: Ints
    last_spring: Days
    first_autumn: Days
    threshold: float
    spring_days: Ints
    autumn_days: Ints

    @property
    def frost_free_days(self) -> Floats:
        """Days between the two frosts, both left out; NaN where one is missing."""
        gap = (self.first_autumn - self.last_spring).astype(np.float64) - 1
        return np.where(np.isnat(self.last_spring) | np.isnat(self.first_autumn), np.nan, gap)


def frost_dates(tmin: ArrayLike, dates: ArrayLike, threshold: float) -> FrostDates:
    """Last day of January to July and first of August to December at or below a threshold.

    Parameters
    ----------
    tmin : (n_days,) °C
    dates : (n_days,) rising; days may be left out
    threshold : °C

    Returns
    -------
    FrostDates, one entry a calendar year

    Raises
    ------
    BadArgumentError
        On a gap (NaN), dates that do not rise, or lengths that differ.

    Notes
    -----
    Source: definition as used in frost climatologies, northern hemisphere. Common practice.
    Valid:  sites whose warmest month is July or August.
    Limits: NaT also where the record does not reach that part of the year: look at
        `.spring_days` and `.autumn_days` before calling a year free of frost.

    Examples
    --------
    >>> frost = frost_dates([-1, 2, 0], ["2026-04-30", "2026-05-01", "2026-09-20"], 0.0)
    >>> frost.last_spring, frost.first_autumn
    (array(['2026-04-30'], dtype='datetime64[D]'), array(['2026-09-20'], dtype='datetime64[D]'))
    """
    low = float_array("tmin", tmin, ndim=1)
    days = day_array("dates", dates)
    same_length(tmin=low, dates=days)
    years, row = np.unique(years_of(days), return_inverse=True)
    spring = months_of(days) < AUGUST
    frost = low <= threshold
    last = np.full(years.size, np.datetime64("NaT", "D"))
    first = last.copy()
    # Days rise, so of several writes to one year the last one stays.
    last[row[frost & spring]] = days[frost & spring]
    autumn = np.flatnonzero(frost & ~spring)[::-1]
    first[row[autumn]] = days[autumn]
    return FrostDates(
        years, last, first, threshold, _counts(row, spring, years), _counts(row, ~spring, years)
    )


def _counts(row: Ints, chosen: Bools, years: Ints) -> Ints:
    return np.bincount(row[chosen], minlength=years.size).astype(np.int64)
