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


@dataclass
class Site:
    """One planting, served.

    Attributes
    ----------
    served : the planting, open for questions
    clock : tells the present moment, with its time zone
    random : gives so many random bytes
    owner : name of the person at this computer, who writes the notes made here
    devices : devices that were let in; None where only this computer is served
    hosts : names and addresses under which the server answers
    folder : where photos are kept
    secure : whether pages come over HTTPS
    """

    served: Served
    clock: Callable[[], datetime]
    owner: str
    hosts: frozenset[str]
    folder: Path
    devices: Devices | None = None
    secure: bool = False
    authority: Path | None = None
    address: str = ""
    random: Callable[[int], bytes] = secrets.token_bytes
    secret: bytes = field(init=False)
    writing: Lock = field(init=False, default_factory=Lock)

    def __post_init__(self) -> None:
        self.secret = self.random(32)


def site_of(request: Request) -> Site:
    """Return what serves a request."""
    found: Site = request.app.state.site
    return found


def who_asks(request: Request) -> Who:
    """Return who sent a request; the guard has let them in."""
    found: Who = request.state.who
    return found
