"""The one place that connects: SQLite in a file, or PostgreSQL behind a DSN.

Many may read while one writes. A reader sees the register as it was when it began to read.
"""

import contextlib
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import quote

from sqlalchemy import Connection, Engine, create_engine, event, make_url
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import QueuePool

from nuttery.store.errors import NoRoom, RegisterBusy, RegisterDamaged, RegisterProblem

PATIENCE_S = 30
"""How long a writer waits for another one to be done."""
APPLICATION_ID = 0x4E755479
"""Marks an SQLite file as a register of ours (pragma application_id)."""


def is_dsn(where: str | Path) -> bool:
    """Whether `where` names a PostgreSQL database, not a file."""
    return isinstance(where, str) and where.startswith(("postgresql://", "postgres://"))


def sqlite_engine(path: Path) -> Engine:
    """Engine on an SQLite file that is there already."""
    engine = create_engine("sqlite://", creator=lambda: bare_connection(path), poolclass=QueuePool)
    event.listen(engine, "connect", _set_up_sqlite)
    event.listen(engine, "begin", _begin)
    return engine


def bare_connection(path: Path) -> sqlite3.Connection:
    """Connection to an SQLite file that is there already, with nothing set up.

    The driver begins no transactions of its own: `_begin` says which kind.
    """
    return sqlite3.connect(
        f"file:{quote(str(path.resolve()))}?mode=rw",
        uri=True,
        timeout=PATIENCE_S,
        isolation_level=None,
        check_same_thread=False,
    )


def _set_up_sqlite(connection: sqlite3.Connection, _record: object) -> None:
    for pragma in ("journal_mode = WAL", "synchronous = FULL", "foreign_keys = ON"):
        connection.execute(f"PRAGMA {pragma}")


def _begin(connection: Connection) -> None:
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def postgres_engine(dsn: str) -> Engine:
    """Engine on a PostgreSQL database."""
    url = make_url(dsn.replace("postgres://", "postgresql://", 1))
    return create_engine(url.set(drivername="postgresql+psycopg"))


@contextlib.contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """Give a connection that sees the register as it is now, and keeps seeing it so."""
    with told_plainly(), engine.connect() as connection:
        if engine.dialect.name == "postgresql":
            connection = connection.execution_options(  # noqa: PLW2901 - the same connection
                isolation_level="REPEATABLE READ", postgresql_readonly=True
            )
        with connection.begin():
            yield connection


@contextlib.contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """Give the only connection that may write; all is kept at the end, or nothing."""
    with told_plainly(), engine.connect() as connection:
        writer = connection.execution_options(writes=True)
        with writer.begin():
            if engine.dialect.name == "postgresql":
                writer.exec_driver_sql(f"SET LOCAL lock_timeout = '{PATIENCE_S}s'")
                writer.exec_driver_sql("SELECT pg_advisory_xact_lock(hashtext(current_schema()))")
            yield writer


@contextlib.contextmanager
def told_plainly() -> Iterator[None]:
    """Say what the database complains about in plain words."""
    try:
        yield
    except DBAPIError as problem:
        raise _plain(problem) from problem
    except sqlite3.Error as problem:
        raise plain_sqlite(problem) from problem


def _plain(problem: DBAPIError) -> RegisterProblem:
    cause = problem.orig
    if isinstance(cause, sqlite3.Error):
        return plain_sqlite(cause)
    state = getattr(cause, "sqlstate", None)
    if state == "55P03":
        return RegisterBusy(_BUSY)
    if state in {"53100", "53200"}:
        return NoRoom(_NO_ROOM)
    return RegisterProblem(f"the database says: {str(cause).strip()}")


def plain_sqlite(problem: BaseException) -> RegisterProblem:
    """Return in plain words what SQLite complains about."""
    name = str(getattr(problem, "sqlite_errorname", ""))
    if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
        return RegisterBusy(_BUSY)
    if name in {"SQLITE_FULL", "SQLITE_IOERR_WRITE"}:
        return NoRoom(f"{_NO_ROOM} (the disk says: {problem})")
    if name.startswith(("SQLITE_CORRUPT", "SQLITE_NOTADB")):
        return RegisterDamaged(
            f"the register's file is damaged ({problem}); restore it from an archive"
        )
    if name.startswith(("SQLITE_READONLY", "SQLITE_CANTOPEN", "SQLITE_PERM")):
        return RegisterProblem(f"the register's file cannot be written or opened ({problem})")
    return RegisterProblem(f"the database says: {problem}")


_BUSY = (
    f"another program has been writing to the register for {PATIENCE_S} s; "
    "nothing was kept, please try again when it is done"
)
_NO_ROOM = "there is no room to write: the disk is full or the file may not grow; nothing was kept"
