"""One way to render a page: the frame, who is asking, and the words that all pages share."""

import hashlib
import re
from dataclasses import dataclass
from datetime import date, datetime
from functools import cache
from pathlib import Path
from typing import Any

from fastapi import Request
from fastapi.responses import HTMLResponse
from jinja2 import Environment, FileSystemLoader, StrictUndefined, Template
from markupsafe import Markup

from nuttery.season import day_told, span_told
from nuttery.web.security.guard import page_token
from nuttery.web.security.who import ROLE_TOLD, Who
from nuttery.web.site import site_of

HERE = Path(__file__).parent
STATIC = HERE / "static"


@dataclass(frozen=True)
class Link:
    """A page as the navigation names it.

    Attributes
    ----------
    path, words : where it is, what it is called
    place : order in the navigation, smaller first
    owner_only : shown to the owner alone
    """

    path: str
    words: str
    place: int
    owner_only: bool = False


@cache
def _environment() -> Environment:
    found = Environment(
        loader=FileSystemLoader(HERE / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    found.filters |= {"day": day_words, "moment": moment_words}
    found.globals |= {"span": span_told, "static": static}
    return found


def template(name: str) -> Template:
    """Return a template of ours by its file name."""
    return _environment().get_template(name)


def day_words(day: date | None) -> str:
    """Return a day with its year, as "14 Apr 2027".

    Examples
    --------
    >>> day_words(date(2027, 4, 14)), day_words(None)
    ('14 Apr 2027', '–')
    """
    return "–" if day is None else f"{day_told(day)} {day.year}"


def moment_words(moment: datetime | None) -> str:
    """Return a moment in UTC, as "14 Apr 2027, 17:05 UTC"."""
    return "never" if moment is None else f"{day_words(moment.date())}, {moment:%H:%M} UTC"


@cache
def static(name: str) -> str:
    """Address of one of our own files; it changes with the file."""
    mark = hashlib.sha256((STATIC / name).read_bytes()).hexdigest()[:12]
    return f"/static/{name}?{mark}"


def page(request: Request, name: str, *, status: int = 200, **told: Any) -> HTMLResponse:  # noqa: ANN401 - whatever it tells
    """Return a page.

    Parameters
    ----------
    request : what is answered
    name : of the file in `templates`
    status : HTTP status
    told : what the template tells
    """
    from nuttery.web.pages import links

    site = site_of(request)
    found: Who | None = getattr(request.state, "who", None)
    who = found if found is not None and found.key_id >= 0 else None
    text = template(name).render(
        who=who,
        roles=ROLE_TOLD,
        token=page_token(site, who),
        path=request.url.path,
        links=[k for k in links() if who and (not k.owner_only or who.may("owner"))],
        about=site.served.about if who else None,
        on=_day(request),
        **told,
    )
    return HTMLResponse(text, status)


def _day(request: Request) -> str:
    """The day that was asked for, to be carried from page to page."""
    told = request.query_params.get("on", "")
    return told if re.fullmatch(r"\d{4}-\d\d-\d\d", told) else ""


def error_page(request: Request, status: int, words: str) -> HTMLResponse:
    """Return a page that says what went wrong, and what to do now."""
    return page(request, "error.html", status=status, code=status, words=words)


def picture(svg: str) -> Markup:
    """Let a drawing of the figures room into a page as it is; they escape their own text."""
    return Markup(svg)  # noqa: S704 - made by our own writer, which escapes its text
