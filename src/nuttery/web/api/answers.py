"""Answers as JSON, of the same shapes as the command line's --json."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Annotated, Any
from uuid import UUID

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import JSONResponse, Response

from nuttery.season import as_json
from nuttery.season.note_list import NoteRow, latest_notes
from nuttery.season.plan import SeasonPlan, season_plan
from nuttery.season.planting import Planting
from nuttery.season.round import Round, todays_round
from nuttery.season.serving import Tell
from nuttery.season.shrub_table import ShrubRow, shrub_table
from nuttery.season.story import Story, story
from nuttery.web.forms import Form, forms
from nuttery.web.security.cookie import give_key
from nuttery.web.security.guard import COOKIE, page_token
from nuttery.web.security.who import ROLES, Role
from nuttery.web.site import site_of, who_asks

router = APIRouter(prefix="/api", tags=["answers"])
PLAN = "the season plan"


@dataclass(frozen=True)
class Me:
    """Who is asking, and what a phone has to know of the server.

    Attributes
    ----------
    person, device, role : as this device was let in
    may : roles whose work it may do
    token : mark that what it sends must carry, in the header x-nuttery-token
    now : the server's moment
    planting : id of the planting
    fixed_day : the day as of which the planting is served, if not today
    """

    person: str
    device: str
    role: Role
    may: tuple[Role, ...]
    token: str
    now: datetime
    planting: str
    fixed_day: date | None


def day_asked(
    on: Annotated[
        str | None,
        Query(pattern=r"^$|^(19[5-9]\d|20\d\d|21\d\d)-\d\d-\d\d$", description="As of this day."),
    ] = None,
) -> date | None:
    """Day as of which an answer is asked, or None for today."""
    from nuttery.season import WrongQuestion

    try:
        return date.fromisoformat(on) if on else None
    except ValueError:
        raise WrongQuestion(f"on: found {on!r}, expected a day such as 2026-04-12") from None


OnDay = Annotated[date | None, Depends(day_asked)]
Ahead = Annotated[int, Query(ge=0, le=366, description="Days to look ahead.")]


def plan_for(request: Request, on: date | None, ahead: int = 28) -> SeasonPlan:
    """Season plan of a day, worked out once for everyone."""

    def compute(planting: Planting, tell: Tell) -> SeasonPlan:
        return season_plan(planting, ahead=ahead, progress=tell)

    return site_of(request).served.answer(PLAN, compute, on=on, ahead=ahead)


def plan_is_behind(request: Request, on: date | None, ahead: int = 28) -> bool:
    """Whether notes came in since the plan at hand was worked out."""
    return site_of(request).served.is_behind(PLAN, on, ahead=ahead)


@router.get("/season", responses={200: {"model": SeasonPlan}})
def season(request: Request, on: OnDay = None, ahead: Ahead = 28) -> JSONResponse:
    """What to do now and in the coming weeks, and why."""
    return JSONResponse(as_json(plan_for(request, on, ahead)))


@router.get("/shrubs", responses={200: {"model": tuple[ShrubRow, ...]}})
def shrubs(request: Request, on: OnDay = None) -> Response:
    """Every standing shrub, in walking order."""
    return kept_json(request, "the shrubs", lambda planting, _: shrub_table(planting), on)


def kept_json(
    request: Request,
    question: str,
    compute: Callable[[Planting, Tell], object],
    on: date | None,
    **terms: Any,  # noqa: ANN401 - any term
) -> Response:
    """Answer with an answer that is large: written as JSON once, not for everyone who asks."""

    def written(planting: Planting, tell: Tell) -> bytes:
        return bytes(JSONResponse(as_json(compute(planting, tell))).body)

    body = site_of(request).served.answer(question, written, on=on, **terms)
    return Response(body, media_type="application/json")


@router.get("/shrubs/{tag}", responses={200: {"model": Story}})
def shrub(request: Request, tag: str, on: OnDay = None) -> JSONResponse:
    """One shrub's story: where it stands, where it comes from, what was noted of it."""
    return JSONResponse(as_json(story(site_of(request).served.planting(on), tag)))


@router.get("/notes", responses={200: {"model": tuple[NoteRow, ...]}})
def notes(
    request: Request,
    on: OnDay = None,
    at_most: Annotated[int, Query(ge=1, le=1000)] = 200,
    before: Annotated[UUID | None, Query(description="Only notes older than this one.")] = None,
    kind: Annotated[str, Query(max_length=40, description="Only notes of this kind.")] = "",
) -> JSONResponse:
    """Return the latest notes, and who wrote them on what."""
    planting = site_of(request).served.planting(on)
    found = latest_notes(planting, at_most=at_most, before=before, kind=kind)
    return JSONResponse(as_json(found))


@router.get("/round", responses={200: {"model": Round}})
def round_(request: Request, on: OnDay = None) -> Response:
    """Return what a phone carries into the row: shrubs in order, what to note, what was seen."""

    def compute(planting: Planting, tell: Tell) -> Round:
        return todays_round(planting, season_plan(planting, progress=tell).lines)

    return kept_json(request, "today's round", compute, on)


@router.get("/kinds", responses={200: {"model": tuple[Form, ...]}})
def kinds(request: Request) -> JSONResponse:
    """Every kind of note that can be written in the row, with its entries, units and limits."""
    return JSONResponse(as_json(forms(site_of(request).served.about.units)))


@router.get("/me", responses={200: {"model": Me}})
def me(request: Request) -> JSONResponse:
    """Who is asking, what they may do, and the mark that their notes must carry."""
    site, who = site_of(request), who_asks(request)
    told = Me(
        person=who.person,
        device=who.device,
        role=who.role,
        may=ROLES[: ROLES.index(who.role) + 1],
        token=page_token(site, who),
        now=site.clock(),
        planting=str(site.served.about.planting),
        fixed_day=site.served.fixed_day,
    )
    answer = JSONResponse(as_json(told))
    if COOKIE in request.cookies and site.devices is not None:
        give_key(answer, request.cookies[COOKIE], site)
    return answer
