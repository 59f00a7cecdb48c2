"""Who is let in: devices, invitations, and what happened; for the owner alone."""

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse

from nuttery.web.rendering import Link, page, picture
from nuttery.web.security.devices import Devices, NotLetIn
from nuttery.web.security.refused import Refused
from nuttery.web.security.who import Role
from nuttery.web.sharing import pairing_address, qr
from nuttery.web.site import Shared, Site, site_of

LINK = Link("/devices", "Devices", 90, owner_only=True)
router = APIRouter(include_in_schema=False)
Person = Annotated[str, Form(min_length=1, max_length=60, pattern=r"^[^\x00-\x1f\x7f]+$")]


def _shared(site: Site) -> tuple[Devices, Shared]:
    if site.devices is None or site.shared is None:
        raise Refused(409, "Only this computer is served. To let others in: nuttery serve --share")
    return site.devices, site.shared


@router.get("/devices")
def devices(request: Request) -> HTMLResponse:
    """Return the devices and what they did."""
    site = site_of(request)
    found = site.devices
    return page(
        request,
        "devices.html",
        shared=found is not None,
        devices=found.all() if found else (),
        events=found.events(60) if found else (),
    )


@router.post("/devices/invite")
def invite(request: Request, person: Person, role: Annotated[Role, Form()]) -> HTMLResponse:
    """Make an invitation and show it as a QR code, once."""
    site = site_of(request)
    known, shared = _shared(site)
    invitation = known.invite(person.strip(), role, site.clock())
    address = pairing_address(shared.address, invitation.token)
    return page(
        request,
        "invitation.html",
        invitation=invitation,
        address=address,
        code=picture(qr(address)),
    )


@router.post("/devices/{number}/revoke")
def revoke(request: Request, number: int) -> RedirectResponse:
    """Take a device's key away."""
    site = site_of(request)
    try:
        _shared(site)[0].revoke(number, site.clock())
    except NotLetIn as problem:
        raise Refused(404, str(problem)) from None
    return RedirectResponse("/devices", 303)
