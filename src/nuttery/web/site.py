"""What the server is told when it is built, and what every page may ask."""

import secrets
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from threading import Lock

from fastapi import Request

from nuttery.season.serving import Served
from nuttery.web.security.devices import Devices
from nuttery.web.security.who import Who

LOOPBACK = frozenset({"localhost", "127.0.0.1", "::1"})


@dataclass(frozen=True)
class Shared:
    """How other devices reach the server.

    Attributes
    ----------
    hosts : names and addresses under which it answers, beside this computer's own
    address : where the planting is served
    secure : whether pages come over HTTPS
    welcome, fingerprint : where devices fetch the authority's certificate, and how to know it
    """

    hosts: tuple[str, ...]
    address: str
    secure: bool = False
    welcome: str = ""
    fingerprint: str = ""


@dataclass
class Site:
    """One planting, served.

    Attributes
    ----------
    served : the planting, open for questions
    clock : tells the present moment, with its time zone
    owner : name of the person at this computer, who writes the notes made here
    folder : where keys and photos are kept
    shared : how other devices reach it; None where only this computer is served
    devices : devices that were let in; None where only this computer is served
    random : gives so many random bytes
    """

    served: Served
    clock: Callable[[], datetime]
    owner: str
    folder: Path
    shared: Shared | None = None
    random: Callable[[int], bytes] = secrets.token_bytes
    devices: Devices | None = field(init=False)
    hosts: frozenset[str] = field(init=False)
    secret: bytes = field(init=False)
    writing: Lock = field(init=False, default_factory=Lock)

    def __post_init__(self) -> None:
        """Work out what follows from what was told."""
        also = self.shared.hosts if self.shared else ()
        self.hosts = LOOPBACK | frozenset(host.lower() for host in also)
        self.devices = Devices(self.folder / "devices.db") if self.shared else None
        self.secret = self.random(32)


def site_of(request: Request) -> Site:
    """Return what serves a request."""
    found: Site = request.app.state.site
    return found


def who_asks(request: Request) -> Who:
    """Return who sent a request; the guard has let them in."""
    found: Who = request.state.who
    return found
