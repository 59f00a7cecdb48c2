"""The observer in winter and spring: canes, catkins, flowers, leaves, crosses, frost."""

from collections.abc import Iterator
from datetime import date, timedelta

import numpy as np

from nuttery.demo.growth import AGES
from nuttery.demo.habits import STAGES
from nuttery.demo.pen import Pen, visits
from nuttery.demo.seasons import Season
from nuttery.demo.truth import Truth
from nuttery.records import (
    CaneLabelled,
    CanesCounted,
    CanesCut,
    CatkinsScored,
    CrossCounted,
    CrossMade,
    Cut,
    CutReason,
    FrostHarm,
    Note,
    RingsCounted,
    StageSeen,
    SuckersKept,
)

LOOKS = (0.75, 0.7, 0.45, 0.5, 0.3, 0.6, 0.25)
"""Chance that the observer follows a stage on a shrub in a season."""


def winter_notes(
    truth: Truth, season: Season, pen: Pen, rng: np.random.Generator
) -> Iterator[Note]:
    """Canes counted and sawn in the winter before a season."""
    column = truth.column(season.year)
    for k, tag in enumerate(truth.layout.tags):
        winter, cut = truth.stools.winter[k, column], truth.stools.cut[k, column]
        if winter.sum() == 0 or not truth.stands(k, season.year):
            continue
        day = date(season.year, 1, 20) + timedelta(days=int(truth.layout.row[k]) * 3 % 45)
        if rng.random() < 0.9:
            yield _count(pen, day, tag, winter, rng)
        if cut[2:].sum():
            yield _sawn(pen, day + timedelta(days=2), tag, cut, rng)
            yield from _rings(pen, day + timedelta(days=2), tag, cut, rng)
        if winter[1] and cut.sum():
            kept = int(winter[1] - cut[1])
            yield pen.write(
                SuckersKept, day + timedelta(days=2), tag, kept=kept, came_up=int(winter[1])
            )


def _count(pen: Pen, day: date, tag: str, winter: np.ndarray, rng: np.random.Generator) -> Note:
    if rng.random() < 0.08:
        return pen.write(CanesCounted, day, tag, standing=int(winter.sum()))
    judged: dict[int, int] = {}
    for age in range(1, AGES):
        for _ in range(int(winter[age])):
            seen_age = age if age <= 3 else round(age + rng.normal(0, 0.12 * age))
            seen_age = min(max(seen_age, 2 if age > 1 else 1), 12)
            judged[seen_age] = judged.get(seen_age, 0) + 1
    total = sum(judged.values())
    return pen.write(
        CanesCounted,
        day,
        tag,
        standing=total,
        by_age=dict(sorted(judged.items())),
        and_older=12,
        age_spread=1.0,
    )


def _sawn(pen: Pen, day: date, tag: str, cut: np.ndarray, rng: np.random.Generator) -> Note:
    cuts = []
    for age in range(AGES - 1, 1, -1):
        if cut[age]:
            why: CutReason = "age" if age >= 9 else "crowded"
            cuts.append(Cut(why=why, age=age, canes=int(cut[age])))
    minutes = round(float(2.0 + 0.9 * cut[2:].sum() + rng.gamma(2, 0.4)), 1)
    return pen.write(CanesCut, day, tag, cuts=tuple(cuts), minutes=minutes)


def _rings(
    pen: Pen, day: date, tag: str, cut: np.ndarray, rng: np.random.Generator
) -> Iterator[Note]:
    """Now and then the rings of a stub are counted and its base measured."""
    for age in range(2, AGES):
        if cut[age] and rng.random() < 0.08:
            yield pen.write(
                RingsCounted,
                day,
                tag,
                rings=age,
                diameter_mm=base_diameter(age, rng),
                bark=bark_of(age, rng),
            )


def base_diameter(age: int, rng: np.random.Generator) -> float:
    """Invented base diameter of a cane of that age, mm."""
    return round(float(np.clip(6 + 3.4 * age**0.85 * np.exp(0.16 * rng.normal()), 3, 110)), 0)


def bark_of(age: int, rng: np.random.Generator) -> str:
    """Invented look of the bark at that age."""
    score = age + rng.normal(0, 1.2)
    return "smooth" if score < 3.5 else "fading" if score < 7.5 else "rough"


def labelled_canes(truth: Truth, year: int, pen: Pen, rng: np.random.Generator) -> Iterator[Note]:
    """In one winter, the canes of a few shrubs get labels of their own."""
    column = truth.column(year)
    for k in range(0, len(truth.layout.tags), max(10, len(truth.layout.tags) // 12)):
        letter = 0
        for age in range(1, AGES):
            for _ in range(int(truth.stools.winter[k, column, age])):
                if letter < 12:
                    yield pen.write(
                        CaneLabelled,
                        date(year, 2, 20),
                        truth.layout.tags[k],
                        cane="abcdefghijkl"[letter],
                        came_up=year - age if age <= 4 else None,
                        spread=0.0 if age <= 2 else 1.0 if age <= 4 else None,
                        compass=float(round(rng.uniform(0, 359))),
                        diameter_mm=base_diameter(age, rng),
                        bark=bark_of(age, rng),
                    )
                letter += 1


def bloom_notes(truth: Truth, season: Season, pen: Pen, rng: np.random.Generator) -> Iterator[Note]:
    """Stages followed on visits: the last look before each, and the first look after."""
    days = visits(date(season.year, 3, 10), date(season.year, 6, 20), rng)
    ordinals = np.array([d.timetuple().tm_yday for d in days], dtype=float)
    looked = rng.random((len(truth.layout.tags), len(STAGES))) < np.array(LOOKS)
    missed = rng.random((len(truth.layout.tags), len(STAGES))) < 0.15
    for k, tag in enumerate(truth.layout.tags):
        for s, (organ, stage) in enumerate(STAGES):
            happened = season.stage_doy[k, s]
            if np.isnan(happened) or not looked[k, s]:
                continue
            first = int(np.searchsorted(ordinals, happened)) + int(missed[k, s])
            if first >= 1:
                before = days[min(first - 1 - int(missed[k, s]), len(days) - 1)]
                yield pen.write(StageSeen, before, tag, organ=organ, stage=stage, reached=False)
            if first < len(days):
                yield pen.write(StageSeen, days[first], tag, organ=organ, stage=stage, reached=True)


def frost_notes(truth: Truth, season: Season, pen: Pen, rng: np.random.Generator) -> Iterator[Note]:
    """Harm seen some days after a killing night."""
    harms = (("catkin", season.catkin_loss), ("green shoot", season.shoot_loss))
    for organ, loss in harms:
        for k in np.flatnonzero((loss > 0.15) & (rng.random(len(loss)) < 0.4)):
            night = _coldest(season, int(k), organ)
            seen = date(season.year, 1, 1) + timedelta(days=night + 3)
            harmed = float(np.clip(loss[k] + rng.normal(0, 0.08), 0, 1).round(2))
            yield pen.write(
                FrostHarm,
                seen,
                truth.layout.tags[k],
                organ=organ,
                harmed=harmed,
                lowest=float(season.tmin[night]),
            )


def _coldest(season: Season, k: int, organ: str) -> int:
    first, last = (
        (season.stage_doy[k, 1], season.stage_doy[k, 3])
        if organ == "catkin"
        else (season.stage_doy[k, 4] + 4, season.stage_doy[k, 5] + 12)
    )
    a, b = max(0, int(first) - 1), min(len(season.tmin), int(last) + 1)
    return a + int(np.argmin(season.tmin[a:b]))


def cross_notes(truth: Truth, season: Season, pen: Pen, rng: np.random.Generator) -> Iterator[Note]:
    """A few bagged crosses a season, counted in July; some give a false result."""
    able = np.flatnonzero(~np.isnan(season.stage_doy[:, 0]) & ~np.isnan(season.stage_doy[:, 1]))
    for _ in range(8 if len(able) > 1 else 0):
        seed, pollen = (int(k) for k in rng.choice(able, size=2, replace=False))
        day = date(season.year, 1, 1) + timedelta(days=int(season.stage_doy[seed, 0]) + 6)
        flowers = int(rng.integers(12, 30))
        made = pen.write(
            CrossMade,
            day,
            truth.layout.tags[seed],
            pollen_from=truth.layout.tags[pollen],
            flowers=flowers,
        )
        yield made
        rate = 0.55 if truth.accepts[seed, pollen] else 0.01
        clusters = int(rng.binomial(flowers, rate))
        yield pen.write(
            CrossCounted,
            date(season.year, 7, 20),
            truth.layout.tags[seed],
            cross=made.id,
            clusters=clusters,
            took=clusters >= 3,
        )


def catkin_notes(
    truth: Truth, season: Season, pen: Pen, rng: np.random.Generator
) -> Iterator[Note]:
    """In November, the catkins set for the next bloom are scored."""
    day = date(season.year, 11, 8)
    for k, tag in enumerate(truth.layout.tags):
        grown = season.year + 1 - truth.layout.planted[k]
        if grown < 4 or not truth.stands(k, season.year) or rng.random() > 0.6:
            continue
        catkins = truth.habits.catkins[k] * np.clip((grown - 3) / 6, 0, 1)
        score = (
            "none"
            if catkins < 5
            else "few"
            if catkins < 60
            else "some"
            if catkins < 220
            else "many"
        )
        twigs = 10
        buds = int(rng.poisson(1.2 * twigs * min(1.5, truth.habits.merit[k])))
        yield pen.write(CatkinsScored, day, tag, score=score, twigs=twigs, buds=buds)
