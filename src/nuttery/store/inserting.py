"""Rows handed to the database in bulk, straight through its driver."""

from collections.abc import Collection, Sequence
from typing import Any

from sqlalchemy import Connection, Table

Rows = Collection[Sequence[Any]]


def insert(connection: Connection, table: Table, columns: Sequence[str], rows: Rows) -> int:
    """Insert rows, passing over those whose key is taken; return how many were inserted.

    Parameters
    ----------
    rows : tuples in the order of `columns`
    """
    if not rows:
        return 0
    mark = "?" if connection.dialect.name == "sqlite" else "%s"
    statement = (
        f"INSERT INTO {table.name} ({', '.join(columns)}) "  # noqa: S608 - names of our own
        f"VALUES ({', '.join([mark] * len(columns))}) ON CONFLICT DO NOTHING"
    )
    return connection.exec_driver_sql(statement, list(rows)).rowcount


def put(connection: Connection, table: Table, columns: Sequence[str], rows: Rows) -> None:
    """Insert rows, or write them over those with the same key.

    Parameters
    ----------
    rows : tuples in the order of `columns`, the key first
    """
    if not rows:
        return
    keys = [column.name for column in table.primary_key]
    fresh = ", ".join(f"{name} = excluded.{name}" for name in columns if name not in keys)
    mark = "?" if connection.dialect.name == "sqlite" else "%s"
    statement = (
        f"INSERT INTO {table.name} ({', '.join(columns)}) "  # noqa: S608 - names of our own
        f"VALUES ({', '.join([mark] * len(columns))}) "
        f"ON CONFLICT ({', '.join(keys)}) DO UPDATE SET {fresh}"
    )
    connection.exec_driver_sql(statement, list(rows))
