"""Keeping a weather record: what is new is added, what differs is refused."""

from collections.abc import Iterator, Mapping

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import Connection, func, insert, select, update

from nuttery.store import tables as t
from nuttery.store.errors import WeatherRefused
from nuttery.store.inserting import put
from nuttery.store.versions import raise_version
from nuttery.store.weather_out import table_of
from nuttery.store.weather_types import (
    KINDS,
    PLACE,
    Floats,
    Ints,
    KeptWeather,
    Kind,
    Record,
    Times,
    WeatherTable,
)

_UNITS = {"latitude": "°", "longitude": "°", "elevation": " m", "utc_offset": " h"}


def keep_table(
    connection: Connection,
    table: WeatherTable,
    *,
    planting: int,
    source: str,
    trust: int | None,
    replace: bool,
) -> KeptWeather:
    """Keep a table within the transaction that is open; see `Register.keep_weather`."""
    kind, offered = table.kind, table.values
    times = table.time.astype(np.int64)
    number, moved = _source(connection, table, planting=planting, name=source, trust=trust)
    kept = _kept(connection, kind, number, times)
    missing = np.isnan(offered)
    clash = ~missing & ~np.isnan(kept) & (offered != kept)
    if clash.any() and not replace:
        raise WeatherRefused(list(_clashes(kind, times, kept, offered, clash)))
    changed = clash.any(axis=1)
    added = (~missing & np.isnan(kept)).any(axis=1) & ~changed
    _write(connection, kind, number, times, np.where(missing, kept, offered), added | changed)
    if moved or (added | changed).any():
        raise_version(connection, [planting])
    already = ~(missing.all(axis=1) | added | changed)
    return KeptWeather(int(added.sum()), int(already.sum()), int(changed.sum()))


def table_from(record: Record) -> WeatherTable:
    """Return a record as a table.

    Raises
    ------
    WeatherRefused
        If it contradicts itself.
    """
    if record.resolution not in KINDS:
        raise WeatherRefused([f"resolution: found {record.resolution!r}, expected daily or hourly"])
    kind = KINDS[record.resolution]
    columns = {name: getattr(record, name) for name in kind.elements}
    place = {name: _number(getattr(record, name)) for name in PLACE}
    return checked_table(kind, record.time, columns, place)


def checked_table(
    kind: Kind,
    time: Times,
    columns: Mapping[str, Floats],
    place: Mapping[str, float | None],
) -> WeatherTable:
    """Return columns as a table, if they fit together; see `table_from`."""
    time = np.asarray(time)
    whole = time.astype(f"datetime64[{kind.unit}]")
    values = {name: np.asarray(column, dtype=np.float64) for name, column in columns.items()}
    faults = [*_time_faults(kind, time, whole), *_value_faults(values, time.size)]
    if faults:
        raise WeatherRefused(faults)
    return WeatherTable(kind, whole, np.column_stack(list(values.values())), place)


def _time_faults(kind: Kind, time: Times, whole: Times) -> Iterator[str]:
    for wrong, expected in (
        (np.isnat(time), "a time"),
        (~np.isnat(time) & (whole != time), f"a full {kind.name}"),
        (np.r_[False, whole[1:] <= whole[:-1]][: time.size], "a time after the one before it"),
    ):
        if wrong.any():
            index = int(np.flatnonzero(wrong)[0])
            yield f"time[{index}]: found {time[index]}, expected {expected}"


def _value_faults(values: Mapping[str, Floats], size: int) -> Iterator[str]:
    for name, column in values.items():
        if column.shape != (size,):
            yield f"{name}: found shape {column.shape}, expected ({size},)"
        elif np.isinf(column).any():
            index = int(np.flatnonzero(np.isinf(column))[0])
            yield f"{name}[{index}]: found {column[index]}, expected a number or NaN"


def _source(
    connection: Connection, table: WeatherTable, *, planting: int, name: str, trust: int | None
) -> tuple[int, bool]:
    """Return the source's number, and whether what is known of it changed."""
    here = (t.weather_source.c.planting == planting) & (t.weather_source.c.name == name)
    known = connection.execute(select(t.weather_source).where(here)).mappings().first()
    place = table.place
    if known is None:
        return _new_source(connection, planting=planting, name=name, trust=trust, place=place), True
    faults = [
        f"{key}: found {place[key]:g}{unit}, expected {known[key]:g}{unit} as {name!r} has it; "
        "a station that moved is another source"
        for key, unit in _UNITS.items()
        if None not in {place[key], known[key]} and place[key] != known[key]
    ]
    if faults:
        raise WeatherRefused(faults)
    fresh = {key: value for key, value in place.items() if known[key] is None and value is not None}
    if trust is not None and trust != known["trust"]:
        fresh["trust"] = trust
    if fresh:
        connection.execute(update(t.weather_source).where(here).values(fresh))
    return int(known["no"]), bool(fresh)


def _number(value: float | None) -> float | None:
    return None if value is None or np.isnan(value) else float(value)


def _new_source(
    connection: Connection,
    *,
    planting: int,
    name: str,
    trust: int | None,
    place: Mapping[str, float | None],
) -> int:
    number = (connection.execute(select(func.max(t.weather_source.c.no))).scalar() or 0) + 1
    last = select(func.max(t.weather_source.c.trust)).where(t.weather_source.c.planting == planting)
    if trust is None:
        trust = (connection.execute(last).scalar() or 0) + 1
    row = {"no": number, "planting": planting, "name": name, "trust": trust, **place}
    connection.execute(insert(t.weather_source).values(row))
    return int(number)


def _kept(connection: Connection, kind: Kind, source: int, times: Ints) -> Floats:
    """(n, elements) values kept for these times, NaN where there are none."""
    kept = np.full((times.size, len(kind.elements)), np.nan)
    if times.size:
        there, values = table_of(connection, kind, source, int(times[0]), int(times[-1]))
        _, ours, theirs = np.intersect1d(times, there, assume_unique=True, return_indices=True)
        kept[ours] = values[theirs]
    return kept


def _clashes(
    kind: Kind, times: Ints, kept: Floats, offered: Floats, clash: NDArray[np.bool_]
) -> Iterator[str]:
    for row, column in np.argwhere(clash):
        when = times[row].astype(f"datetime64[{kind.unit}]")
        yield (
            f"{kind.elements[column]} of {when}: found {offered[row, column]:g}, "
            f"expected {kept[row, column]:g} as it is kept"
        )


def _write(  # noqa: PLR0917 - a table and what goes where in it
    connection: Connection,
    kind: Kind,
    source: int,
    times: Ints,
    values: Floats,
    which: NDArray[np.bool_],
) -> None:
    rows = [
        (source, time, *(None if value != value else value for value in row))  # noqa: PLR0124 - NaN
        for time, row in zip(times[which].tolist(), values[which].tolist(), strict=True)
    ]
    put(connection, kind.table, ("source", "time", *kind.elements), rows)
