"""Notes in the row: the page that a phone keeps, and the worker that opens it without a signal."""

import hashlib
import json

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from nuttery.web.rendering import STATIC, Link, page, static

LINK = Link("/row", "In the row", 20)
SHELL = "/row"
router = APIRouter(include_in_schema=False)


@router.get(SHELL)
@router.get("/tag/{tag}")
def row(request: Request) -> HTMLResponse:
    """Return the page; what it shows comes from the phone itself and from /api/round."""
    return page(request, "row.html")


@router.get("/service-worker.js")
def service_worker() -> Response:
    """Return the worker with the list of files to keep; it changes when any of them does."""
    kept = [SHELL, *files()]
    mark = hashlib.sha256(b"".join((STATIC / f).read_bytes() for f in _names())).hexdigest()[:12]
    told = f"const MARK = {json.dumps(mark)};\nconst KEPT = {json.dumps(kept)};\n"
    body = told + (STATIC / "js" / "service-worker.js").read_text(encoding="utf-8")
    return Response(body, media_type="text/javascript", headers={"cache-control": "no-cache"})


def _names() -> list[str]:
    found = (f for f in STATIC.rglob("*") if f.is_file() and f.suffix in {".js", ".css", ".svg"})
    return sorted(f.relative_to(STATIC).as_posix() for f in found)


def files() -> list[str]:
    """Addresses of the files that the page needs, scripts as they import one another."""
    return [f"/static/{name}" if name.startswith("js/") else static(name) for name in _names()]
