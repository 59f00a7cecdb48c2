"""Calendar of a weather record: consecutive days, day of the year, month."""

import numpy as np
from numpy.typing import ArrayLike

from nuttery.science.arguments import Days, Ints, refuse_where
from nuttery.science.errors import BadArgumentError


def day_array(name: str, dates: ArrayLike, *, consecutive: bool = False) -> Days:
    """`dates` as datetime64[D], rising, each day once; on request without a day left out.

    Raises
    ------
    BadArgumentError
        With the argument, the index, the value found and what was expected.
    """
    try:
        days = np.asarray(dates, dtype="datetime64[D]")
    except (TypeError, ValueError) as problem:
        raise BadArgumentError(f"{name}: found {dates!r}, expected dates") from problem
    if days.ndim != 1:
        raise BadArgumentError(f"{name}: found shape {days.shape}, expected 1 axis")
    refuse_where(name, days, np.isnat(days), "a date")
    step = np.diff(days).astype(np.int64)
    wrong = np.concatenate([np.zeros(min(days.size, 1), bool), step <= 0])
    refuse_where(name, days, wrong, "a day after the one before it")
    if consecutive:
        wrong[1:] = step != 1
        refuse_where(name, days, wrong, "the day after the one before it (days are left out)")
    return days


def years_of(days: Days) -> Ints:
    """Calendar years of days."""
    years: Ints = days.astype("datetime64[Y]").astype(np.int64) + 1970
    return years


def months_of(days: Days) -> Ints:
    """Months of days, 0 for January."""
    months: Ints = days.astype("datetime64[M]").astype(np.int64) % 12
    return months


def days_of_year(days: Days) -> Ints:
    """Days of the year, 1 on 1 January."""
    doy: Ints = (days - days.astype("datetime64[Y]")).astype(np.int64) + 1
    return doy
