"""What is drying, and when it is likely dry."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

import numpy as np

from nuttery.records import DryingWeighed
from nuttery.science.crop import dry_to_wet_basis, fit_drying, wet_to_dry_basis
from nuttery.season.estimate import Window, day_told
from nuttery.season.line import Line
from nuttery.season.planting import Planting

KEPT_DAYS = 60
"""A batch without a weighing for so long is no longer on the tray."""


@dataclass(frozen=True)
class DryingBatch:
    """A batch on the tray.

    Attributes
    ----------
    batch : its name
    days, mass_kg : (k,) days since the first weighing, and masses
    moisture : at the last weighing, share of all mass; `moisture_sd` how unsure
    ready : when it is likely down to the target, or nothing where that cannot be told
    status : "drying", "dry", "unreachable in this air", or "weigh again"
    """

    batch: str
    first: date
    last: date
    days: tuple[float, ...]
    mass_kg: tuple[float, ...]
    moisture: float
    moisture_low: float
    moisture_high: float
    ready: Window | None
    status: str


def drying(planting: Planting) -> tuple[DryingBatch, ...]:
    """Return every batch weighed within the last two months, the newest last."""
    since = planting.on - timedelta(days=KEPT_DAYS)
    batches: dict[str, list[DryingWeighed]] = {}
    for note in planting.notes(DryingWeighed, since=since):
        batches.setdefault(note.batch, []).append(note)
    return tuple(_batch(planting, name, notes) for name, notes in batches.items())


def _hours(notes: list[DryingWeighed]) -> np.ndarray:
    at = [datetime.combine(n.seen, n.seen_at or time(12)) for n in notes]
    return np.array([(t - at[0]).total_seconds() / 3600 for t in at])


def _start_moisture(planting: Planting, notes: list[DryingWeighed]) -> tuple[float, float, float]:
    """Moisture of the first weighing, wet basis, with its range."""
    for note in notes:
        if note.moisture is not None:
            wet = note.moisture
            if note.basis == "dry basis":
                wet = float(dry_to_wet_basis(note.moisture))
            first = 1 - note.mass_kg * (1 - wet) / notes[0].mass_kg
            return first, first, first
    fresh = planting.value("crop.moisture.fresh")
    return fresh.value, fresh.low or fresh.value, fresh.high or fresh.value


def _batch(planting: Planting, name: str, notes: list[DryingWeighed]) -> DryingBatch:
    hours, mass = _hours(notes), np.array([n.mass_kg for n in notes])
    wet, low, high = _start_moisture(planting, notes)
    now, least, most = (max(0.0, 1 - mass[0] * (1 - m) / mass[-1]) for m in (wet, low, high))
    target = planting.value("crop.moisture.footing").value
    dry_mass = float(mass[0] * (1 - wet))
    ready, status = _ready(notes[0].seen, hours, mass, dry_mass=dry_mass, target=target)
    return DryingBatch(
        batch=name,
        first=notes[0].seen,
        last=notes[-1].seen,
        days=tuple((hours / 24).round(2).tolist()),
        mass_kg=tuple(mass.tolist()),
        moisture=now,
        moisture_low=least,
        moisture_high=most,
        ready=ready,
        status="dry" if now <= target else status,
    )


def _ready(
    first: date, hours: np.ndarray, mass: np.ndarray, *, dry_mass: float, target: float
) -> tuple[Window | None, str]:
    if len(hours) < 3 or mass[-1] >= mass[0] or dry_mass >= mass.min():
        return None, "weigh again"
    # Where the lot is still far from level, its end is guessed a little below the target.
    end = None if len(hours) >= 4 else 0.85 * float(wet_to_dry_basis(target))
    found = fit_drying(hours, mass, dry_mass, end).hours_to(target)
    if not np.isfinite(found.median):
        return None, "unreachable in this air"
    days = [first + timedelta(hours=float(h)) for h in (found.median, found.low)]
    last = first + timedelta(hours=min(float(found.high), 24.0 * 365))
    return Window(days[0], days[1], last), "drying"


def lines(planting: Planting, until: date) -> Iterable[Line]:
    """Weigh what is drying; put away what is dry."""
    ceiling = planting.value("crop.drying.air.ceiling")
    caution = (
        f"Keep the air at or below {ceiling.value:g} {ceiling.unit} ({ceiling.source}). "
        "Throw out what smells or looks of mould; no look or smell shows every toxin. "
        "Hazelnuts are an allergen."
    )
    for batch in drying(planting):
        span = f"{batch.moisture:.0%} ({batch.moisture_low:.0%} to {batch.moisture_high:.0%})"
        if batch.status == "dry":
            act, waits = f"Put away {batch.batch}: it is at the target", "it takes up damp again"
        elif batch.status == "unreachable in this air":
            act = f"Give {batch.batch} drier or warmer air: it levels out above the target"
            waits = "it stays too damp to keep"
        else:
            act, waits = f"Weigh {batch.batch} again", "its drying curve stays unsure"
        when = f"; likely dry {batch.ready.told()}" if batch.ready else ""
        yield Line(
            key=f"drying:{batch.batch}",
            subject="drying",
            act=act,
            first=planting.on,
            last=min(until, batch.ready.high)
            if batch.ready
            else min(until, planting.on + timedelta(days=3)),
            why=f"{len(batch.mass_kg)} weighings since {day_told(batch.first)}, "
            f"{batch.mass_kg[0]:.2f} → {batch.mass_kg[-1]:.2f} kg, about {span} moisture{when}",
            sure="likely" if batch.ready else "a guess",
            sure_why="moisture when picked is taken as usual, not measured",
            waits=waits,
            caution=caution,
            weight=batch.mass_kg[-1],
        )
