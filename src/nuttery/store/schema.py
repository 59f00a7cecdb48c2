"""The age of a register's tables, and bringing old ones up to date with Alembic."""

from typing import TYPE_CHECKING

from sqlalchemy import Connection, inspect

from nuttery.store.errors import NotARegister, RegisterTooNew

if TYPE_CHECKING:
    from alembic.config import Config

HEAD = "0003"
"""The newest revision of the tables; a test holds it against the migrations."""
REVISIONS = ("0001", "0002", HEAD)


def revision_of(connection: Connection) -> str:
    """Revision of the tables behind a connection.

    Raises
    ------
    NotARegister
        If there are no tables of a register.
    RegisterTooNew
        If this Nuttery does not know the revision.
    """
    # Alembic itself takes a third of a second to import, so its one row is read without it.
    tables = set(inspect(connection).get_table_names())
    if not {"alembic_version", "note", "register_info"} <= tables:
        raise NotARegister("there are no tables of a register in it")
    query = "SELECT version_num FROM alembic_version"
    revision = str(connection.exec_driver_sql(query).scalar())
    if revision not in REVISIONS:
        raise RegisterTooNew(
            f"its tables are of revision {revision!r}, and this Nuttery knows revisions up to "
            f"{HEAD}; please update Nuttery"
        )
    return revision


def migrate(connection: Connection, revision: str = "head") -> None:
    """Bring the tables up to a revision, within the transaction that is open."""
    from alembic import command

    command.upgrade(_config(connection), revision)


def remove_tables(connection: Connection) -> None:
    """Remove all tables of a register."""
    from alembic import command

    command.downgrade(_config(connection), "base")
    connection.exec_driver_sql("DROP TABLE alembic_version")


def _config(connection: Connection) -> "Config":
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", "nuttery.store:migrations")
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    return config
