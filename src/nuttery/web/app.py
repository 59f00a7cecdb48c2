"""The one place that builds the application."""

import getpass
import secrets
import time
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from datetime import date, datetime
from pathlib import Path

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, Response
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware
from starlette.staticfiles import StaticFiles

import nuttery
from nuttery.records import utc_now
from nuttery.season import NotEnoughKnown, WrongQuestion
from nuttery.season.own_folder import folder_of
from nuttery.season.serving import Served, StillWorking
from nuttery.web import pages
from nuttery.web.api import answers, notes, photos, questions
from nuttery.web.rendering import STATIC, error_page, page
from nuttery.web.security.guard import Guard
from nuttery.web.security.refused import Refused, refusal
from nuttery.web.site import Shared, Site


def build(
    where: str | Path,
    *,
    clock: Callable[[], datetime] = utc_now,
    on: date | None = None,
    owner: str | None = None,
    shared: Shared | None = None,
    folder: Path | None = None,
    random: Callable[[int], bytes] = secrets.token_bytes,
    ticks: Callable[[], float] = time.monotonic,
) -> FastAPI:
    """Return the application that serves a planting.

    Parameters
    ----------
    where : the register's file, or a database address
    clock : tells the present moment, with its time zone
    on : the day as of which answers are given; None for the present day
    owner : who writes the notes that are made at this computer
    shared : how other devices come in, each with a key of its own; None for this computer alone
    folder : where keys and photos are kept; beside the register if not told
    random : gives so many random bytes
    ticks : seconds that only run forward
    """
    site = Site(
        served=Served(where, clock=clock, on=on),
        clock=clock,
        owner=owner or getpass.getuser(),
        folder=folder or folder_of(where),
        shared=shared,
        random=random,
    )
    app = FastAPI(
        title="Nuttery",
        version=nuttery.__version__,
        summary="Answers about a planting as JSON, of the same shape as the command line's --json.",
        docs_url=None,
        redoc_url=None,
        openapi_url="/api/openapi.json",
        lifespan=_lifespan,
    )
    app.state.site = site
    app.add_middleware(GZipMiddleware, minimum_size=1000, compresslevel=5)
    app.add_middleware(Guard, site=site, clock=ticks)
    app.mount("/static", StaticFiles(directory=STATIC), name="static")
    for module in (answers, questions, notes, photos, *pages.modules()):
        app.include_router(module.router)
    _tell_what_goes_wrong(app)
    return app


@asynccontextmanager
async def _lifespan(app: FastAPI) -> AsyncIterator[None]:
    yield
    app.state.site.served.close()


def _tell_what_goes_wrong(app: FastAPI) -> None:
    app.add_exception_handler(Refused, _refused)
    app.add_exception_handler(HTTPException, _http)
    app.add_exception_handler(RequestValidationError, _malformed)
    app.add_exception_handler(WrongQuestion, _wrong)
    app.add_exception_handler(NotEnoughKnown, _lacking)
    app.add_exception_handler(StillWorking, _working)
    app.add_exception_handler(Exception, _broken)


def _told(request: Request, status: int, words: str) -> Response:
    if request.url.path.startswith("/api/"):
        return JSONResponse({"wrong": words}, status)
    return error_page(request, status, words)


def _refused(request: Request, no: Exception) -> Response:
    assert isinstance(no, Refused)  # noqa: S101 - registered for it
    return refusal(request, no)


def _http(request: Request, problem: Exception) -> Response:
    status = getattr(problem, "status_code", 500)
    words = {404: "There is no such page.", 405: "This cannot be done here."}
    answer = _told(request, status, words.get(status, str(getattr(problem, "detail", ""))))
    answer.headers.update(getattr(problem, "headers", None) or {})
    return answer


def _malformed(request: Request, problem: Exception) -> Response:
    faults = problem.errors() if isinstance(problem, RequestValidationError) else ()
    told = "; ".join(f"{'.'.join(map(str, f['loc']))}: {f['msg']}" for f in faults)
    return _told(request, 422, told.encode("utf-8", "replace").decode())


def _wrong(request: Request, problem: Exception) -> Response:
    return _told(request, 404, str(problem).encode("utf-8", "replace").decode())


def _lacking(request: Request, problem: Exception) -> Response:
    return _told(request, 409, str(problem))


def _working(request: Request, problem: Exception) -> Response:
    if request.url.path.startswith("/api/"):
        headers = {"retry-after": "2"}
        return JSONResponse({"working": str(problem)}, 503, headers)
    return page(request, "working.html", status=202, words=str(problem))


def _broken(request: Request, _problem: Exception) -> Response:
    words = "Something went wrong here; no note was lost. The server's own output says what."
    return _told(request, 500, words)
