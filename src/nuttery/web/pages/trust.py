"""How a phone comes to trust this server: plain steps for each kind, and two other ways."""

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from nuttery.web.rendering import page, picture
from nuttery.web.sharing import qr
from nuttery.web.site import site_of

router = APIRouter(include_in_schema=False)


@router.get("/trust")
def trust(request: Request) -> HTMLResponse:
    """Return the steps; the address of the small page only where there is one."""
    shared = site_of(request).shared
    welcome = shared.welcome if shared else ""
    return page(
        request,
        "trust.html",
        welcome=welcome,
        code=picture(qr(welcome)) if welcome else "",
        fingerprint=shared.fingerprint if shared else "",
    )
