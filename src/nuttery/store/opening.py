"""Making a register, and opening one that is there, or saying plainly what is there instead."""

import contextlib
import sqlite3
from collections.abc import Iterator
from pathlib import Path

from sqlalchemy import Engine, inspect
from sqlalchemy.exc import ArgumentError

from nuttery.store.connection import (
    APPLICATION_ID,
    bare_connection,
    is_dsn,
    plain_sqlite,
    postgres_engine,
    reading,
    sqlite_engine,
    writing,
)
from nuttery.store.errors import (
    NotARegister,
    RegisterDamaged,
    RegisterExists,
    RegisterMissing,
    RegisterProblem,
    RegisterTooNew,
)
from nuttery.store.schema import HEAD, migrate, remove_tables, revision_of

_SMALLEST = 512
"""Bytes of the smallest page of an SQLite file."""


def made(where: str | Path) -> Engine:
    """Engine on a new register."""
    if is_dsn(where):
        return _made_in_database(str(where))
    path = Path(where)
    try:
        path.touch(exist_ok=False)
    except FileExistsError:
        raise RegisterExists(f"{path}: there is a file already; choose another name") from None
    except OSError as problem:
        raise RegisterProblem(f"{path}: cannot be made ({problem.strerror})") from problem
    engine = sqlite_engine(path)
    try:
        with writing(engine) as connection:
            connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
            migrate(connection)
    except BaseException:
        unmake(engine, path)
        raise
    return engine


def unmake(engine: Engine, where: str | Path) -> None:
    """Remove a register that was just made."""
    if is_dsn(where):
        with writing(engine) as connection:
            remove_tables(connection)
    engine.dispose()
    if not is_dsn(where):
        path = Path(where)
        for end in ("", "-wal", "-shm"):
            path.with_name(path.name + end).unlink(missing_ok=True)


def _made_in_database(dsn: str) -> Engine:
    engine = _database(dsn)
    with _closed_on_problem(engine), writing(engine) as connection:
        if inspect(connection).get_table_names():
            raise RegisterExists(f"{_shown(dsn)}: the database has tables already")
        migrate(connection)
    return engine


def opened(where: str | Path) -> Engine:
    """Engine on a register that is there, brought up to date if it is old."""
    shown = _shown(where) if is_dsn(where) else str(where)
    engine = _database(str(where)) if is_dsn(where) else _file(Path(where))
    with _closed_on_problem(engine):
        try:
            _bring_up_to_date(engine)
        except (NotARegister, RegisterTooNew, RegisterDamaged) as problem:
            raise type(problem)(f"{shown}: {problem}") from problem
    return engine


def _bring_up_to_date(engine: Engine) -> None:
    with reading(engine) as connection:
        if revision_of(connection) == HEAD:
            return
    with writing(engine) as connection:
        migrate(connection)


@contextlib.contextmanager
def _closed_on_problem(engine: Engine) -> Iterator[None]:
    try:
        yield
    except BaseException:
        engine.dispose()
        raise


def _file(path: Path) -> Engine:
    """Engine on a file that is a whole SQLite file."""
    try:
        size = path.stat().st_size
    except FileNotFoundError:
        raise RegisterMissing(
            f"{path}: there is no such file; make a register first, or name another"
        ) from None
    except OSError as problem:
        raise RegisterProblem(f"{path}: cannot be read ({problem.strerror})") from problem
    if size < _SMALLEST:
        told = "it is a file of another kind" if size else "it is empty"
        raise NotARegister(f"{path}: this is no register: {told}")
    _check_file(path)
    return sqlite_engine(path)


def _check_file(path: Path) -> None:
    """Ask SQLite what the file is; nothing else may open a register that somebody may be using.

    A process that closes any descriptor of a file loses all its locks on it (POSIX), those of
    SQLite too: another program would then take away the log under an open register, and its newest
    notes with it ("How To Corrupt An SQLite Database File", 2.2, sqlite.org).
    """
    try:
        with contextlib.closing(bare_connection(path)) as connection:
            connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    except sqlite3.Error as problem:
        name = problem.sqlite_errorname
        if name == "SQLITE_NOTADB":
            told = f"{path}: this is no register: it is a file of another kind"
            raise NotARegister(told) from problem
        if name.startswith("SQLITE_CORRUPT"):
            raise RegisterDamaged(f"{path}: {_damage(path)}; restore it from an archive") from None
        if name.startswith("SQLITE_CANTOPEN"):
            raise RegisterProblem(f"{path}: cannot be read ({problem})") from problem
        raise plain_sqlite(problem) from problem


def _damage(path: Path) -> str:
    """What is wrong with a damaged file: whether it is shorter than its head says.

    The head is laid out as in the file format of SQLite, 1.3.
    """
    with path.open("rb") as file:
        head = file.read(100)
    page, size = int.from_bytes(head[16:18], "big"), path.stat().st_size
    told = (65536 if page == 1 else page) * int.from_bytes(head[28:32], "big")
    if head[24:28] == head[92:96] and size < told:
        return f"the file was cut short: found {size} bytes, expected {told}"
    return "the register's file is damaged"


def _database(dsn: str) -> Engine:
    try:
        engine = postgres_engine(dsn)
    except ArgumentError as problem:
        raise RegisterProblem(f"{_shown(dsn)}: this is no DSN ({problem})") from None
    except ModuleNotFoundError as problem:
        raise RegisterProblem(
            "a register in PostgreSQL needs the extra part 'shared': pip install 'nuttery[shared]'"
        ) from problem
    return engine


def _shown(dsn: str | Path) -> str:
    """Return a DSN without its password."""
    from sqlalchemy import make_url

    with contextlib.suppress(ArgumentError):
        return make_url(str(dsn)).render_as_string(hide_password=True)
    return "the DSN"
