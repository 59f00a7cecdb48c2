"""TMY3: a line for the site, a line of titles, hours of local standard time that end at 24:00."""

import numpy as np

from nuttery.exchange.weather.clock import stamps
from nuttery.exchange.weather.epw import of_one_hour
from nuttery.exchange.weather.errors import Account
from nuttery.exchange.weather.hourly import hourly_record
from nuttery.exchange.weather.numbers import numbers
from nuttery.exchange.weather.readings import Readings, table_readings
from nuttery.exchange.weather.record import Times, WeatherRecord
from nuttery.exchange.weather.site import Site, place_number, refuse_other
from nuttery.exchange.weather.source import Source
from nuttery.exchange.weather.table import Table, cells_of
from nuttery.exchange.weather.titled import header_with, known_table, need
from nuttery.exchange.weather.typical import runs_on

NAME = "TMY3"
DATE, CLOCK = "Date (MM/DD/YYYY)", "Time (HH:MM)"
COLUMNS = {
    "Dry-bulb (C)": "temp",
    "RHum (%)": "rh",
    "Wspd (m/s)": "wind_speed",
    "Wdir (degrees)": "wind_from",
}
DEPTH, HOURS = "Lprecip depth (mm)", "Lprecip quantity (hr)"
MISSING = frozenset({-9900.0})
PLACES = {"utc_offset": 3, "latitude": 4, "longitude": 5, "elevation": 6}


def recognises(source: Source) -> bool:
    """Whether the second line has the titles of TMY3."""
    return header_with(source, [DATE, CLOCK, "Dry-bulb (C)"], within=5) == 1


def read(source: Source, account: Account, station: str | None = None) -> WeatherRecord:
    """Hours of a TMY3 file.

    Notes
    -----
    Source: Wilcox and Marion 2008, Users Manual for TMY3 Data Sets, NREL/TP-581-43156. Published
        (layout), secondary source (-9900 = missing).
    Valid:  the hour that ends at hh:mm; its stamp here is its start.
    Limits: rain is taken where it is the depth of one hour.
    """
    site = _site(source, account)
    refuse_other(site, station, account, line=1)
    table = known_table(source, [DATE, CLOCK], account)
    time = _times(table, account)
    account.tell(
        "Stamps of the file end the hour (01:00 to 24:00); here they are its start, in local "
        "standard time."
    )
    readings = [
        _readings(table, title, element, time, account)
        for title, element in COLUMNS.items()
        if table.index(title) is not None
    ]
    if table.index(DEPTH) is not None and table.index(HOURS) is not None:
        readings.append(_rain(table, time, account))
    return hourly_record(
        source,
        NAME,
        readings,
        site=site,
        stamp="start of hour",
        account=account,
        typical=not runs_on(time),
    )


def _site(source: Source, account: Account) -> Site:
    cells = cells_of(source, 0, account)
    if len(cells) < 7:
        wanted = "7: number, name, state, UTC offset, latitude, longitude, elevation"
        account.refuse(1, None, f"{len(cells)} cells", wanted)
    found = {
        name: place_number(name, cells[i], account, line=1, column=f"column {i + 1}")
        for name, i in PLACES.items()
    }
    return Site(station=cells[1] or cells[0] or None, **found)


def _times(table: Table, account: Account) -> Times:
    date, clock = need(table, DATE), need(table, CLOCK)
    cells = [
        f"{a.strip()} {b.strip()}"
        for a, b in zip(table.columns[date], table.columns[clock], strict=True)
    ]

    def place(i: int) -> tuple[int, str]:
        return table.lines[i], table.column(date)

    ends = stamps(cells, place, account, style="month first").time
    starts: Times = ends - np.timedelta64(60, "m")
    return starts


def _readings(table: Table, title: str, element: str, time: Times, account: Account) -> Readings:
    index = need(table, title)
    values = numbers(table, index, account, missing=MISSING).values
    return table_readings(table, index, element, time, values)


def _rain(table: Table, time: Times, account: Account) -> Readings:
    depth, hours = (
        numbers(table, need(table, title), account, missing=MISSING).values
        for title in (DEPTH, HOURS)
    )
    values = of_one_hour(depth, hours, account)
    return table_readings(table, need(table, DEPTH), "rain", time, values)
