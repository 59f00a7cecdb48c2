"""Plain daily or hourly tables with units in the header, as a person or a logger writes them."""

import re
from dataclasses import dataclass

import numpy as np

from nuttery.exchange.weather import plain_time
from nuttery.exchange.weather.clock import Stamps
from nuttery.exchange.weather.daily import daily_record
from nuttery.exchange.weather.errors import Account
from nuttery.exchange.weather.hourly import OWN, hourly_record
from nuttery.exchange.weather.numbers import has_decimal_comma, numbers
from nuttery.exchange.weather.readings import Readings, table_readings
from nuttery.exchange.weather.record import DAILY, HOURLY, WeatherRecord
from nuttery.exchange.weather.site import Site, place_number, refuse_other
from nuttery.exchange.weather.source import Source
from nuttery.exchange.weather.table import Table, clip, delimiter_of, read_table
from nuttery.exchange.weather.telling import NAMES, number
from nuttery.exchange.weather.units import (
    ALLOWED,
    WITHOUT_UNIT,
    name_and_unit,
    plain_name,
    units_of,
)

NAME = OWN
ALIASES = {
    "tmax": (
        "tmax t_max max temp_max max_temp temperature_max max_temperature maximum_temperature "
        "temp_high high air_temp_max tx"
    ),
    "tmin": (
        "tmin t_min min temp_min min_temp temperature_min min_temperature minimum_temperature "
        "temp_low low air_temp_min tn"
    ),
    "temp": "temp t tair t_air temperature air_temp air_temperature temp_air dry_bulb",
    "rh": "rh humidity relative_humidity rel_humidity rel_hum hum",
    "wind_speed": "wind_speed windspeed wind ws speed wind_spd",
    "wind_from": "wind_from wind_dir wind_direction winddirection wd wdir",
    "rain": "rain rainfall precip precipitation prcp ppt rain_total total_rain precipitation_total",
}
NAMED = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar", " ": "blank"}
ELEMENT_OF = {alias: element for element, many in ALIASES.items() for alias in many.split()}
REMARK = re.compile(r"#\s*([A-Za-z][\w ]*?)\s*[:=]\s*(.+)")
SITE = {
    "station": "station",
    "name": "station",
    "latitude": "latitude",
    "lat": "latitude",
    "longitude": "longitude",
    "lon": "longitude",
    "elevation": "elevation",
    "elevation_m": "elevation",
    "utc_offset": "utc_offset",
}
WANTED = (
    "a header with a date or time and columns such as tmax_C, tmin_F, rain_in, temp_C, "
    "wind_speed_mps"
)


@dataclass(frozen=True)
class Field:
    """A column of the table that holds an element, and the unit it is written in."""

    element: str
    index: int
    unit: str


def header_index(source: Source) -> int | None:
    """Index of the line that has a time and an element; None if there is none near the top."""
    for i, line in enumerate(source.lines[:60]):
        if line.startswith("#") or not line.strip():
            continue
        delimiter = delimiter_of(source.lines[i : i + 30])
        if delimiter is None:
            continue
        titles = [title.strip().strip('"') for title in line.split(delimiter)]
        elements = {ELEMENT_OF.get(name_and_unit(title)[0]) for title in titles} - {None}
        if elements and plain_time.has_time(titles):
            return i
    return None


def recognises(source: Source) -> bool:
    """Whether a header with a time and at least one element stands near the top."""
    return header_index(source) is not None


def read(source: Source, account: Account, station: str | None = None) -> WeatherRecord:
    """Days or hours of a plain table.

    Notes
    -----
    A table whose stamps have a time of day is hourly, any other daily. Lines above the header
    such as `# latitude: 46.1` (also longitude, elevation, utc_offset, station) are taken.
    """
    index = header_index(source)
    if index is None:
        account.refuse(1, None, clip(source.lines[0]), WANTED)
    delimiter = delimiter_of(source.lines[index : index + 30]) or ","
    table = read_table(source, index, delimiter, account)
    if not len(table) and not account.faults:
        account.refuse(table.header_line, None, "no row below the header", "at least one")
    account.tell(f"Delimiter {NAMED.get(delimiter, delimiter)}, encoding {source.encoding}.")
    when = plain_time.times(table, account)
    site = _site(source, index, when.utc_offset, account)
    refuse_other(site, station, account, line=None)
    account.tell(*when.told)
    daily = not when.clock or _one_a_day(table, when)
    if daily:
        when = plain_time.whole_days(when)
    fields = _fields(table, DAILY if daily else HOURLY, account)
    readings = _readings(table, fields, when, account)
    if daily:
        return daily_record(source, NAME, readings, site=site, account=account)
    return hourly_record(source, NAME, readings, site=site, stamp="instant", account=account)


def _one_a_day(table: Table, when: Stamps) -> bool:
    """Whether daily extremes stand here with a stamp of the same time of day in each row."""
    used_for_time = plain_time.time_columns(table.header)
    others = [title for i, title in enumerate(table.header) if i not in used_for_time]
    names = {ELEMENT_OF.get(name_and_unit(title)[0]) for title in others}
    minutes = np.unique(when.time[~np.isnat(when.time)].astype(np.int64) % 1440)
    return bool(names & {"tmax", "tmin"}) and "temp" not in names and minutes.size == 1


def _site(source: Source, header: int, offset: float | None, account: Account) -> Site:
    """What the remarks above the header say of the place."""
    known: dict[str, str | float | None] = {"utc_offset": offset}
    for i, line in enumerate(source.lines[:header]):
        remark = REMARK.match(line)
        name = SITE.get(plain_name(remark[1])) if remark else None
        if remark is None or name is None:
            continue
        text = remark[2].strip()
        if name == "station":
            known[name] = text
            continue
        value = place_number(name, text, account, line=i + 1, column=name)
        if name == "utc_offset" and offset not in {None, value}:
            account.fault(i + 1, name, clip(text), f"{offset:+g} as the stamps have it")
        known[name] = value
    return Site(**known)  # type: ignore[arg-type]  # the table above says which is text


def _fields(table: Table, wanted: tuple[str, ...], account: Account) -> list[Field]:
    fields: dict[str, Field] = {}
    unused = []
    used_for_time = plain_time.time_columns(table.header)
    for i, title in enumerate(table.header):
        name, unit = name_and_unit(title)
        element = ELEMENT_OF.get(name)
        if i in used_for_time:
            continue
        if element not in wanted or element is None:
            unused.append(title)
        elif element in fields:
            other = table.header[fields[element].index]
            found = f"{clip(title)} beside {clip(other)}"
            account.fault(
                table.header_line, table.column(i), found, f"one column of {NAMES[element]}"
            )
        elif (unit := unit or WITHOUT_UNIT.get(element)) not in ALLOWED[element]:
            found = "no unit" if unit is None else f"unit {unit}"
            account.fault(
                table.header_line, table.column(i), found, f"a unit of {units_of(element)}"
            )
        else:
            fields[element] = Field(element, i, str(unit))
    if not fields and not account.faults:
        found = "no column of weather"
        account.fault(table.header_line, None, found, f"one of {', '.join(wanted)}")
    if unused:
        account.tell(
            f"Not used: {', '.join(title or 'a column without a name' for title in unused)}."
        )
    return list(fields.values())


def _readings(
    table: Table,
    fields: list[Field],
    when: Stamps,
    account: Account,
) -> list[Readings]:
    comma = has_decimal_comma(table, [field.index for field in fields])
    if comma:
        account.tell("Decimal comma.")
    return [_one(table, field, when, account, comma=comma) for field in fields]


def _one(
    table: Table,
    field: Field,
    when: Stamps,
    account: Account,
    *,
    comma: bool,
) -> Readings:
    rain = field.element == "rain"
    column = numbers(table, field.index, account, comma=comma, trace=rain)
    values = ALLOWED[field.element][field.unit](column.values)
    if rain and column.trace.any():
        account.tell(f"{number(int(column.trace.sum()), 'trace')} of rain counted as 0 mm.")
    if column.sentinels:
        count = number(column.sentinels, "value")
        account.tell(f"{count} of {NAMES[field.element]} such as -9999 taken as missing.")
    if field.unit == "%" and 0 < np.nanmax(values, initial=0) <= 1:
        found = f"no value above {np.nanmax(values):g}"
        account.fault(table.header_line, table.column(field.index), found, "per cent, 0 to 100")
    return table_readings(table, field.index, field.element, when.time, values)
