"""Weather of a planting read back: of one source, or merged by trust."""

from collections.abc import Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import Connection, func, select

from nuttery.store import tables as t
from nuttery.store.errors import NotKnown
from nuttery.store.weather_types import (
    DAY,
    HOUR,
    Daily,
    Floats,
    Hourly,
    Ints,
    Kind,
    WeatherSource,
)


def table_of(
    connection: Connection,
    kind: Kind,
    source: int,
    first: int | None = None,
    last: int | None = None,
) -> tuple[Ints, Floats]:
    """Times (n,) and values (n, elements) of a source, in order of time."""
    columns = [kind.table.c[name] for name in ("time", *kind.elements)]
    query = select(*columns).where(kind.table.c.source == source).order_by(kind.table.c.time)
    if first is not None:
        query = query.where(kind.table.c.time >= first)
    if last is not None:
        query = query.where(kind.table.c.time <= last)
    rows = connection.execute(query).all()
    table = np.array([tuple(row) for row in rows], dtype=np.float64)
    table = table.reshape(len(rows), len(columns))
    return table[:, 0].astype(np.int64), table[:, 1:]


def sources_of(connection: Connection, planting: int) -> tuple[WeatherSource, ...]:
    """Sources of a planting, the most trusted first."""
    counts = [
        select(func.count()).where(kind.table.c.source == t.weather_source.c.no).scalar_subquery()
        for kind in (DAY, HOUR)
    ]
    query = (
        select(t.weather_source, *counts)
        .where(t.weather_source.c.planting == planting)
        .order_by(t.weather_source.c.trust, t.weather_source.c.name)
    )
    return tuple(WeatherSource(*row[2:]) for row in connection.execute(query))


@dataclass(frozen=True)
class _Part:
    """Weather of one source, with times on its own clock."""

    name: str
    offset: float | None
    times: Ints
    values: Floats


def daily_of(connection: Connection, planting: int, source: str | None) -> Daily:
    """Daily weather; see `Register.daily`."""
    return Daily(**_merged(DAY, _parts(connection, DAY, planting, source)))


def hourly_of(connection: Connection, planting: int, source: str | None) -> Hourly:
    """Hourly weather; see `Register.hourly`."""
    return Hourly(**_merged(HOUR, _parts(connection, HOUR, planting, source)))


def _parts(connection: Connection, kind: Kind, planting: int, source: str | None) -> list[_Part]:
    query = (
        select(t.weather_source.c.no, t.weather_source.c.name, t.weather_source.c.utc_offset)
        .where(t.weather_source.c.planting == planting)
        .order_by(t.weather_source.c.trust, t.weather_source.c.name)
    )
    known = connection.execute(query).all()
    if source is not None and source not in {name for _, name, _ in known}:
        names = ", ".join(repr(name) for _, name, _ in known) or "none"
        raise NotKnown(f"source: found {source!r}, expected one of the planting's: {names}")
    parts = [
        _Part(name, offset, *table_of(connection, kind, number))
        for number, name, offset in known
        if source in {None, name}
    ]
    return [part for part in parts if part.times.size]


def _merged(kind: Kind, parts: Sequence[_Part]) -> dict[str, Any]:
    """Fields of the result: each value from the most trusted source that has it."""
    offset = next((part.offset for part in parts if part.offset is not None), None)
    clocks = [part.times + _shift(kind, part, offset) for part in parts]
    first = min((int(clock[0]) for clock in clocks), default=0)
    length = max((int(clock[-1]) + 1 for clock in clocks), default=0) - first
    values = np.full((length, len(kind.elements)), np.nan)
    source = np.full((length, len(kind.elements)), -1, dtype=np.int64)
    for index, (clock, part) in enumerate(zip(clocks, parts, strict=True)):
        _fill(values, source, clock - first, part.values, index)
    columns = dict(zip(kind.elements, _frozen(values), strict=True))
    told = dict(zip(kind.elements, _frozen(source), strict=True))
    return {
        "time": _closed(np.arange(first, first + length).astype(f"datetime64[{kind.unit}]")),
        **columns,
        "sources": tuple(part.name for part in parts),
        "source": MappingProxyType(told),
        "utc_offset": offset,
    }


def _shift(kind: Kind, part: _Part, offset: float | None) -> int:
    """Hours by which a source's clock is set to the clock of the most trusted one."""
    if kind is DAY or offset is None or part.offset is None:
        return 0
    return round(offset - part.offset)


def _fill(values: Floats, source: Ints, at: Ints, offered: Floats, index: int) -> None:
    gaps = np.isnan(values[at]) & ~np.isnan(offered)
    values[at] = np.where(gaps, offered, values[at])
    source[at] = np.where(gaps, index, source[at])


def _frozen(table: NDArray[Any]) -> list[NDArray[Any]]:
    return [_closed(np.ascontiguousarray(column)) for column in table.T]


def _closed(array: NDArray[Any]) -> NDArray[Any]:
    array.setflags(write=False)
    return array
