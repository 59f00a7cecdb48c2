"""What is drying, how damp it still is, and when it is likely dry."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta

import numpy as np

from nuttery.records import DryingWeighed, Picking, told
from nuttery.science.arguments import Floats
from nuttery.science.crop import DryingCurve, fit_drying, water_activity, wet_to_dry_basis
from nuttery.science.errors import OutOfRangeError
from nuttery.season.estimate import Estimate, day_told, span_told
from nuttery.season.footing import first_moisture, footing
from nuttery.season.line import Line
from nuttery.season.planting import Planting
from nuttery.season.words import listed, plural

KEPT_DAYS, PUT_AWAY_DAYS = 45, 10
"""A tray without a weighing for so long is no longer dried; a dry one is put away by then."""
LONGEST_HOURS = 24 * 180
MOST_NAMED = 3
"""More batches than so are counted in the act and named in the reason."""
Z80 = 1.2816
END_BELOW_TARGET = 0.85
"""With three weighings the level that the air leads to cannot be fitted: it is then taken to lie a
little below the target. Assumed; the fourth weighing replaces it."""


@dataclass(frozen=True)
class Ready:
    """Day on which a batch is likely dry, with an 80 % interval.

    Attributes
    ----------
    median, low : days
    high : nothing where this air may never bring it there
    """

    median: date
    low: date
    high: date | None

    def told(self) -> str:
        """Text such as "24 Sep (22–27 Sep)", or "24 Sep (22 Sep or later)".

        Examples
        --------
        >>> Ready(date(2026, 9, 24), date(2026, 9, 22), None).told()
        '24 Sep (22 Sep or later)'
        """
        if self.high is None:
            return f"{day_told(self.median)} ({day_told(self.low)} or later)"
        return f"{day_told(self.median)} ({span_told(self.low, self.high)})"


@dataclass(frozen=True)
class DryingBatch:
    """A batch on the tray.

    Attributes
    ----------
    batch, form : its name, and what lies on it
    first, last : days of the first and last weighing
    days, mass_kg : (k,) days since the first weighing, and masses
    moisture, moisture_low, moisture_high : at the last weighing, share of all mass, 80 % interval;
        NaN for nuts in husk
    target : moisture to reach, share of all mass
    ready : when it is likely down to that; nothing where it cannot be told
    hours : from the last weighing until then, 80 % interval; `high` inf where this air may never
        bring it there; nothing where it cannot be told
    water_activity : of kernels, within the moistures of its published slopes; else nothing
    curve_days, curve_kg : the fitted curve, for a picture; empty without a fit
    target_kg : mass at the target
    status : "drying", "likely dry by now", "dry", "unreachable in this air", "weigh again",
        "no lighter than at first" or "husk it first"
    hot : highest air temperature noted above the ceiling, °C; NaN where none
    start_basis : what the moisture at the first weighing rests on
    """

    batch: str
    form: str
    first: date
    last: date
    days: tuple[float, ...]
    mass_kg: tuple[float, ...]
    moisture: float
    moisture_low: float
    moisture_high: float
    target: float
    ready: Ready | None
    hours: Estimate | None
    water_activity: Estimate | None
    curve_days: tuple[float, ...]
    curve_kg: tuple[float, ...]
    target_kg: float
    status: str
    hot: float
    start_basis: str


def drying(planting: Planting) -> tuple[DryingBatch, ...]:
    """Return every batch that is still on the tray, the oldest first.

    A dry one is shown until some days after its last weighing, any other for six weeks.
    """
    since = planting.on - timedelta(days=2 * KEPT_DAYS)
    batches: dict[str, list[DryingWeighed]] = {}
    for note in planting.notes(DryingWeighed, since=since):
        batches.setdefault(note.batch, []).append(note)
    found = (_batch(planting, name, notes) for name, notes in batches.items())
    return tuple(b for b in found if (planting.on - b.last).days <= _shown(b))


def _shown(batch: DryingBatch) -> int:
    return PUT_AWAY_DAYS if batch.status == "dry" else KEPT_DAYS


def _hours(notes: list[DryingWeighed]) -> Floats:
    at = [datetime.combine(n.seen, n.seen_at or time(12)) for n in notes]
    return np.array([(t - at[0]).total_seconds() / 3600 for t in at], dtype=np.float64)


def _one_form(notes: list[DryingWeighed]) -> list[DryingWeighed]:
    """Weighings in the form of the last one, one an hour: what was husked since is another mass."""
    same = [n for n in notes if n.form == notes[-1].form]
    hours = _hours(same)
    return [n for n, after in zip(same, [*np.diff(hours), 1.0], strict=True) if after > 0]


def _start_moisture(
    planting: Planting, notes: list[DryingWeighed]
) -> tuple[float, float, float, str]:
    """Moisture at the first weighing, wet basis, with its 80 % interval and what it rests on."""
    measured = first_moisture(notes)
    if not np.isnan(measured):
        return measured, measured, measured, "measured"
    belief = footing(planting).fresh
    logits = belief.centre + Z80 * belief.sd * np.array([0.0, -1.0, 1.0])
    wet, low, high = (1 / (1 + np.exp(-logits))).tolist()
    lots = f"learned from {belief.n_records} lots" if belief.n_records else belief.basis
    return wet, low, high, f"usual for fresh nuts ({lots})"


def _batch(planting: Planting, name: str, notes: list[DryingWeighed]) -> DryingBatch:
    weighed = _one_form(notes)
    hours, mass = _hours(weighed), np.array([n.mass_kg for n in weighed])
    form = weighed[-1].form
    kernel = "_kernel" if form == "kernel" else ""
    target = planting.value(f"harvest.drying_target{kernel}").value
    start = _start_moisture(planting, weighed)
    now = [max(0.0, 1 - mass[0] * (1 - wet) / mass[-1]) for wet in start[:3]]
    target_kg = float(mass[0] * (1 - start[0]) / (1 - target))
    if form == "in husk":
        found = _Drying("husk it first")
        now, target_kg = [float("nan")] * 3, float("nan")
    elif now[0] <= target + 1e-9:
        found = _Drying("dry")
    else:
        found = _fitted(weighed[0], hours, mass, start=start[:3], target=target)
        if found.ready is not None and found.ready.median <= planting.on:
            found = replace(found, status="likely dry by now")
    ceiling = planting.value("crop.drying.air.ceiling").value
    hot = max((n.air_temp for n in weighed if n.air_temp is not None), default=-np.inf)
    return DryingBatch(
        batch=name,
        form=form,
        first=weighed[0].seen,
        last=weighed[-1].seen,
        days=tuple((hours / 24).round(2).tolist()),
        mass_kg=tuple(mass.tolist()),
        moisture=now[0],
        moisture_low=now[1],
        moisture_high=now[2],
        target=target,
        ready=found.ready,
        hours=found.hours,
        water_activity=_water_activity(form, now),
        curve_days=found.curve_days,
        curve_kg=found.curve_kg,
        target_kg=target_kg,
        status=found.status,
        hot=float(hot) if hot > ceiling else float("nan"),
        start_basis=start[3],
    )


@dataclass(frozen=True)
class _Drying:
    """How a batch stands."""

    status: str
    ready: Ready | None = None
    hours: Estimate | None = None
    curve_days: tuple[float, ...] = ()
    curve_kg: tuple[float, ...] = ()


def _water_activity(form: str, moisture: list[float]) -> Estimate | None:
    """Water activity of kernels over the interval of their moisture; nothing outside its range."""
    if form != "kernel":
        return None
    try:
        middle, low, high = (water_activity(m) for m in moisture)
    except OutOfRangeError:
        return None
    return Estimate(middle.median, low.low, high.high, "", 0, middle.basis)


def _fitted(
    first: DryingWeighed,
    hours: Floats,
    mass: Floats,
    *,
    start: tuple[float, ...],
    target: float,
) -> _Drying:
    """When the batch is down to the target: fit and doubt about its start taken together."""
    if len(hours) > 1 and mass[-1] >= mass[0]:
        return _Drying("no lighter than at first")
    if len(hours) < 3:
        return _Drying("weigh again")
    curves = [_curve(hours, mass, float(mass[0] * (1 - wet)), target) for wet in start]
    if curves[0] is None:
        return _Drying("weigh again")
    middle = curves[0].hours_to(target)
    end = max(hours[-1] + 48, 1.1 * middle.median if np.isfinite(middle.median) else 0.0)
    drawn = _drawn(curves[0], float(mass[0] * (1 - start[0])), float(end))
    if not np.isfinite(middle.median):
        return _Drying("unreachable in this air", None, None, *drawn)
    ends = [c.hours_to(target).median if c is not None else np.inf for c in curves[1:]]
    early = np.hypot(middle.median - middle.low, middle.median - min(ends[0], middle.median))
    longer = np.hypot(middle.high - middle.median, max(ends[1], middle.median) - middle.median)
    low, high = max(0.0, middle.median - early), middle.median + longer
    if high >= LONGEST_HOURS:
        high = np.inf
    left, soon, late = (float(max(0.0, h - hours[-1])) for h in (middle.median, low, high))
    return _Drying(
        "drying",
        _ready(first, middle.median, low, high),
        Estimate(left, soon, late, "h", len(hours)),
        *drawn,
    )


def _ready(first: DryingWeighed, middle: float, low: float, high: float) -> Ready:
    """Days of readiness from hours after the first weighing."""
    begin = datetime.combine(first.seen, first.seen_at or time(12))

    def day(hours: float) -> date:
        return (begin + timedelta(hours=float(hours))).date()

    return Ready(day(middle), day(low), day(high) if np.isfinite(high) else None)


def _curve(hours: Floats, mass: Floats, dry_mass: float, target: float) -> DryingCurve | None:
    if dry_mass >= mass.min():
        return None
    end = END_BELOW_TARGET * float(wet_to_dry_basis(target)) if len(hours) < 4 else None
    return fit_drying(hours, mass, dry_mass, end)


def _drawn(
    curve: DryingCurve, dry_mass: float, end: float
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    hours = np.linspace(0.0, end, 60)
    kg = dry_mass * (1 + curve.moisture(hours))
    return tuple((hours / 24).round(3).tolist()), tuple(kg.round(4).tolist())


def caution(planting: Planting) -> str:
    """Return what to heed at the tray: ceiling of the air, mould, allergen."""
    ceiling = planting.value("crop.drying.air.ceiling")
    told_at = told(ceiling.value, "temperature", planting.about.units, 0)
    return (
        f"Keep the air at or below {told_at} ({ceiling.source}). Throw out what smells or looks of "
        "mould; no look or smell shows every toxin. Hazelnuts are an allergen."
    )


def lines(planting: Planting, until: date) -> Iterable[Line]:
    """Weigh what is drying, put away what is dry, mend air that cannot dry it: a line each."""
    batches, heed = drying(planting), caution(planting)
    hot = [b for b in batches if not np.isnan(b.hot)]
    if hot:
        yield _line(planting, "hot", hot, until, heed)
    for status in list(_ACTS)[1:]:
        mine = [b for b in batches if b.status == status]
        if status == "drying":
            mine = [b for b in mine if (planting.on - b.last).days >= 2]
        if mine:
            yield _line(planting, status, mine, until, heed)
    yield from _unweighed(planting, {b.batch for b in batches}, until)


_ACTS = {
    "hot": ("Cool the air of {}", "heat above the ceiling spoils the kernel's fat"),
    "dry": ("Put away {}: at the target by the last weighing", "dry nuts take up damp again"),
    "likely dry by now": (
        "Weigh {} to be sure: likely dry by now",
        "dry nuts take up damp again, and too long in warm air costs flavour",
    ),
    "unreachable in this air": (
        "Give {} drier or gently warmer air: in this air it levels out above the target",
        "nuts that stay damp mould",
    ),
    "no lighter than at first": (
        "Look at {}: no lighter than at first; this air does not dry it, or a weighing is a slip",
        "nuts that stay damp mould",
    ),
    "husk it first": ("Husk {}, then weigh again", "in the husk nuts dry slowly and may mould"),
    "drying": ("Weigh {}", "the day on which it is dry stays unsure"),
    "weigh again": (
        "Weigh {} again; three weighings make a curve",
        "when it is dry cannot be told",
    ),
}


_TO_MEND = ("unreachable in this air", "no lighter than at first", "husk it first", "weigh again")


def to_mend(batches: Iterable[DryingBatch]) -> tuple[str, ...]:
    """What to do about each batch that is too hot, or will not be dry as it lies, in words."""
    every = list(batches)
    groups = {"hot": [b for b in every if not np.isnan(b.hot)]}
    groups |= {status: [b for b in every if b.status == status] for status in _TO_MEND}
    return tuple(_act(status, found) for status, found in groups.items() if found)


def _act(status: str, batches: list[DryingBatch]) -> str:
    names = [b.batch for b in batches]
    which = listed(names) if len(names) <= MOST_NAMED else f"{len(names)} batches"
    return _ACTS[status][0].format(which)


def _line(
    planting: Planting, status: str, batches: list[DryingBatch], until: date, heed: str
) -> Line:
    measured = all(b.start_basis == "measured" for b in batches)
    days = [d for b in batches if b.ready and (d := b.ready.median) >= planting.on]
    last = min([until, *days]) if days else min(until, planting.on + timedelta(days=3))
    return Line(
        key=f"drying:{status}",
        subject="drying",
        act=_act(status, batches),
        first=planting.on,
        last=last,
        why="; ".join(_told(b, planting) for b in batches),
        sure="likely" if measured or status in {"dry", "drying", "hot"} else "a guess",
        sure_why="; ".join(sorted({f"moisture at the start: {b.start_basis}" for b in batches})),
        waits=_ACTS[status][1],
        caution=heed,
        weight=sum(b.mass_kg[-1] for b in batches) + (1000 if status == "hot" else 0),
    )


def hours_told(hours: Estimate | None) -> str:
    """Hours to go with their interval.

    Examples
    --------
    >>> hours_told(Estimate(31.2, 20.0, 60.0)), hours_told(Estimate(31.2, 20.0, float("inf")))
    ('31 h (20–60)', '31 h (20 or more)')
    >>> hours_told(None)
    '–'
    """
    if hours is None:
        return "–"
    end = f"{hours.low:.0f}–{hours.high:.0f}" if np.isfinite(hours.high) else None
    return f"{hours.median:.0f} h ({end or f'{hours.low:.0f} or more'})"


def moisture_told(batch: DryingBatch) -> str:
    """Moisture on the wet basis, with its interval unless it was measured."""
    low, high = (f"{100 * m:.0f}" for m in (batch.moisture_low, batch.moisture_high))
    span = f" ({low}–{high})" if low != high else ""
    return f"{100 * batch.moisture:.0f} %{span}"


def activity_told(found: Estimate) -> str:
    """Water activity with its interval, and that it is reckoned, not read.

    Examples
    --------
    >>> activity_told(Estimate(0.475, 0.42, 0.53))
    '0.47 (0.42–0.53), reckoned from moisture'
    """
    return f"{found.median:.2f} ({found.low:.2f}–{found.high:.2f}), reckoned from moisture"


def _told(batch: DryingBatch, planting: Planting) -> str:
    """One batch in words: mass, moisture with its interval, and when it is likely dry."""
    units = planting.about.units
    start, now = (told(batch.mass_kg[k], "mass", units) for k in (0, -1))
    parts = [f"{start} on {day_told(batch.first)}"]
    if len(batch.mass_kg) > 1:
        parts.append(f"{now} on {day_told(batch.last)}")
    if not np.isnan(batch.moisture):
        parts.append(f"about {moisture_told(batch)} moisture")
    if batch.ready is not None:
        parts.append(f"likely dry {batch.ready.told()}")
    if batch.water_activity is not None:
        parts.append(f"water activity {activity_told(batch.water_activity)}")
    if not np.isnan(batch.hot):
        parts.append(f"air at {told(batch.hot, 'temperature', units)}")
    return f"{batch.batch}: {', '.join(parts)}"


def _unweighed(planting: Planting, known: set[str], until: date) -> Iterable[Line]:
    """Trays that pickings of the last two weeks went to and that nobody weighed yet."""
    since = planting.on - timedelta(days=14)
    batches: dict[str, list[Picking]] = {}
    for note in planting.notes(Picking, since=since):
        if note.batch and note.batch not in known and note.state == "fresh":
            batches.setdefault(note.batch, []).append(note)
    if batches:
        pickings = sum(map(len, batches.values()))
        yield Line(
            key="drying:unweighed",
            subject="drying",
            act=f"Weigh {listed(list(batches))} for the first time, husked",
            first=planting.on,
            last=min(until, planting.on + timedelta(days=2)),
            why=f"{plural(pickings, 'picking')} went there without a weighing; the "
            "first mass is what later ones are held against, and tells how much was husk",
            sure="sure",
            waits="the moisture at the start can no longer be told",
        )
