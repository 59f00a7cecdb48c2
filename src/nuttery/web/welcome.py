"""The small page over plain HTTP from which a phone fetches the authority's certificate.

It tells nothing of the planting and takes nothing in. Whoever reads it compares the fingerprint
with the one on the owner's screen, so that nobody in between can slip in another authority.
"""

from pathlib import Path

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import FileResponse, HTMLResponse, Response
from starlette.routing import Route

from nuttery.web.rendering import STATIC, template
from nuttery.web.security.authority import Certificates
from nuttery.web.security.guard import HEADERS


def welcome(certificates: Certificates, address: str) -> Starlette:
    """Return the application.

    Parameters
    ----------
    certificates : of which the authority's is handed out
    address : where the planting itself is served
    """

    def steps(_request: Request) -> Response:
        text = template("welcome.html").render(
            fingerprint=certificates.fingerprint, address=address
        )
        return HTMLResponse(text, headers=HEADERS)

    def authority(_request: Request) -> Response:
        return _file(certificates.authority, "application/x-x509-ca-cert", "nuttery-authority.crt")

    def look(_request: Request) -> Response:
        return FileResponse(STATIC / "look.css", media_type="text/css", headers=HEADERS)

    return Starlette(
        routes=[
            Route("/", steps),
            Route("/nuttery-authority.crt", authority),
            Route("/look.css", look),
        ]
    )


def _file(file: Path, kind: str, name: str) -> Response:
    return FileResponse(file, media_type=kind, filename=name, headers=HEADERS)
