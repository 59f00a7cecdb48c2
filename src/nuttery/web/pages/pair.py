"""The way in: an invitation, used once, becomes a key that this device alone holds."""

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from nuttery.web.rendering import page
from nuttery.web.security.cookie import give_key
from nuttery.web.security.devices import NotLetIn
from nuttery.web.security.refused import Refused
from nuttery.web.site import site_of

router = APIRouter(include_in_schema=False)
Token = Annotated[str, Form(min_length=20, max_length=100, pattern=r"^[A-Za-z0-9_-]+$")]
Name = Annotated[str, Form(min_length=1, max_length=60, pattern=r"^[^\x00-\x1f\x7f]+$")]


@router.get("/pair/{token}")
def invitation(request: Request, token: str) -> HTMLResponse:
    """Return the page that asks for a name for this device; nothing is used up yet."""
    site = site_of(request)
    if site.devices is None:
        raise Refused(404, "There is no such page.")
    try:
        person, role = site.devices.invited(token, site.clock())
    except NotLetIn as problem:
        raise Refused(401, str(problem).capitalize() + ".") from None
    return page(request, "pair.html", person=person, role=role, invitation=token)


@router.post("/pair")
def pair(request: Request, invitation: Token, name: Name) -> Response:
    """Use an invitation, and give this device its key."""
    site = site_of(request)
    if site.devices is None:
        raise Refused(404, "There is no such page.")
    try:
        _device, key = site.devices.pair(invitation, name.strip(), site.clock())
    except NotLetIn as problem:
        raise Refused(401, str(problem).capitalize() + ".") from None
    answer = RedirectResponse("/row", 303)
    give_key(answer, key, site)
    return answer
