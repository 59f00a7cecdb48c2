"""Devices that were let in, invitations, and a log of who came and went.

They stand in a small file of their own beside the register: keys belong to this server, not to the
planting, so that no archive or copy of the register carries them. Only hashes of keys are kept.
"""

import hashlib
import secrets
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from nuttery.web.security.who import Role

INVITATION_LASTS = timedelta(minutes=15)
SEEN_EVERY = timedelta(minutes=1)
"""How exactly it is written down when a device was last seen."""
_INVITATION = "SELECT * FROM invitation WHERE token_hash = ?"
_TABLES = """
CREATE TABLE IF NOT EXISTS device (
    id INTEGER PRIMARY KEY, name TEXT NOT NULL, person TEXT NOT NULL, role TEXT NOT NULL,
    key_hash TEXT NOT NULL UNIQUE, paired TEXT NOT NULL, last_seen TEXT, revoked TEXT
) STRICT;
CREATE TABLE IF NOT EXISTS invitation (
    token_hash TEXT PRIMARY KEY, person TEXT NOT NULL, role TEXT NOT NULL, expires TEXT NOT NULL,
    used TEXT
) STRICT;
CREATE TABLE IF NOT EXISTS event (
    n INTEGER PRIMARY KEY, at TEXT NOT NULL, device INTEGER, what TEXT NOT NULL
) STRICT;
"""


class NotLetIn(ValueError):  # noqa: N818 - it says what happened
    """An invitation that is not known, was used, or is too old."""


@dataclass(frozen=True)
class Device:
    """A device that was let in.

    Attributes
    ----------
    id : its number here
    name : such as "Ida's phone"
    person : who uses it; its notes are by this person
    role : what it may do
    paired, last_seen, revoked : when
    """

    id: int
    name: str
    person: str
    role: Role
    paired: datetime
    last_seen: datetime | None
    revoked: datetime | None


@dataclass(frozen=True)
class Invitation:
    """A one-time way in: its token is told once and kept only as a hash."""

    token: str
    person: str
    role: Role
    expires: datetime


@dataclass(frozen=True)
class Event:
    """Something that a device did, or that was done to it."""

    at: datetime
    device: str
    what: str


class Devices:
    """The devices of one server, in an SQLite file of their own.

    Parameters
    ----------
    file : made with the first invitation
    random : gives a fresh secret that can stand in an address
    """

    def __init__(self, file: Path, random: Callable[[], str] = secrets.token_urlsafe) -> None:
        self.file = file
        self._random = random

    @contextmanager
    def _writing(self) -> Iterator[sqlite3.Connection]:
        """Give the only connection that may write; all is kept at the end, or nothing."""
        self.file.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        with self._connected() as connection:
            self.file.chmod(0o600)
            connection.executescript(_TABLES)
            connection.execute("BEGIN IMMEDIATE")
            yield connection
            connection.execute("COMMIT")

    @contextmanager
    def _connected(self) -> Iterator[sqlite3.Connection]:
        connection = sqlite3.connect(self.file, timeout=30, isolation_level=None)
        connection.row_factory = sqlite3.Row
        try:
            yield connection
        finally:
            connection.close()

    def _rows(self, query: str, terms: tuple[object, ...] = ()) -> list[sqlite3.Row]:
        if not self.file.exists():
            return []
        with self._connected() as connection:
            return connection.execute(query, terms).fetchall()

    def invite(self, person: str, role: Role, now: datetime) -> Invitation:
        """Make a one-time invitation for a person."""
        found = Invitation(self._random(), person, role, now + INVITATION_LASTS)
        with self._writing() as connection:
            connection.execute(
                "INSERT INTO invitation VALUES (?, ?, ?, ?, NULL)",
                (hashed(found.token), person, role, _text(found.expires)),
            )
            _log(connection, now, None, f"invited {person} as {role}")
        return found

    def invited(self, token: str, now: datetime) -> tuple[str, Role]:
        """Return whom an invitation is for, and the role, without using it.

        Raises
        ------
        NotLetIn
            If it is not known, was used, or is too old.
        """
        row = _usable(self._rows(_INVITATION, (hashed(token),)), now)
        return row["person"], row["role"]

    def pair(self, token: str, name: str, now: datetime) -> tuple[Device, str]:
        """Use an invitation: return the device and its key, which is told only here.

        Raises
        ------
        NotLetIn
            If it is not known, was used, or is too old.
        """
        key = self._random()
        with self._writing() as connection:
            row = _usable(connection.execute(_INVITATION, (hashed(token),)).fetchall(), now)
            connection.execute(
                "UPDATE invitation SET used = ? WHERE token_hash = ?", (_text(now), hashed(token))
            )
            cursor = connection.execute(
                "INSERT INTO device (name, person, role, key_hash, paired) VALUES (?, ?, ?, ?, ?)",
                (name, row["person"], row["role"], hashed(key), _text(now)),
            )
            _log(connection, now, cursor.lastrowid, "paired")
            found = connection.execute(
                "SELECT * FROM device WHERE id = ?", (cursor.lastrowid,)
            ).fetchone()
        return _device(found), key

    def of_key(self, key: str, now: datetime) -> Device | None:
        """Return the device that holds a key, unless it was revoked."""
        query = "SELECT * FROM device WHERE key_hash = ? AND revoked IS NULL"
        rows = self._rows(query, (hashed(key),))
        if not rows:
            return None
        found = _device(rows[0])
        if found.last_seen is None or now - found.last_seen > SEEN_EVERY:
            with self._writing() as connection:
                seen = "UPDATE device SET last_seen = ? WHERE id = ?"
                connection.execute(seen, (_text(now), found.id))
        return found

    def all(self) -> tuple[Device, ...]:
        """Every device ever let in, revoked ones too."""
        return tuple(_device(row) for row in self._rows("SELECT * FROM device ORDER BY id"))

    def revoke(self, number: int, now: datetime) -> Device:
        """Take a device's key away for good.

        Raises
        ------
        NotLetIn
            If there is no such device.
        """
        with self._writing() as connection:
            connection.execute(
                "UPDATE device SET revoked = ? WHERE id = ? AND revoked IS NULL",
                (_text(now), number),
            )
            row = connection.execute("SELECT * FROM device WHERE id = ?", (number,)).fetchone()
            if row is None:
                raise NotLetIn(f"device: found {number}, expected the number of a device")
            _log(connection, now, number, "revoked")
        return _device(row)

    def log(self, device: int, what: str, now: datetime) -> None:
        """Write down what a device did."""
        with self._writing() as connection:
            _log(connection, now, device or None, what)

    def events(self, at_most: int = 200) -> tuple[Event, ...]:
        """What happened last, the newest first."""
        query = """SELECT event.at, device.name, event.what FROM event
                   LEFT JOIN device ON device.id = event.device ORDER BY n DESC LIMIT ?"""
        rows = self._rows(query, (at_most,))
        return tuple(
            Event(datetime.fromisoformat(row["at"]), row["name"] or "this computer", row["what"])
            for row in rows
        )


def hashed(secret: str) -> str:
    """SHA-256 of a secret of 256 random bits, which needs no salt and no slow hash."""
    return hashlib.sha256(secret.encode("utf-8", "replace")).hexdigest()


def _usable(rows: list[sqlite3.Row], now: datetime) -> sqlite3.Row:
    if not rows:
        raise NotLetIn("this invitation is not known here; ask for a new one")
    if rows[0]["used"] is not None:
        raise NotLetIn("this invitation was used before; ask for a new one")
    if rows[0]["expires"] < _text(now):
        raise NotLetIn("this invitation is too old; ask for a new one")
    return rows[0]


def _log(connection: sqlite3.Connection, now: datetime, device: int | None, what: str) -> None:
    connection.execute(
        "INSERT INTO event (at, device, what) VALUES (?, ?, ?)", (_text(now), device, what)
    )


def _text(moment: datetime) -> str:
    return moment.astimezone(UTC).isoformat(timespec="seconds")


def _device(row: sqlite3.Row) -> Device:
    def moment(name: str) -> datetime | None:
        return None if row[name] is None else datetime.fromisoformat(row[name])

    return Device(
        id=row["id"],
        name=row["name"],
        person=row["person"],
        role=row["role"],
        paired=datetime.fromisoformat(row["paired"]),
        last_seen=moment("last_seen"),
        revoked=moment("revoked"),
    )
