"""Numbers that rise with every change, so that answers worked out before can be told from new."""

from collections.abc import Collection

from sqlalchemy import Connection, select, update

from nuttery.store import tables as t


def raise_version(connection: Connection, plantings: Collection[int]) -> None:
    """Raise the version of some plantings, and that of the register."""
    connection.execute(
        update(t.planting)
        .where(t.planting.c.no.in_(sorted(plantings)))
        .values(version=t.planting.c.version + 1)
    )
    fresh = str(register_version(connection) + 1)
    connection.execute(
        update(t.register_info).where(t.register_info.c.name == "version").values(value=fresh)
    )


def register_version(connection: Connection) -> int:
    """Version of the register as a whole."""
    query = select(t.register_info.c.value).where(t.register_info.c.name == "version")
    return int(connection.execute(query).scalar_one())


def planting_version(connection: Connection, planting: int) -> int:
    """Version of one planting, by its number."""
    query = select(t.planting.c.version).where(t.planting.c.no == planting)
    return int(connection.execute(query).scalar_one())
