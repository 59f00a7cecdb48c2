"""Notes in the row: the page that a phone keeps, and the worker that opens it without a signal."""

import hashlib
import json
import re

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from nuttery.web.rendering import HERE, STATIC, Link, page, static

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
    names = needed_files()
    parts = [(STATIC / name).read_bytes() for name in [*names, "js/service-worker.js"]]
    parts.append((HERE / "templates" / "row.html").read_bytes())
    mark = hashlib.sha256(b"".join(parts)).hexdigest()[:12]
    kept = [SHELL, *(f"/static/{n}" if n.startswith("js/") else static(n) for n in names)]
    told = f"const MARK = {json.dumps(mark)};\nconst KEPT = {json.dumps(kept)};\n"
    body = told + (STATIC / "js" / "service-worker.js").read_text(encoding="utf-8")
    return Response(body, media_type="text/javascript", headers={"cache-control": "no-cache"})


def needed_files() -> list[str]:
    """Files that the page needs: its look, and its scripts as they import one another."""
    found, open_ = ["look.css", "mark.svg"], ["row.js"]
    while open_:
        name = open_.pop()
        if f"js/{name}" not in found:
            found.append(f"js/{name}")
            text = (STATIC / "js" / name).read_text(encoding="utf-8")
            open_ += re.findall(r'from "\./([a-z_]+\.js)"', text)
    return found
