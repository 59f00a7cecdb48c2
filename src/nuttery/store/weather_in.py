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
    new, over = int(added.sum()), int(changed.sum())
    return KeptWeather(new, times.size - new - over, over)


def table_from(record: Record) -> WeatherTable:
    """Return a record as a table.

    Raises
    ------
    WeatherRefused
        If it contradicts itself.
    """
    kind = _kind(record)
    place = {name: _number(getattr(record, name)) for name in PLACE}
    return WeatherTable(kind, _times(record, kind), _values(record, kind), place)


def _kind(record: Record) -> Kind:
    if record.resolution not in KINDS:
        raise WeatherRefused([f"resolution: found {record.resolution!r}, expected daily or hourly"])
    return KINDS[record.resolution]


def _times(record: Record, kind: Kind) -> Times:
    """(n,) days or hours, each later than the one before."""
    time = np.asarray(record.time)
    whole = time.astype(f"datetime64[{kind.unit}]")
    faults = []
    for wrong, expected in (
        (np.isnat(time), "a time"),
        (~np.isnat(time) & (whole != time), f"a full {kind.name}"),
        (np.r_[False, np.diff(whole).astype(np.int64) <= 0], "a time after the one before it"),
    ):
        if wrong.any():
            index = int(np.flatnonzero(wrong)[0])
            faults.append(f"time[{index}]: found {time[index]}, expected {expected}")
    if faults:
        raise WeatherRefused(faults)
    return whole


def _values(record: Record, kind: Kind) -> Floats:
    """(n, elements) values; what is not finite but not missing either is refused."""
    columns, faults = [], []
    size = np.asarray(record.time).size
    for name in kind.elements:
        column = np.asarray(getattr(record, name), dtype=np.float64)
        if column.shape != (size,):
            faults.append(f"{name}: found shape {column.shape}, expected ({size},)")
        elif np.isinf(column).any():
            index = int(np.flatnonzero(np.isinf(column))[0])
            faults.append(f"{name}[{index}]: found {column[index]}, expected a number or NaN")
        columns.append(column)
    if faults:
        raise WeatherRefused(faults)
    return np.column_stack(columns)


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
