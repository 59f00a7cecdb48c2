"""The crop of the coming years under this plan, and if canes are cut otherwise or not at all."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from nuttery.science.arguments import Floats
from nuttery.science.canes import Policy, as_done, cut_at, cut_nothing, project, this_plan
from nuttery.season.planting import Planting
from nuttery.season.renewal import YEARS, CanePlan, Planned, planned, stool_crop
from nuttery.season.stools import AGES, Stools, stools
from nuttery.season.watch import Watch

DRAWS = 200
SEED = 20
"""Of the draws: the same question gives the same answer."""
FEWEST_CUTS = 10
"""Canes cut by age on record from which it can be told how this grower cuts."""


@dataclass(frozen=True)
class Ahead:
    """Crop of all counted stools under one way of cutting.

    Attributes
    ----------
    name : the way, in words
    median, low, high : (years,) kg in shell; low and high hold four in five of the draws
    total : kg of all the years, the middle of the draws
    better : share of the draws in which this plan bears more over all the years
    meaning : what is done each winter, in words
    """

    name: str
    median: Floats
    low: Floats
    high: Floats
    total: float
    better: float
    meaning: str = ""


@dataclass(frozen=True)
class CropOutlook:
    """Crop of the coming years under several ways of cutting, met by the same luck.

    Attributes
    ----------
    years : (years,) harvests
    ways : this plan first
    stools : how many are counted, and so in it
    draws : of bearing, years and deaths
    rates : (AGES,) share of the canes of each age that this grower has cut in a winter; NaN where
        none stood, empty if too few cuts are on record
    rests_on : reference values behind it, as (name, "value unit", certainty)
    """

    years: tuple[int, ...]
    ways: tuple[Ahead, ...]
    stools: int
    draws: int
    rates: Floats
    rests_on: tuple[tuple[str, str, str], ...]


def outlook(
    planting: Planting,
    *,
    target: float | None = None,
    max_age: int | None = None,
    cuts: int | None = None,
    watch: Watch | None = None,
) -> CropOutlook:
    """Return the crop of the coming years under the plan and three other ways of cutting.

    Parameters
    ----------
    planting : the planting as of a day
    target, max_age, cuts, watch : of the plan, as in `canes.canes`

    Raises
    ------
    NotEnoughKnown
        If no stool was ever counted.
    """
    found = planned(planting, target=target, max_age=max_age, cuts=cuts, watch=watch)
    terms = {"target": found.plan.target, "max_age": found.plan.max_age, "cuts": cuts}
    if found.plan.status == "cancelled":
        return _outlook(planting, found)
    return planting.remembered("outlook", lambda: _outlook(planting, found), **terms)


def _outlook(planting: Planting, found: Planned) -> CropOutlook:
    known, plan = stools(planting), found.plan
    bears = stool_crop(planting)
    drawn = [
        project(
            found.course.live,
            way,
            bears,
            YEARS,
            np.random.default_rng(SEED),
            DRAWS,
            target=plan.target,
            suckers=max(1, round(known.suckers)),
            max_share=plan.share,
            death=planting.value("canes.death").value,
            year_spread=planting.value("canes.year.spread").value,
        )
        for way in _ways(found, known)
    ]
    totals = [seen.by_draw.sum(axis=1) for seen in drawn]
    return CropOutlook(
        years=tuple(range(plan.winter, plan.winter + YEARS)),
        ways=tuple(
            Ahead(
                name=seen.policy,
                meaning=meaning,
                median=seen.median,
                low=seen.low,
                high=seen.high,
                total=float(np.median(total)),
                better=float((totals[0] > total).mean()),
            )
            for seen, total, meaning in zip(drawn, totals, _meanings(plan), strict=False)
        ),
        stools=len(plan.tags),
        draws=DRAWS,
        rates=_rates(known),
        rests_on=tuple(_rests_on(planting, plan)),
    )


def _ways(found: Planned, known: Stools) -> Iterator[Policy]:
    cut, kept = (canes.astype(np.int64) for canes in (found.course.cut, found.course.kept))
    yield this_plan(cut, kept)
    yield cut_nothing(AGES)
    yield cut_at(10, AGES)
    if known.gone[2:].sum() >= FEWEST_CUTS:
        stood = np.rint(known.stood).astype(np.int64)
        gone = np.minimum(stood, np.rint(known.gone).astype(np.int64))
        yield as_done(stood[None], gone[None])


def _meanings(plan: CanePlan) -> Iterator[str]:
    """What each of the ways does, in the order of `_ways`."""
    fill = f"suckers fill empty places up to {plan.target:g} canes a stool, and the rest are cut"
    yield "as planned; a sucker takes the place of a cane that dies before its time"
    yield f"no cane of two years or older is sawn; {fill}"
    yield f"canes of ten years and older go, as far as the share of a winter allows; {fill}"
    yield "canes go at each age, and suckers stay, at the shares of past winters, whatever stands"


def _rates(known: Stools) -> Floats:
    if known.gone[2:].sum() < FEWEST_CUTS:
        return np.zeros(0)
    seen = known.stood > 0.5
    rates: Floats = np.divide(known.gone, known.stood, out=np.full(AGES, np.nan), where=seen)
    return rates


def _rests_on(planting: Planting, plan: CanePlan) -> Iterator[tuple[str, str, str]]:
    names = ["canes.evenness", "canes.death", "canes.year.spread"]
    if stool_crop(planting).bearing.assumed:
        names.insert(0, "canes.crowding")
    for name in names:
        value = planting.value(name)
        yield name, f"{value.value:g} {value.unit}", value.certainty
    yield "canes wanted", f"{plan.target:g} canes a stool", plan.target_basis
