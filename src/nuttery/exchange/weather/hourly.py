"""From readings within hours to a record: one row an hour, faults found, gaps told."""

import numpy as np

from nuttery.exchange.weather.errors import Account
from nuttery.exchange.weather.readings import Readings, refuse_twice, whole_hours
from nuttery.exchange.weather.record import HOURLY, Floats, Ints, Stamp, Times, WeatherRecord
from nuttery.exchange.weather.site import Site
from nuttery.exchange.weather.source import Source
from nuttery.exchange.weather.telling import coverage, gaps, number, span, typical_span

OWN = "plain table"


def hourly_record(
    source: Source,
    form: str,
    readings: list[Readings],
    *,
    site: Site,
    stamp: Stamp,
    account: Account,
    typical: bool = False,
) -> WeatherRecord:
    """An hourly record from the readings of a file.

    Parameters
    ----------
    source : the file
    form : name of its format
    readings : of each element at most one, times in any order; several readings in an hour are
        averaged (wind direction as a vector), rain is added up
    site : where they were made
    stamp : what a time stands for
    account : of the file, for faults and for what is told
    typical : a typical year: its stamps stay as they are, in the order of the file

    Raises
    ------
    WeatherFileError
        If there are faults: those met before, unbelievable values, a time twice, or no hour.
    """
    if form != OWN:
        readings = [series.without_few_unbelievable(account) for series in readings]
    for series in readings:
        refuse_twice(series, "time once (a clock set back in autumn makes two)", account)
        series.refuse_unbelievable("hourly", account)
    account.refuse_if_faulty()
    if not any(series.time.size for series in readings):
        account.refuse(None, None, "no hour with weather", "at least one")
    time = readings[0].time if typical else _every_hour(readings)
    elements = {name: np.full(time.size, np.nan) for name in HOURLY}
    crowded = 0
    for series in readings:
        if typical:
            elements[series.element] = series.values
        else:
            crowded = max(crowded, _into(elements[series.element], time, series))
    read = (form, site.station, time)
    sentences = [typical_span(*read) if typical else span(*read, "hourly"), *account.told]
    if crowded > 1:
        sentences.append(
            f"Up to {crowded} readings an hour: averaged over the hour that follows the stamp "
            "(wind direction as a vector), rain added up."
        )
    sentences += _at_most_saturated(elements["rh"])
    return WeatherRecord(
        file=source.name,
        format=form,
        resolution="hourly",
        time=time,
        stamp="start of hour" if crowded > 1 else stamp,
        typical=typical,
        **vars(site),
        temp=elements["temp"],
        rh=elements["rh"],
        wind_speed=elements["wind_speed"],
        wind_from=elements["wind_from"],
        rain=elements["rain"],
        told=(*sentences, coverage(elements), *([] if typical else gaps(time, elements, "hourly"))),
    )


def _every_hour(readings: list[Readings]) -> Times:
    stamps = whole_hours(np.concatenate([series.time for series in readings]))
    hours: Times = np.arange(
        stamps.min(), stamps.max() + np.timedelta64(60, "m"), np.timedelta64(60, "m")
    )
    return hours


def _into(hours: Floats, time: Times, series: Readings) -> int:
    """Put readings into their hours; the largest number of readings in one hour."""
    row: Ints = (whole_hours(series.time) - time[0]).astype(np.int64) // 60
    count = np.bincount(row, minlength=hours.size)
    if count.max(initial=0) <= 1:
        hours[row] = series.values
    else:
        hours[:] = _joined(series, row, hours.size)
    return int(count.max(initial=0))


def _joined(series: Readings, row: Ints, size: int) -> Floats:
    """Mean of the readings in each hour; sum for rain, missing if one of its readings is."""
    if series.element == "wind_from":
        return _mean_direction(series.values, row, size)
    present = np.isfinite(series.values)
    total = np.bincount(row[present], series.values[present], minlength=size)
    count = np.bincount(row[present], minlength=size)
    everyone = np.bincount(row, minlength=size)
    if series.element == "rain":
        return np.where((count == everyone) & (count > 0), total, np.nan)
    with np.errstate(invalid="ignore", divide="ignore"):
        mean: Floats = total / count
    return mean


def _mean_direction(degrees: Floats, row: Ints, size: int) -> Floats:
    """Direction of the sum of unit vectors; missing where they cancel out."""
    present = np.isfinite(degrees)
    angle = np.radians(degrees[present])
    east = np.bincount(row[present], np.sin(angle), minlength=size)
    north = np.bincount(row[present], np.cos(angle), minlength=size)
    direction = np.degrees(np.arctan2(east, north)) % 360
    return np.where(np.hypot(east, north) > 1e-9, direction, np.nan)


def _at_most_saturated(rh: Floats) -> list[str]:
    """Take what a sensor read beyond 100 % as 100 %, and tell."""
    above = rh > 100
    if not above.any():
        return []
    highest = np.nanmax(rh)
    rh[above] = 100
    count = number(int(above.sum()), "value")
    return [f"{count} of relative humidity above 100 % (up to {highest:g} %) taken as 100 %."]
