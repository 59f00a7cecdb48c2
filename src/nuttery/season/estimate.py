"""Uncertain answers: a middle, an interval, and what they rest on."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

Sure = Literal["sure", "likely", "a guess"]


@dataclass(frozen=True)
class Estimate:
    """A number with an 80 % interval, its unit, and the number of records it rests on.

    `basis` is "learned", "prior" (nothing of this planting's own yet), or the certainty of the
    reference value it rests on.
    """

    median: float
    low: float
    high: float
    unit: str = ""
    records: int = 0
    basis: str = "learned"

    def told(self, digits: int = 2) -> str:
        """Text such as "0.84 kg (0.60-1.10)".

        Examples
        --------
        >>> Estimate(0.84, 0.6, 1.1, "kg").told()
        '0.84 kg (0.60–1.10)'
        """
        middle = f"{self.median:.{digits}f} {self.unit}".strip()
        return f"{middle} ({self.low:.{digits}f}–{self.high:.{digits}f})"


@dataclass(frozen=True)
class Window:
    """A day with an 80 % interval, and the chance that it has already come."""

    median: date
    low: date
    high: date
    chance_past: float = 0.0
    records: int = 0
    basis: str = "learned"

    def told(self) -> str:
        """Text such as "14 Apr (10–19 Apr)".

        Examples
        --------
        >>> Window(date(2027, 4, 14), date(2027, 4, 10), date(2027, 4, 19)).told()
        '14 Apr (10–19 Apr)'
        >>> Window(date(2027, 5, 1), date(2027, 4, 28), date(2027, 5, 4)).told()
        '1 May (28 Apr – 4 May)'
        """
        return f"{day_told(self.median)} ({span_told(self.low, self.high)})"


def day_told(day: date) -> str:
    """Day and month, as "14 Apr"."""
    return f"{day.day} {day:%b}"


def span_told(first: date, last: date) -> str:
    """Two days, as "10–19 Apr" or "28 Apr – 4 May"."""
    if first == last:
        return day_told(first)
    if first.month == last.month and first.year == last.year:
        return f"{first.day}–{day_told(last)}"
    return f"{day_told(first)} – {day_told(last)}"


def day_of(year: int, doy: float) -> date:
    """Calendar day of a day of year, which may lie outside the year.

    Examples
    --------
    >>> day_of(2027, 1.2), day_of(2027, 0)
    (datetime.date(2027, 1, 1), datetime.date(2026, 12, 31))
    """
    return date(year, 1, 1) + timedelta(days=round(doy) - 1)


def doy_of(day: date, year: int) -> int:
    """Day of year of a calendar day, counted from 1 January of `year`."""
    return (day - date(year, 1, 1)).days + 1
