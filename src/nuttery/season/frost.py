"""Frost: what a cold night takes at the stage that each shrub has reached."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

import numpy as np

from nuttery.records import FrostHarm, told
from nuttery.science.arguments import Floats
from nuttery.science.weather import Threshold, frost_thresholds, learn_thresholds
from nuttery.season.bloom import BloomOutlook, bloom
from nuttery.season.estimate import Estimate, doy_of
from nuttery.season.line import Line
from nuttery.season.planting import Planting
from nuttery.season.weather import Futures, futures

SPANS: dict[tuple[str, int], tuple[str, str]] = {
    ("catkin", 60): ("catkin_60", "catkin_69"),
    ("pistillate flower", 60): ("pistillate_out", "pistillate_withered"),
    ("shoot", 7): ("bud_07", "leaf_11"),
    ("shoot", 10): ("leaf_11", ""),
}
"""Stage that opens and stage that ends each band of thresholds, by organ and first BBCH stage."""
NAMES = {
    ("catkin", 60): "shedding catkins",
    ("pistillate flower", 60): "open stigmas",
    ("shoot", 7): "breaking buds",
    ("shoot", 10): "young leaves and nuts",
}
LEAF_DAYS = 30
"""Days after first leaves for which young leaves and nuts are watched; common practice."""
CAUTION = (
    "On a clear calm night the air at the shrubs can be several degrees colder than a "
    "thermometer at 1.5 to 2 m shows; hang one at the height of the flowers."
)


@dataclass(frozen=True)
class FrostRisk:
    """What frost may take of one organ between two days.

    Attributes
    ----------
    organ, stage : which, in words
    killing, watch : °C; half are lost at `killing`, look after the night at or below `watch`
    chance : that a night at or below `killing` comes while the organ is out on some shrubs
    loss : expected share lost over the planting's shrubs, with an 80 % interval
    exposed : (n,) chance that the shrub's organ is at that stage on some day of the span
    threshold : the threshold used, with its source
    """

    organ: str
    stage: str
    killing: float
    watch: float
    chance: float
    loss: Estimate
    exposed: Floats
    threshold: Threshold


def thresholds(planting: Planting) -> tuple[Threshold, ...]:
    """Thresholds as shipped, moved by the grower's own notes of harm."""
    notes = [
        (ORGANS[note.organ], _stage(note), note.lowest, note.harmed)
        for note in planting.notes(FrostHarm)
        if note.organ in ORGANS and note.lowest is not None
    ]
    if not notes:
        return frost_thresholds()
    organs, stages, temps, shares = zip(*notes, strict=True)
    return learn_thresholds(frost_thresholds(), organs, stages, temps, shares)


ORGANS = {
    "catkin": "catkin",
    "pistillate flower": "pistillate flower",
    "leaf bud": "shoot",
    "green shoot": "shoot",
}
_USUAL_STAGE = {"catkin": 65, "pistillate flower": 65, "leaf bud": 9, "green shoot": 11}


def _stage(note: FrostHarm) -> float:
    """Stage that a note of harm tells, else the usual one of that organ in a spring frost."""
    return float(note.stage if note.stage is not None else _USUAL_STAGE[note.organ])


def frost_risks(planting: Planting, until: date) -> tuple[FrostRisk, ...]:
    """Return what frost may take of each organ from the planting's day to another.

    Raises
    ------
    NotEnoughKnown
        If the weather on record does not allow it.
    """
    outlook, courses = bloom(planting), futures(planting)
    known = {(t.organ, t.first_bbch): t for t in thresholds(planting)}
    first, last = (doy_of(day, outlook.year) for day in (planting.on, until))
    if last < 1:
        return ()
    days = np.arange(max(1, first), min(last, courses.tmin.shape[1]) + 1)
    risks = (_risk(key, known[key], outlook, courses, days) for key in SPANS if key in known)
    return tuple(risk for risk in risks if risk is not None)


def _risk(
    key: tuple[str, int],
    threshold: Threshold,
    outlook: BloomOutlook,
    courses: Futures,
    days: np.ndarray,
) -> FrostRisk | None:
    out = exposure(outlook, key, days)
    if not out.size or out.max() < 0.05:
        return None
    nights = courses.tmin[:, days - 1]
    lost = _lost(out, nights, threshold)
    low, high = np.quantile(lost, [0.1, 0.9])
    some = out.mean(axis=0) > 0.02
    killing = (nights[:, some] <= threshold.killing).any(axis=1).mean() if some.any() else 0.0
    return FrostRisk(
        organ=key[0],
        stage=NAMES[key],
        killing=threshold.killing,
        watch=threshold.watch,
        chance=float(killing),
        loss=Estimate(
            float(lost.mean()),
            float(low),
            float(high),
            records=threshold.n_records,
            basis=threshold.certainty,
        ),
        exposed=out.max(axis=1),
        threshold=threshold,
    )


def exposure(outlook: BloomOutlook, key: tuple[str, int], days: np.ndarray) -> Floats:
    """Chance that a shrub's organ is at that stage on each day, (n, days)."""
    opens, ends = SPANS[key]
    begun = _chance_by(outlook, opens, days)
    over = _chance_by(outlook, ends, days) if ends else _chance_by(outlook, opens, days - LEAF_DAYS)
    out: Floats = np.clip(begun - over, 0, 1)
    return out


def _chance_by(outlook: BloomOutlook, stage: str, days: np.ndarray) -> Floats:
    """Chance that a stage has come by each day, from its median and interval."""
    from scipy.special import ndtr

    forecast = outlook.of(stage)
    spread = np.maximum((forecast.high - forecast.low) / 2.563, 0.4)
    spread = np.where(np.isnan(spread), 10.0, spread)
    chance = ndtr((days[None, :] + 0.5 - forecast.median[:, None]) / spread[:, None])
    return np.nan_to_num(chance)


def _lost(out: Floats, nights: Floats, threshold: Threshold) -> Floats:
    """Share lost over the shrubs in each course: the worst night of each shrub counts."""
    from scipy.special import ndtr

    doubt = np.hypot(threshold.spread, threshold.width)
    harm = ndtr((threshold.killing - nights) / doubt)
    able = out.max(axis=1) > 0.05
    worst = [(out[able] * course).max(axis=1).mean() for course in harm]
    return np.array(worst)


def lines(planting: Planting, until: date) -> Iterable[Line]:
    """Watch the nights that can take flowers or young shoots."""
    units = planting.about.units
    for risk in frost_risks(planting, until):
        if risk.chance < 0.05 and risk.loss.median < 0.02:
            continue
        tags = tuple(
            shrub.tag
            for shrub, out in zip(planting.shrubs, risk.exposed, strict=True)
            if out > 0.25
        )
        if not tags:
            continue
        watch, kill = (told(t, "temperature", units) for t in (risk.watch, risk.killing))
        yield Line(
            key=f"frost:{risk.organ}:{risk.stage}",
            subject="frost",
            act=f"Watch for nights at or below {watch}: {risk.stage} on {len(tags)} shrubs",
            shrubs=tags if len(tags) <= 200 else (),
            first=planting.on,
            last=until,
            why=f"half are lost at about {kill}; a night so cold comes by then with a chance of "
            f"{risk.chance:.0%}, and the expected loss is {risk.loss.median:.0%} "
            f"({risk.loss.low:.0%}–{risk.loss.high:.0%})",
            sure="a guess" if not risk.threshold.n_records else "likely",
            sure_why=f"threshold {risk.threshold.certainty}, within {risk.threshold.spread:.1f} °C",
            waits="cover or sprinkle only before the cold comes; after it, look and note the harm",
            caution=CAUTION,
            weight=100 * risk.loss.median + risk.chance,
            rests_on=((f"killing temperature, {risk.stage}", kill, risk.threshold.certainty),),
        )


def night_ahead(planting: Planting, night: date, low: float, sd: float) -> tuple[FrostRisk, ...]:
    """Return what one named night may take of each organ.

    Parameters
    ----------
    planting : the planting as of a day
    night : the morning on which the cold is lowest
    low, sd : °C, lowest temperature at the shrubs and how unsure it is
    """
    from scipy.special import ndtr

    outlook = bloom(planting)
    day = np.array([doy_of(night, outlook.year)])
    found = []
    for key, name in NAMES.items():
        threshold = next(t for t in thresholds(planting) if (t.organ, t.first_bbch) == key)
        out = exposure(outlook, key, day)[:, 0]
        if out.max(initial=0.0) < 0.05:
            continue
        unsure = np.hypot(np.hypot(threshold.spread, threshold.width), sd)
        shares = [
            float(ndtr((threshold.killing + shift * unsure - low) / threshold.width))
            for shift in (0.0, -1.2816, 1.2816)
        ]
        middle = float(ndtr((threshold.killing - low) / unsure))
        loss = Estimate(middle, shares[1], shares[2], basis=threshold.certainty)
        chance = float(ndtr((threshold.killing - low) / np.hypot(threshold.spread, sd)))
        found.append(
            FrostRisk(
                key[0], name, threshold.killing, threshold.watch, chance, loss, out, threshold
            )
        )
    return tuple(found)
