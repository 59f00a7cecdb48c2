"""What programs may ask: our own page over the published description."""

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from nuttery.web.rendering import page

router = APIRouter(include_in_schema=False)


@router.get("/api")
def api_page(request: Request) -> HTMLResponse:
    """Return the page of the JSON answers."""
    described = request.app.openapi()
    rows = [
        (method.upper(), path, told["summary"], told.get("description", ""))
        for path, methods in described["paths"].items()
        for method, told in methods.items()
    ]
    return page(request, "api.html", rows=rows)
