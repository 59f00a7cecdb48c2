"""Several weather reports an hour: the one that counts for each full hour."""

from dataclasses import dataclass, field

import numpy as np

from nuttery.exchange.weather.readings import Readings
from nuttery.exchange.weather.record import Floats, Ints, Times

HOUR = 60


@dataclass
class Reports:
    """How many reports there were, and how many were taken."""

    read: int
    taken: set[int] = field(default_factory=set)

    def told(self) -> str:
        """What became of the reports, in a sentence."""
        return (
            f"Of {self.read:,} reports the one nearest to each full hour was taken, element by "
            f"element: {len(self.taken):,} reports."
        )


def nearest_hour(time: Times) -> Times:
    """Full hour that is nearest to each report; half an hour belongs to the next.

    Examples
    --------
    >>> nearest_hour(np.array(["2020-05-01T13:53", "2020-05-01T13:20"], "datetime64[m]"))
    array(['2020-05-01T14:00', '2020-05-01T13:00'], dtype='datetime64[m]')
    """
    minutes = time.astype("datetime64[m]").astype(np.int64)
    hours: Times = ((minutes + HOUR // 2) // HOUR * HOUR).view("datetime64[m]")
    return hours


def one_an_hour(readings: Readings, rank: Ints, reports: Reports) -> Readings:
    """Of each hour the value whose report is nearest; among equals the lower rank, then the first.

    Parameters
    ----------
    readings : all reports of one element, in any order
    rank : (n,) what kind of report it is, 0 = the most trusted
    reports : keeps count
    """
    hour = nearest_hour(readings.time)
    away = np.abs((readings.time - hour).astype(np.int64))
    missing = np.isnan(readings.values)
    order = np.lexsort((np.arange(hour.size), rank, away, missing, hour))
    _, first = np.unique(hour[order], return_index=True)
    rows: Ints = order[first]
    reports.taken.update(rows[~missing[rows]].tolist())
    return picked(readings, rows, hour[rows])


def picked(readings: Readings, rows: Ints, time: Times) -> Readings:
    """Some of the readings, with the time that they are to have."""
    return Readings(
        readings.element,
        time,
        readings.values[rows],
        lambda i: readings.place(int(rows[i])),
        lambda i: readings.written(int(rows[i])),
    )


def routine_minute(time: Times) -> int:
    """Minute of the hour at which most reports are made, 0 if there are none.

    Examples
    --------
    >>> stamps = ["2020-05-01T13:53", "2020-05-01T14:05", "2020-05-01T14:53"]
    >>> routine_minute(np.array(stamps, "datetime64[m]"))
    53
    """
    minutes = time.astype("datetime64[m]").astype(np.int64) % HOUR
    return int(np.bincount(minutes, minlength=HOUR).argmax())


def since_last_routine(readings: Readings) -> Readings:
    """Rain of each hour from amounts that run up since the last routine report.

    Notes
    -----
    The amount grows from one routine report to the next, so the largest of that span is the
    rain of the hour; it is put to the full hour nearest to the routine report.
    """
    routine = routine_minute(readings.time)
    minutes = readings.time.astype("datetime64[m]").astype(np.int64)
    end = minutes + (routine - minutes) % HOUR
    hour = nearest_hour(end.view("datetime64[m]"))
    amount: Floats = np.where(np.isnan(readings.values), -1.0, readings.values)
    order = np.lexsort((-amount, hour))
    _, first = np.unique(hour[order], return_index=True)
    rows: Ints = order[first]
    return picked(readings, rows, hour[rows])
