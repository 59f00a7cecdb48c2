"""Answers that were worked out once: no part of what the register holds, and never archived."""

from sqlalchemy import Connection, delete, func, select

from nuttery.store import tables as t
from nuttery.store.inserting import put

KEPT_AT_MOST = 400
"""Answers kept; beyond, the oldest go."""


def answer(connection: Connection, key: str) -> bytes | None:
    """Return the answer kept under a key, or None."""
    value = connection.execute(select(t.kept_answer.c.value).where(t.kept_answer.c.key == key))
    found = value.scalar()
    return None if found is None else bytes(found)


def put_answer(connection: Connection, key: str, value: bytes) -> None:
    """Keep an answer as the newest one."""
    last = connection.execute(select(func.max(t.kept_answer.c.kept))).scalar() or 0
    put(connection, t.kept_answer, ("key", "value", "kept"), [(key, value, last + 1)])
    oldest = select(t.kept_answer.c.key).order_by(t.kept_answer.c.kept.desc()).offset(KEPT_AT_MOST)
    connection.execute(delete(t.kept_answer).where(t.kept_answer.c.key.in_(oldest)))


def empty(connection: Connection) -> None:
    """Forget every answer."""
    connection.execute(delete(t.kept_answer))
