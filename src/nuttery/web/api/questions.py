"""What each room of the planting answers, as JSON of the same shapes as the commands' --json."""

from dataclasses import fields
from datetime import date, timedelta
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import JSONResponse, Response

from nuttery.season import as_json
from nuttery.season.bloom import BloomOutlook, bloom
from nuttery.season.cane_trial import trial
from nuttery.season.canes import canes
from nuttery.season.crosses import CrossPlan, cross_plan
from nuttery.season.frost import CAUTION, frost_risks, night_ahead
from nuttery.season.harvest_told import HarvestTold, ShrubHarvest, harvest_told, shrub_harvest
from nuttery.season.new_planting import lay_out, seedlings_needed, seedlings_told
from nuttery.season.outlook import CropOutlook, outlook
from nuttery.season.planting import Planting
from nuttery.season.pollen import PollenOf, PollenOutlook, pollen
from nuttery.season.siting import siting
from nuttery.season.weather import SoFar, so_far
from nuttery.season.what_ifs import AS_IT_IS, what_ifs
from nuttery.web.api.answers import OnDay, kept_json
from nuttery.web.leaf import asked
from nuttery.web.site import site_of

router = APIRouter(prefix="/api", tags=["answers"])
Target = Annotated[float | None, Query(ge=1, le=40, description="Canes wanted on a stool.")]
Oldest = Annotated[int | None, Query(ge=2, le=14, description="Age at which a cane is overdue.")]
Cuts = Annotated[int | None, Query(ge=0, le=100_000, description="Canes cut in a winter, in all.")]
Days = Annotated[int, Query(ge=1, le=366, description="Days to look ahead.")]
Coldest = Annotated[float, Query(ge=-60, le=20, description="Lowest of the night, °C.")]
Morning = Annotated[date | None, Query(description="Morning that ends it; tomorrow if left out.")]
Within = Annotated[float, Query(ge=0, le=20, description="How unsure the lowest is, °C.")]
Places = Annotated[int, Query(ge=1, le=1000, description="How many new shrubs.")]
Lot = Annotated[str | None, Query(max_length=200, description="Only of this seed lot.")]
Beyond = Annotated[int, Query(ge=0, le=20, description="New places beyond each end of a row.")]
Lots = Annotated[str, Query(max_length=500, description="Seedlings by lot, as A:30,B:30.")]
Rows = Annotated[int, Query(ge=1, le=100, description="Rows of the new planting.")]
PerRow = Annotated[int, Query(ge=1, le=100, description="Places in a row.")]
Metres = Annotated[float, Query(gt=0, le=50, description="Metres, in the row or between rows.")]
Number = Annotated[int, Query(ge=1, le=8, description="Crosses to propose.")]


def terms_of_cutting(
    target: Target = None, max_age: Oldest = None, cuts: Cuts = None
) -> dict[str, Any]:
    """Terms of your own for a plan of canes, by name; those left out are None."""
    return {"cuts": cuts, "target": target, "max_age": max_age}


Terms = Annotated[dict[str, Any], Depends(terms_of_cutting)]


def told(*names: str) -> dict[int | str, dict[str, Any]]:
    """Describe an answer by its entries; what they mean is told in docs/methods/answers.md."""
    entries: dict[str, Any] = {name: {} for name in names}
    schema = {"type": "object", "required": list(names), "properties": entries}
    return {200: {"content": {"application/json": {"schema": schema}}}}


def shape(kind: Any) -> dict[int | str, dict[str, Any]]:  # noqa: ANN401 - any dataclass
    """Describe an answer that is one of the season's result types."""
    return told(*(entry.name for entry in fields(kind)))


@router.get("/bloom", responses=shape(BloomOutlook))
def bloom_(request: Request, on: OnDay = None) -> Response:
    """When catkins shed, stigmas are out, leaves break and nuts roll out, shrub by shrub."""
    return kept_json(request, "the season of all shrubs", lambda planting, _: bloom(planting), on)


@router.get("/bloom/{tag}")
def bloom_of(request: Request, tag: str, on: OnDay = None) -> JSONResponse:
    """Tell the season of one shrub, stage by stage."""
    return JSONResponse(as_json(_of_one(request, "the calendar", bloom, tag, on)))


@router.get("/pollen", responses=shape(PollenOutlook))
def pollen_(request: Request, on: OnDay = None) -> Response:
    """Who feeds whom, who goes short and why, and on whom many lean."""
    return kept_json(request, "the pollen of all shrubs", lambda planting, _: pollen(planting), on)


@router.get("/pollen/{tag}", responses=shape(PollenOf))
def pollen_of(request: Request, tag: str, on: OnDay = None) -> JSONResponse:
    """Tell one shrub's pollen: how much of it is taken, and who gives it."""
    return JSONResponse(as_json(_of_one(request, "pollen", pollen, tag, on)))


def _of_one(request: Request, question: str, ask: Any, tag: str, on: date | None) -> Any:  # noqa: ANN401 - any outlook of all shrubs
    """One shrub's part of an answer about all, which everyone shares."""
    site_of(request).served.planting(on).shrub(tag)
    return asked(request, question, ask, on).one(tag)


@router.get("/crosses", responses=shape(CrossPlan))
def crosses(request: Request, number: Number = 5, on: OnDay = None) -> Response:
    """Test crosses that would tell most about who accepts whose pollen."""

    def compute(planting: Planting, _: object) -> CrossPlan:
        return cross_plan(planting, number)

    return kept_json(request, "the test crosses", compute, on, number=number)


@router.get("/siting", responses=told("plan", "seedlings_needed"))
def siting_(
    request: Request, places: Places = 3, lot: Lot = None, beyond: Beyond = 0, on: OnDay = None
) -> Response:
    """Where to put new shrubs, and of which seed lot."""

    def compute(planting: Planting, _: object) -> dict[str, Any]:
        plan = siting(planting, places, lot, beyond)
        return {"plan": plan, "seedlings_needed": seedlings_needed(planting)}

    terms = {"places": places, "lot": lot, "beyond": beyond}
    return kept_json(request, "places for new shrubs", compute, on, **terms)


@router.get("/layout", responses=told("plan", "seedlings_needed"))
def layout(  # noqa: PLR0917 - one entry a term of the question
    request: Request,
    rows: Rows,
    lots: Lots,
    per_row: PerRow = 12,
    spacing: Metres = 1.8,
    between: Metres = 4.5,
    on: OnDay = None,
) -> Response:
    """How to lay out the lots of a new planting."""
    size: dict[str, Any] = {
        "rows": rows,
        "per_row": per_row,
        "spacing": spacing,
        "between": between,
    }

    def compute(planting: Planting, _: object) -> dict[str, Any]:
        plan = lay_out(planting, seedlings_told(lots, rows * per_row), **size)
        return {"plan": plan, "seedlings_needed": seedlings_needed(planting)}

    return kept_json(request, "the layout of a new planting", compute, on, lots=lots, **size)


@router.get("/canes", responses=told("plan"))
def canes_(request: Request, terms: Terms, on: OnDay = None) -> Response:
    """What to saw out and what to keep; with terms of your own, beside the usual plan."""
    asked_for = {name: term for name, term in terms.items() if term is not None}

    def compute(planting: Planting, _: object) -> dict[str, Any]:
        plans = {AS_IT_IS: canes(planting)}
        for name, some in what_ifs(asked_for):
            plans[name] = canes(planting, **some)
        *_, plan = plans.values()
        return {"plan": plan} | ({"side_by_side": plans} if asked_for else {})

    return kept_json(request, "the canes", compute, on, **terms)


@router.get("/canes/{tag}", responses=told("plan", "trial"))
def canes_of(request: Request, tag: str, on: OnDay = None) -> Response:
    """Tell the plan with one stool's cuts put to the test."""
    site_of(request).served.planting(on).shrub(tag)

    def compute(planting: Planting, _: object) -> dict[str, Any]:
        plan = canes(planting)
        return {"plan": plan} | ({"trial": trial(planting, tag)} if tag in plan.tags else {})

    return kept_json(request, "the cuts of a stool", compute, on, tag=tag)


@router.get("/outlook", responses=shape(CropOutlook))
def outlook_(request: Request, terms: Terms, on: OnDay = None) -> Response:
    """Tell the crop of the coming years, and of other ways of cutting."""

    def compute(planting: Planting, _: object) -> CropOutlook:
        return outlook(planting, **terms)

    return kept_json(request, "the crop of the coming years", compute, on, **terms)


@router.get("/harvest", responses=shape(HarvestTold))
def harvest(request: Request, on: OnDay = None) -> Response:
    """What to press and pick, what waiting costs, and what dries."""
    return kept_json(request, "the harvest", lambda planting, _: harvest_told(planting), on)


@router.get("/harvest/{tag}", responses=shape(ShrubHarvest))
def harvest_of(request: Request, tag: str, on: OnDay = None) -> Response:
    """Tell one shrub's crops, samples and grade."""

    def compute(planting: Planting, _: object) -> ShrubHarvest:
        return shrub_harvest(planting, tag)

    return kept_json(request, "the harvest of a shrub", compute, on, tag=tag)


@router.get("/weather", responses=shape(SoFar))
def weather(request: Request, on: OnDay = None) -> Response:
    """Tell the season so far: heat, chill and rain, among other years."""
    return kept_json(request, "the season so far", lambda planting, _: so_far(planting), on)


@router.get("/frost", responses=told("risks", "caution"))
def frost(request: Request, ahead: Days = 21, on: OnDay = None) -> Response:
    """Which shrubs at which stage risk what in the nights ahead."""

    def compute(planting: Planting, _: object) -> dict[str, Any]:
        risks = frost_risks(planting, planting.on + timedelta(days=ahead))
        return {"risks": risks, "caution": CAUTION}

    return kept_json(request, "the frosts ahead", compute, on, ahead=ahead)


@router.get("/frost/night", responses=told("risks", "caution"))
def frost_night(
    request: Request,
    min: Coldest,  # noqa: A002 - as the command line calls it
    night: Morning = None,
    within: Within = 1.5,
    on: OnDay = None,
) -> Response:
    """Which shrubs at which stage risk what in one cold night."""

    def compute(planting: Planting, _: object) -> dict[str, Any]:
        morning = night or planting.on + timedelta(days=1)
        return {"risks": night_ahead(planting, morning, min, within), "caution": CAUTION}

    terms = {"min": min, "night": night, "within": within}
    return kept_json(request, "a cold night", compute, on, **terms)
