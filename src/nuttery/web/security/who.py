"""Roles, and who is asking."""

from dataclasses import dataclass
from typing import Literal

Role = Literal["visitor", "helper", "owner"]
ROLES: tuple[Role, ...] = ("visitor", "helper", "owner")
"""Each may do what those before it may: read; write notes; everything."""

ROLE_TOLD: dict[Role, str] = {
    "visitor": "reads",
    "helper": "reads, and writes notes",
    "owner": "everything, also letting others in",
}


@dataclass(frozen=True)
class Who:
    """Who sent a request, on what device, and with which role.

    `key_id` names the device among those let in; 0 is this computer itself.
    """

    person: str
    device: str
    role: Role
    key_id: int = 0

    def may(self, role: Role) -> bool:
        """Whether this one may do what needs a role."""
        return ROLES.index(self.role) >= ROLES.index(role)
