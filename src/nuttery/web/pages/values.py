"""Every number that answers rest on, with its source; the owner may set their own, and undo it."""

from typing import Annotated

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from nuttery.figures.chart import Chart, Sheet
from nuttery.records import read_quantity
from nuttery.season import WrongQuestion
from nuttery.season.planting import Planting
from nuttery.season.values import Held, changes, held_value, held_values, set_value, undo
from nuttery.web.api.answers import OnDay
from nuttery.web.leaf import Leaf, add_files, leaf_page
from nuttery.web.rendering import Link, page
from nuttery.web.site import site_of, who_asks

LINK = Link("/values", "Values", 60)
router = APIRouter(include_in_schema=False)
Find = Annotated[str, Query(max_length=60)]
Number = Annotated[str, Form(max_length=40)]
Words = Annotated[str, Form(max_length=400)]


def leaf(request: Request, on: OnDay = None) -> Leaf:
    """Return every value as a sheet."""
    held = held_values(site_of(request).served.planting(on))
    columns = ("value", "now", "unit", "certainty", "shipped", "low", "high", "source", "note")
    rows = tuple(
        (
            h.now.name,
            h.now.value,
            h.now.unit,
            h.now.certainty,
            h.shipped.value,
            h.shipped.low,
            h.shipped.high,
            h.now.source,
            h.shipped.note,
        )
        for h in held
    )
    title = "Values that the answers rest on"
    return Leaf((Chart("values", title, "", Sheet(title, columns, rows)),), {"held": held})


@router.get("/values")
def values(request: Request, on: OnDay = None, find: Find = "") -> HTMLResponse:
    """Return the page of all values, or of those whose name or source has the word."""
    found = leaf(request, on)
    shown = [h for h in found.facts["held"] if _has(h, find)]
    topics: dict[str, list[Held]] = {}
    for held in shown:
        topics.setdefault(held.topic, []).append(held)
    made = changes(site_of(request).served.planting(on))
    facts = {"topics": topics, "find": find, "changes": made[:20], "count": len(shown)}
    return leaf_page(request, "values.html", found, **facts)


def _has(held: Held, word: str) -> bool:
    text = f"{held.now.name} {held.words} {held.topic} {held.now.source} {held.now.certainty}"
    return word.strip().lower() in text.lower()


@router.get("/values/{name}")
def value(request: Request, name: str, on: OnDay = None) -> HTMLResponse:
    """Return the page of one value, on which the owner may set their own."""
    planting = site_of(request).served.planting(on)
    return _one(request, planting, name)


def _one(
    request: Request, planting: Planting, name: str, *, wrong: str = "", tried: str = ""
) -> HTMLResponse:
    held = held_value(planting, name)
    made = [change for change in changes(planting) if change.name == name]
    return page(
        request,
        "value.html",
        status=422 if wrong else 200,
        held=held,
        changes=made,
        wrong=wrong,
        tried=tried,
        may_set=who_asks(request).may("owner"),
    )


@router.post("/values/{name}")
def change(
    request: Request,
    name: str,
    number: Number = "",
    source: Words = "",
    means_it: Annotated[bool, Form()] = False,
) -> Response:
    """Set the grower's own value; without a number, the shipped one holds again."""
    site, who = site_of(request), who_asks(request)
    planting = site.served.planting()
    try:
        found = _number(name, number)
        with site.writing:
            set_value(
                planting,
                name,
                found,
                source=source,
                by=who.person,
                device=who.device,
                now=site.clock(),
                means_it=means_it,
            )
    except WrongQuestion as problem:
        return _one(request, planting, name, wrong=str(problem), tried=number)
    return RedirectResponse(f"/values/{name}", 303)


def _number(name: str, text: str) -> float | None:
    if not text.strip():
        return None
    try:
        return read_quantity(text, "count", "metric")
    except ValueError as problem:
        raise WrongQuestion(f"{name}: {problem}") from None


@router.post("/values/{name}/undo/{note}")
def undone(request: Request, name: str, note: str) -> RedirectResponse:
    """Take a change back."""
    site, who = site_of(request), who_asks(request)
    with site.writing:
        undo(site.served.planting(), note, by=who.person, device=who.device, now=site.clock())
    return RedirectResponse(f"/values/{name}", 303)


add_files(router, "/values/all", leaf)
