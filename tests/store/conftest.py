"""A register on each database, and short ways to make notes of an invented planting."""

import os
import shutil
import uuid
from contextlib import contextmanager
from datetime import UTC, date, datetime

import psycopg
import pytest
from sqlalchemy import text

from nuttery.records import PlantingDescribed, ShrubPlanted, new_id
from nuttery.store import Register
from nuttery.store.tables import metadata

POSTGRES = os.environ.get("NUTTERY_TEST_POSTGRES", "")


BOTH = ["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)]


@pytest.fixture(params=BOTH)
def database(request):
    """Name each database in turn."""
    if request.param == "postgres" and not POSTGRES:
        pytest.skip("PostgreSQL: NUTTERY_TEST_POSTGRES names no server")
    return request.param


@contextmanager
def new_schema():
    """Give the DSN of a place of its own on the server."""
    schema = f"t{uuid.uuid4().hex}"
    with psycopg.connect(POSTGRES, autocommit=True) as server:
        server.execute(f"CREATE SCHEMA {schema}")
        yield f"{POSTGRES}?options=-csearch_path%3D{schema}"
        server.execute(f"DROP SCHEMA {schema} CASCADE")


@pytest.fixture
def where(database, tmp_path):
    """Give a place where a register can be made, on each database in turn."""
    if database == "sqlite":
        yield tmp_path / "planting.db"
        return
    with new_schema() as dsn:
        yield dsn


@pytest.fixture(scope="session")
def empty_file(tmp_path_factory):
    path = tmp_path_factory.mktemp("store") / "empty.db"
    Register.create(path).close()
    return path


@pytest.fixture(scope="session")
def shared_schema():
    with new_schema() as dsn:
        Register.create(dsn).close()
        yield dsn


@pytest.fixture
def home(request, database, tmp_path):
    """Give the place of a register that was made and is empty."""
    if database == "sqlite":
        return shutil.copy(request.getfixturevalue("empty_file"), tmp_path / "home.db")
    dsn = request.getfixturevalue("shared_schema")
    with Register.open(dsn) as register:
        emptied(register)
    return dsn


def emptied(register):
    """Empty a register, as if it had just been made."""
    with register.writing() as connection:
        for table in reversed(metadata.sorted_tables):
            connection.execute(table.delete())
        connection.execute(text("INSERT INTO register_info VALUES ('version', '0')"))


@pytest.fixture
def register(home):
    with Register.open(home) as opened:
        yield opened


class Notebook:
    """Makes notes of one planting, each recorded a minute after the one before."""

    def __init__(self):
        self.planting = new_id()
        self.minute = 0

    def head(self, **more):
        self.minute += 1
        recorded = datetime(2026, 3, 1 + self.minute // 1440, self.minute // 60 % 24,
                            self.minute % 60, tzinfo=UTC)  # fmt: skip
        return {
            "id": new_id(),
            "planting": self.planting,
            "by": "Ida",
            "seen": date(2026, 2, 1),
            "recorded": recorded,
        } | more

    def described(self, **more):
        fields = {"name": "Sorrel Bank", "latitude": 46.1, "longitude": -91.2}
        return PlantingDescribed(**self.head(seen=date(2012, 5, 1)) | fields | more)

    def planted(self, tag, **more):
        return ShrubPlanted(**self.head(shrub=tag, seen=date(2013, 5, 1)) | more)

    def note(self, kind, shrub=None, **more):
        return kind(**self.head(shrub=shrub) | more)


@pytest.fixture
def book():
    return Notebook()


@pytest.fixture
def planted(register, book):
    """Give a register of a planting with shrubs A-1 to A-5."""
    register.keep(
        [book.described(), *(book.planted(f"A-{k}", x=1.8 * k, y=0.0) for k in range(1, 6))]
    )
    return register
