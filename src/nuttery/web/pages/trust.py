"""How a phone comes to trust this server: plain steps for each kind, and two other ways."""

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from nuttery.web.rendering import page
from nuttery.web.site import site_of

router = APIRouter(include_in_schema=False)


@router.get("/trust")
def trust(request: Request) -> HTMLResponse:
    """Return the steps."""
    site = site_of(request)
    return page(request, "trust.html", secure=site.secure, address=site.address)
