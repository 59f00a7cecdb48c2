"""Gaps in a daily record: short ones filled and flagged, long ones told."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nuttery.reference import value
from nuttery.science.arguments import Bools, Days, Floats, float_array, refuse_where, same_length
from nuttery.science.errors import BadArgumentError, OutOfRangeError
from nuttery.science.weather.calendar import day_array

Day = np.datetime64 | str


def _day(day: Day) -> np.datetime64:
    chosen: np.datetime64 = day_array("day", [str(day)])[0]
    return chosen


@dataclass(frozen=True)
class Gap:
    """Days without a reading."""

    first: np.datetime64
    last: np.datetime64

    @property
    def days(self) -> int:
        """Length in days."""
        return int((self.last - self.first).astype(int)) + 1

    def __str__(self) -> str:
        """The gap as it is told: one day, or the first and the last."""
        return f"{self.first}" if self.first == self.last else f"{self.first} to {self.last}"


@dataclass(frozen=True)
class FilledDays:
    """Daily extremes of consecutive days.

    Attributes
    ----------
    dates : (n_days,) every day from the first to the last
    tmin, tmax : (n_days,) °C, NaN in the gaps that stay
    filled : (n_days,) bool, days on which either extreme was drawn from its neighbours
    gaps : the gaps that stay, in order
    """

    dates: Days
    tmin: Floats
    tmax: Floats
    filled: Bools
    gaps: tuple[Gap, ...]

    def refuse_gaps(self, first: Day | None = None, last: Day | None = None) -> None:
        """Stop if days from `first` to `last` are missing, and say which.

        Parameters
        ----------
        first, last : days, both included; by default those of the record

        Raises
        ------
        OutOfRangeError
            Naming every gap, days before and after the record included.

        Notes
        -----
        Source: a comparison of days; nothing is computed.
        Valid:  days in any order of record and question.

        Examples
        --------
        >>> record = fill_gaps(["2026-04-01", "2026-04-02"], [0.0, 1.0], [9.0, 8.0])
        >>> record.refuse_gaps(np.datetime64("2026-04-01"), np.datetime64("2026-04-02"))
        """
        if self.dates.size == 0:
            raise OutOfRangeError("weather: found no days, expected a record")
        start = self.dates[0] if first is None else _day(first)
        end = self.dates[-1] if last is None else _day(last)
        missing = [g for g in self.gaps if g.first <= end and g.last >= start]
        if start < self.dates[0]:
            missing.insert(0, Gap(start, min(end, self.dates[0] - 1)))
        if end > self.dates[-1]:
            missing.append(Gap(max(start, self.dates[-1] + 1), end))
        if missing:
            told = ", ".join(str(g) for g in missing)
            raise OutOfRangeError(f"weather: found no readings on {told}; expected none left out")


def fill_gaps(
    dates: ArrayLike, tmin: ArrayLike, tmax: ArrayLike, *, longest: int | None = None
) -> FilledDays:
    """Daily extremes with short gaps filled from the days beside them.

    Parameters
    ----------
    dates : (n,) rising; days may be left out
    tmin, tmax : (n,) °C, NaN where missing
    longest : days, longest gap that is filled; by default `gaps.longest.filled` (3)

    Returns
    -------
    FilledDays over every day from the first to the last date

    Raises
    ------
    BadArgumentError
        On crossed extremes, lengths that differ, dates that do not rise, or `longest` below 0.

    Notes
    -----
    Source: straight line between the days on either side. Assumed.
    Valid:  temperatures. Rain is not filled: a line would make drizzle of a storm.
    Limits: a gap at either end of the record has one neighbour only and stays. Where one extreme
        alone is drawn and passes the other, it is set equal to it; two drawn ones meet half-way.

    Examples
    --------
    >>> filled = fill_gaps(["2026-04-01", "2026-04-03"], [0.0, 2.0], [10.0, 14.0])
    >>> filled.tmax, filled.filled
    (array([10., 12., 14.]), array([False,  True, False]))
    """
    days = day_array("dates", dates)
    low = float_array("tmin", tmin, ndim=1, nan=True)
    high = float_array("tmax", tmax, ndim=1, nan=True)
    same_length(dates=days, tmin=low, tmax=high)
    refuse_where("tmin", low, low > high, "at most tmax of the same day")
    limit = int(value("gaps.longest.filled").value) if longest is None else longest
    if limit < 0:
        raise BadArgumentError(f"longest: found {limit}, expected 0 or more")
    if days.size == 0:
        return FilledDays(days, low, high, np.zeros(0, bool), ())
    every = np.arange(days[0], days[-1] + 1)
    place = (days - days[0]).astype(np.int64)
    spread = [np.full(every.size, np.nan) for _ in range(2)]
    spread[0][place], spread[1][place] = low, high
    return _filled(every, spread[0], spread[1], limit)


def _filled(days: Days, low: Floats, high: Floats, limit: int) -> FilledDays:
    new_low, new_high = _bridge(low, limit), _bridge(high, limit)
    drawn_low = np.isnan(low) & ~np.isnan(new_low)
    drawn_high = np.isnan(high) & ~np.isnan(new_high)
    crossed = new_low > new_high
    # What was read stays; what was drawn gives way, and two drawn extremes meet half-way.
    meet = np.where(
        drawn_low & drawn_high, (new_low + new_high) / 2, np.where(drawn_low, high, low)
    )
    new_low, new_high = (np.where(crossed, meet, a) for a in (new_low, new_high))
    left = np.isnan(new_low) | np.isnan(new_high)
    gaps = tuple(Gap(days[a], days[b - 1]) for a, b in _runs(left))
    return FilledDays(days, new_low, new_high, drawn_low | drawn_high, gaps)


def _bridge(values: Floats, limit: int) -> Floats:
    """Values with inner gaps of up to `limit` days on a straight line."""
    filled = values.copy()
    for start, end in _runs(np.isnan(values)):
        if start > 0 and end < values.size and end - start <= limit:
            step = (values[end] - values[start - 1]) / (end - start + 1)
            filled[start:end] = values[start - 1] + step * np.arange(1, end - start + 1)
    return filled


def _runs(wanted: Bools) -> list[tuple[int, int]]:
    """Start and end (one beyond) of every run of true values."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], wanted.astype(np.int8), [0]])))
    return [(int(a), int(b)) for a, b in edges.reshape(-1, 2)]
