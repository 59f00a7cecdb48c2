"""The observer in summer and autumn: set, size, roll-out, pickings, samples, drying, troubles."""

from collections.abc import Iterator
from datetime import date, timedelta
from statistics import NormalDist

import numpy as np

from nuttery.demo.pen import Pen, visits
from nuttery.demo.seasons import Season
from nuttery.demo.truth import Truth
from nuttery.records import (
    ClustersCounted,
    DryingWeighed,
    Note,
    Nut,
    PestSeen,
    Picking,
    Remark,
    RollOut,
    Sample,
    SizeMeasured,
    WaterGiven,
)

HUSK_FACTOR, FRESH_MOISTURE = 1.9, 0.26
"""Invented: mass in husk per mass in shell, and the moisture of a fresh nut on the wet basis."""


def _day(year: int, doy: float) -> date:
    return date(year, 1, 1) + timedelta(days=round(doy) - 1)


def summer_notes(
    truth: Truth, season: Season, pen: Pen, rng: np.random.Generator
) -> Iterator[Note]:
    """Clusters, sizes, water and troubles."""
    for k, tag in enumerate(truth.layout.tags):
        if not truth.stands(k, season.year):
            continue
        if not np.isnan(season.cover[k]) and rng.random() < 0.25:
            flowers = int(rng.integers(20, 45))
            share = float(np.clip(0.85 * season.cover[k] * (1 - season.shoot_loss[k]), 0, 1))
            clusters = int(rng.binomial(flowers, share))
            yield pen.write(
                ClustersCounted,
                date(season.year, 7, 5),
                tag,
                twigs=10,
                flowers=flowers,
                clusters=clusters,
            )
        grown = season.year - truth.layout.planted[k]
        if season.year % 3 == 0 and rng.random() < 0.8:
            height = float(np.round(2.7 * (1 - np.exp(-grown / 4)) + rng.normal(0, 0.1), 1))
            yield pen.write(
                SizeMeasured,
                date(season.year, 10, 20),
                tag,
                height_m=max(0.2, height),
                width_m=max(0.2, round(0.7 * height, 1)),
            )
        if rng.random() < 0.02:
            yield pen.write(
                PestSeen, date(season.year, 7, 6), tag, sign="canker", organ="cane", count=1
            )
        if grown <= 2 and rng.random() < 0.3:
            yield pen.write(WaterGiven, date(season.year, 7, 25), tag, litres=10.0)


def harvest_notes(
    truth: Truth, season: Season, pen: Pen, rng: np.random.Generator
) -> Iterator[Note]:
    """Roll-out tests and pickings on about weekly rounds, samples in October, batches weighed."""
    days = visits(date(season.year, 8, 10), date(season.year, 10, 25), rng)
    ordinals = np.array([d.timetuple().tm_yday for d in days], dtype=float)
    batches: dict[str, float] = {}
    for k, tag in enumerate(truth.layout.tags):
        ripe = season.ripe_doy[k]
        if season.crop[k] < 0.03 or np.isnan(ripe) or not truth.stands(k, season.year):
            continue
        curve = NormalDist(float(ripe), float(truth.habits.ripe_spread[k]))
        for j, doy in enumerate(ordinals):
            share = curve.cdf(float(doy))
            if share < 0.02 or doy < ripe - 14:
                continue
            if rng.random() < 0.7:
                rolled = int(rng.binomial(4, share))
                yield pen.write(RollOut, days[j], tag, tried=4, rolled=rolled)
            if share > 0.6:
                taken = float(np.clip(rng.beta(2, 14) + 0.01 * max(0, doy - ripe), 0, 0.6))
                batch = f"{season.year} tray {j + 1}"
                note = _picking(
                    pen,
                    days[j],
                    tag,
                    dry_kg=float(season.crop[k] * (1 - taken)),
                    taken=taken,
                    batch=batch,
                    rng=rng,
                )
                batches[batch] = batches.get(batch, 0.0) + season.crop[k] * (1 - taken)
                yield note
                break
        if rng.random() < 0.22:
            yield _sample(truth, k, pen=pen, day=date(season.year, 10, 28), rng=rng)
    yield from _drying(pen, batches, days)


def _picking(
    pen: Pen,
    day: date,
    tag: str,
    *,
    dry_kg: float,
    taken: float,
    batch: str,
    rng: np.random.Generator,
) -> Picking:
    fresh = dry_kg * (1 - 0.08) / (1 - FRESH_MOISTURE)
    in_husk = rng.random() < 0.6
    mass = fresh * (HUSK_FACTOR if in_husk else 1.0)
    return pen.write(
        Picking,
        day,
        tag,
        mass_kg=round(max(0.01, float(mass)), 2),
        form="in husk" if in_husk else "in shell",
        state="fresh",
        moisture=None if in_husk else FRESH_MOISTURE,
        basis=None if in_husk else "wet basis",
        batch=batch,
        lost_to_animals=round(taken, 2) if rng.random() < 0.5 else None,
        minutes=round(float(3 + 9 * dry_kg + rng.gamma(2, 0.5)), 1) if rng.random() < 0.4 else None,
    )


def _sample(truth: Truth, k: int, *, pen: Pen, day: date, rng: np.random.Generator) -> Sample:
    nuts = []
    for _ in range(10):
        mass = max(0.5, float(truth.habits.nut_g[k] * np.exp(0.12 * rng.normal())))
        blank = rng.random() < 0.06
        share = (
            0.0
            if blank
            else float(np.clip(truth.habits.kernel_share[k] + 0.03 * rng.normal(), 0.1, 0.7))
        )
        width = 14.2 * (mass / 1.9) ** (1 / 3)
        longer = 1.25 if truth.habits.long_nut[k] else 1.03
        nuts.append(
            Nut(
                mass_g=round(mass * (0.55 if blank else 1), 2),
                kernel_g=round(mass * share, 2),
                length_mm=round(width * longer, 1),
                width_mm=round(width, 1),
                fill="empty" if blank else "1/2 or more" if rng.random() < 0.93 else "1/4 to 1/2",
                defects=("mould",) if rng.random() < 0.01 else (),
            )
        )
    return pen.write(
        Sample,
        day,
        truth.layout.tags[k],
        nuts=tuple(nuts),
        state="dry",
        moisture=0.08,
        basis="wet basis",
    )


def _drying(pen: Pen, batches: dict[str, float], days: list[date]) -> Iterator[Note]:
    """Each batch weighed as it goes on the tray and three times while it dries."""
    for batch, dry_kg in batches.items():
        start = days[int(batch.rsplit(" ", 1)[1]) - 1]
        solids = dry_kg * (1 - 0.08)
        for after in (0, 3, 7, 14):
            excess = (FRESH_MOISTURE / (1 - FRESH_MOISTURE) - 0.075) * np.exp(-0.19 * after)
            moisture = 0.075 + excess
            mass = round(float(solids * (1 + moisture)), 2)
            if mass >= 0.05:
                yield pen.write(
                    DryingWeighed,
                    start + timedelta(days=after),
                    batch=batch,
                    mass_kg=mass,
                    form="in shell",
                    air_temp=22.0,
                    air_humidity=0.5,
                )


def remarks(season: Season, pen: Pen) -> Iterator[Note]:
    """One line at the end of each season."""
    coldest = round(float(season.tmin[100:160].min()), 1)
    words = f"Season over. Coldest night after 10 April: {coldest} °C."
    yield pen.write(Remark, date(season.year, 11, 20), remark=words)
