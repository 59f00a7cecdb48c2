"""nuttery devices: who is let in, invitations, and keys taken away."""

import json as json_text
import sys
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from nuttery.web.security.who import Role

if TYPE_CHECKING:
    from nuttery.web.security.devices import Device, Devices


def devices(
    *,
    planting: Annotated[
        str,
        Parameter(env_var="NUTTERY_PLANTING", help="The planting's file, or a database address."),
    ] = "planting.db",
    invite: Annotated[str | None, Parameter(help="Invite this person; prints the token.")] = None,
    role: Annotated[Role, Parameter(help="What the invited person may do.")] = "helper",
    address: Annotated[
        str | None,
        Parameter(help="Address of the running server, for the invitation's QR code."),
    ] = None,
    revoke: Annotated[
        int | None, Parameter(help="Take away the key of the device of this number.")
    ] = None,
    json: Annotated[bool, Parameter(negative="", help="Print the answer as JSON.")] = False,
) -> int:
    """List the devices that were let in; invite a person, or take a device's key away."""
    from nuttery.records import utc_now
    from nuttery.season import WrongQuestion, as_json
    from nuttery.season.own_folder import folder_of
    from nuttery.web.security.devices import Devices, NotLetIn

    known = Devices(folder_of(planting) / "devices.db")
    if invite is not None:
        return _invite(known, invite, role, address)
    if revoke is not None:
        try:
            known.revoke(revoke, utc_now())
        except NotLetIn as problem:
            raise WrongQuestion(str(problem)) from None
    found = known.all()
    _say(json_text.dumps(as_json(found), indent=2) if json else told(found))
    return 0


def _invite(known: "Devices", person: str, role: Role, address: str | None) -> int:
    from nuttery.records import utc_now
    from nuttery.web.sharing import pairing_address, qr_for_terminal

    made = known.invite(person, role, utc_now())
    if address is None:
        _say(f"For {person}, once, within 15 minutes: open /pair/{made.token} on the server.")
        return 0
    told_at = pairing_address(address, made.token)
    _say(f"For {person}, once, within 15 minutes: {told_at}\n{qr_for_terminal(told_at)}")
    return 0


def told(found: tuple["Device", ...]) -> str:
    """Return the devices as a table for a terminal."""
    if not found:
        return "No device was let in yet. Start the server with: nuttery serve --share"
    head = f"{'no':>3}  {'device':<24}  {'person':<16}  {'may':<8}  last seen"
    return "\n".join([head, *(_line(device) for device in found)])


def _line(device: "Device") -> str:
    seen = device.last_seen or device.paired
    when = f"taken away {device.revoked:%Y-%m-%d}" if device.revoked else f"{seen:%Y-%m-%d %H:%M}"
    name, person = device.name[:24], device.person[:16]
    return f"{device.id:>3}  {name:<24}  {person:<16}  {device.role:<8}  {when}"


def _say(words: str) -> None:
    sys.stdout.write(f"{words}\n")
