"""One shrub: its stool, its calendar, what it bore, its nuts, its donors, and its story."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Any

import numpy as np
from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse

from nuttery.figures.chart import Chart, Sheet
from nuttery.figures.nuts import nuts_sheet
from nuttery.figures.one_shrub import calendar_chart, crop_chart
from nuttery.figures.stool import stool_picture, stool_sheet
from nuttery.records import shown, unit_of
from nuttery.season import NotEnoughKnown
from nuttery.season.bloom import bloom
from nuttery.season.cane_trial import Trial, trial
from nuttery.season.cane_words import age_told, reasons
from nuttery.season.canes import canes
from nuttery.season.cards import LABELS, lineage
from nuttery.season.crops import crops
from nuttery.season.planting import Planting
from nuttery.season.pollen import REASONS, PollenOutlook, pollen
from nuttery.season.samples import samples
from nuttery.season.shrub_photos import shrub_photos
from nuttery.season.siblings import Trait, traits_of_all
from nuttery.season.stool_view import stool_view
from nuttery.season.stools import stools
from nuttery.season.story import Told, place_told, story
from nuttery.season.words import first_of
from nuttery.web.api.answers import OnDay, plan_for
from nuttery.web.leaf import Leaf, Part, add_files, asked, leaf_page, part
from nuttery.web.rendering import page
from nuttery.web.site import site_of

PHOTOS = 12
"""Newest photos shown."""
router = APIRouter(include_in_schema=False)


@dataclass(frozen=True)
class _Asked:
    """Which shrub, of what planting; its place in walking order."""

    request: Request
    planting: Planting
    tag: str
    on: Any

    @property
    def row(self) -> int:
        """Place in walking order."""
        return [s.tag for s in self.planting.shrubs].index(self.tag)

    def part(self, question: str, compute: Any) -> Part:  # noqa: ANN401 - any question
        """An answer about all shrubs, shared by everyone who asks."""
        return part(self.request, question, compute, self.on)


def leaf(request: Request, tag: str, on: OnDay = None) -> Leaf:
    """Return what is known of one shrub."""
    planting = site_of(request).served.planting(on)
    found = story(planting, tag)
    ask = _Asked(request, planting, tag, on)
    parts = (_stool(ask), _calendar(ask), _crop(ask), _traits(ask), _donors(ask), _nuts(ask))
    photos = shrub_photos(planting, tag)[:PHOTOS]
    charts = tuple(p.found["chart"] for p in parts if p.found and p.found.get("chart"))
    facts: dict[str, Any] = {"shrub": found, "lineage": lineage(found), "photos": photos}
    for p in parts:
        facts |= {key: value for key, value in (p.found or {}).items() if key != "chart"}
    lacking = tuple(dict.fromkeys(p.lack for p in parts if p.lack))
    working = tuple(dict.fromkeys(p.working for p in parts if p.working))
    return Leaf(
        charts,
        {"donors": None, "nuts": None, "traits": (), "out": ()} | facts | {"working": working},
        lacking,
    )


def _then(got: Part, tell: Any) -> Part:  # noqa: ANN401 - any answer
    return got if got.found is None else Part(tell(got.found))


def _stool(ask: _Asked) -> Part:
    """The stool seen from above, and why each cane goes."""

    def answer(planting: Planting) -> Any:  # noqa: ANN401 - stools and their plan
        return stools(planting), canes(planting)

    def tell(found: Any) -> dict[str, Any]:  # noqa: ANN401 - stools and their plan
        known, plan = found
        stool = stool_view(ask.planting, ask.tag, known, plan)
        if stool is None:
            return {}
        told = f"Counted {stool.known} in the winter before {stool.counted}."
        if stool.counted < stool.winter:
            told += f" Grown forward to the winter before {stool.winter}."
        if stool.choice:
            told += " Where more canes of an age stand than are to go, choose the worst placed."
        out = tuple(Counter(reasons(plan, plan.tags.index(ask.tag))).items())
        title = f"Stool {ask.tag} seen from above"
        return {
            "chart": Chart("stool", title, stool_picture(stool), stool_sheet(stool), told),
            "out": out,
        }

    return _then(ask.part("the canes of all stools", answer), tell)


def _calendar(ask: _Asked) -> Part:
    def tell(outlook: Any) -> dict[str, Any]:  # noqa: ANN401 - the outlook of bloom
        k = outlook.index(ask.tag)
        windows = [(words, w) for s, words in LABELS.items() if (w := outlook.window(s, k))]
        return {"chart": calendar_chart(ask.tag, windows, ask.planting.on)}

    return _then(ask.part("the calendar", bloom), tell)


def _crop(ask: _Asked) -> Part:
    units = ask.planting.about.units

    def tell(found: Any) -> dict[str, Any]:  # noqa: ANN401 - crops of all shrubs
        mine = np.flatnonzero(found.shrub == ask.row)
        values = (
            np.array([shown(float(kg), "mass", units) for kg in part[mine]])
            for part in (found.kg, found.low, found.high)
        )
        unit = unit_of("mass", units).symbol
        chart = crop_chart(ask.tag, found.year[mine], *values, unit=unit, basis=found.basis)
        return {"chart": chart}

    return _then(ask.part("the crops", crops), tell)


def _traits(ask: _Asked) -> Part:
    """What it shows beside its siblings."""

    def tell(found: Any) -> dict[str, Any]:  # noqa: ANN401 - traits of all shrubs
        lot, row = ask.planting.shrub(ask.tag).seed_lot, ask.row
        kin = [k for k, s in enumerate(ask.planting.shrubs) if lot and s.seed_lot == lot]
        rows = [(t, t.of(row), _among(t, row, kin)) for t in found[0] if t.unit != "day"]
        return {"traits": [(t, e, among) for t, e, among in rows if e is not None]}

    return _then(ask.part("the traits of all shrubs", traits_of_all), tell)


def _among(trait: Trait, row: int, kin: Sequence[int]) -> str:
    """Place among its siblings, as "3rd largest of 28"."""
    known = [float(trait.median[k]) for k in kin if not np.isnan(trait.median[k])]
    if len(known) < 2 or row not in kin:
        return ""
    larger = sum(value > trait.median[row] for value in known)
    return f"{larger} of its {len(known) - 1} siblings have more"


def _donors(ask: _Asked) -> Part:
    """Its pollen: how much is taken, who gives it, and who leans on it."""

    def tell(outlook: PollenOutlook) -> dict[str, Any]:
        if ask.tag not in outlook.tags:
            return {}
        one = outlook.one(ask.tag)
        rows = tuple((d.tag, f"{d.share:.0%}", d.accepted_told) for d in one.donors)
        columns = ("donor", "share of its useful pollen", "chance that it is accepted")
        sheet = Sheet(f"Donors of {ask.tag}", columns, rows, tags=True)
        return {
            "donors": sheet,
            "pollen": one,
            "short": outlook.short,
            "held_back": REASONS[one.reason],
            "leaning": first_of(one.short_without_it),
        }

    return _then(ask.part("pollen", pollen), tell)


def _nuts(ask: _Asked) -> Part:
    """Its nuts, season by season."""
    try:
        found = samples(ask.planting, ask.tag)
    except NotEnoughKnown:
        return Part()
    return Part({"nuts": nuts_sheet(found, ask.planting.about.units)} if found else {})


@router.get("/shrubs/{tag}")
def shrub(
    request: Request, tag: str, found: Annotated[Leaf, Depends(leaf)], on: OnDay = None
) -> HTMLResponse:
    """Return one shrub's page."""
    planting = site_of(request).served.planting(on)
    lines = [line for line in plan_for(request, on).lines if tag in line.shrubs]
    tags = [s.tag for s in planting.shrubs]
    at = tags.index(tag)
    return leaf_page(
        request,
        "shrub.html",
        found,
        lines=lines,
        cautions=tuple(dict.fromkeys(line.caution for line in lines if line.caution)),
        place=place_told(found.facts["shrub"], planting.about.units),
        before=tags[at - 1] if at else None,
        after=tags[at + 1] if at + 1 < len(tags) else None,
        years=_by_year(found.facts["shrub"].told),
    )


@router.get("/shrubs/{tag}/cuts")
def cuts(request: Request, tag: str, on: OnDay = None) -> HTMLResponse:
    """Return the page that puts a stool's cuts to the test of uncertain ages."""

    def tried(planting: Planting) -> Trial:
        return trial(planting, planting.shrub(tag).tag)

    found = asked(request, f"the cuts of {tag}, tried", tried, on, tag=tag)
    rows = [
        (age_told(int(age)), f"{age_told(int(low))}–{age_told(int(high))}", f"{goes:.0%}")
        for age, low, high, goes in zip(found.ages, found.low, found.high, found.goes, strict=True)
    ]
    return page(request, "cuts.html", trial=found, rows=rows)


def _by_year(told: Sequence[Told]) -> list[tuple[int, list[Told]]]:
    """Notes year by year, the newest first."""
    years: dict[int, list[Told]] = {}
    for note in reversed(told):
        years.setdefault(note.seen.year, []).append(note)
    return list(years.items())


add_files(router, "/shrubs/{tag}", leaf)
