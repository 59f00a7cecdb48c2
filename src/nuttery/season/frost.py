"""Frost: what a cold night takes at the stage that each shrub has reached."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

import numpy as np

from nuttery.records import told
from nuttery.science.arguments import Floats
from nuttery.science.weather import Threshold
from nuttery.season.bloom_draws import COURSES, SeasonDraws, season_draws
from nuttery.season.errors import WrongQuestion
from nuttery.season.estimate import Estimate, day_of, doy_of
from nuttery.season.frost_harm import ELONGATING_DAYS, thresholds
from nuttery.season.line import Line
from nuttery.season.planting import Planting
from nuttery.season.weather import SEASON_DAYS, futures, record
from nuttery.season.words import plural

BANDS: dict[tuple[str, int], tuple[str, str]] = {
    ("catkin", 51): ("", "catkin_60"),
    ("catkin", 60): ("catkin_60", "catkin_69"),
    ("pistillate flower", 60): ("pistillate_out", "pistillate_withered"),
    ("shoot", 7): ("bud_07", "leaf_11"),
    ("shoot", 10): ("leaf_11", ""),
}
"""Stage that opens and stage that ends each band of thresholds, by organ and first BBCH stage."""
NAMES = {
    ("catkin", 51): "elongating catkins",
    ("catkin", 60): "shedding catkins",
    ("pistillate flower", 60): "open stigmas",
    ("shoot", 7): "breaking buds",
    ("shoot", 10): "young leaves and nuts",
}
LEAF_DAYS = 30
"""Days for which young leaves and nuts are watched after first leaves; common practice."""
LEAST_EXPOSED = 0.05
"""Chance of being at a stage below which a shrub is not counted as having it out."""
SOME = 0.02
"""Share of those shrubs that must be hit for a night to count as a killing one."""
HARM = 0.1
"""Share lost that counts as harm to a shrub."""
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
    loss : expected share lost over the shrubs that have it out, with an 80 % interval
    exposed : (n,) chance that the shrub's organ is at that stage in those nights
    share : (n,) expected share lost of each shrub's
    harm : (n,) chance that a tenth or more of a shrub's are lost
    threshold : the threshold used, with its source
    """

    organ: str
    stage: str
    killing: float
    watch: float
    chance: float
    loss: Estimate
    exposed: Floats
    share: Floats
    harm: Floats
    threshold: Threshold


def frost_risks(planting: Planting, until: date) -> tuple[FrostRisk, ...]:
    """Return what frost may take of each organ from the planting's day to another.

    Raises
    ------
    NotEnoughKnown
        If the weather on record does not allow it.
    """
    return planting.remembered("frost", lambda: _risks(planting, until), until=until)


def _risks(planting: Planting, until: date) -> tuple[FrostRisk, ...]:
    draws = season_draws(planting)
    courses = futures(planting, draws=COURSES)
    first, last = (doy_of(day, draws.year) for day in (planting.on, until))
    days = np.arange(max(1, first), min(last, courses.tmin.shape[1]) + 1)
    if not days.size:
        return ()
    nights = courses.tmin[:, days - 1]
    return _told(planting, draws, days, nights)


def night_ahead(planting: Planting, night: date, low: float, sd: float) -> tuple[FrostRisk, ...]:
    """Return what one named night may take of each organ.

    Parameters
    ----------
    planting : the planting as of a day
    night : the morning on which the cold is lowest
    low, sd : °C, lowest temperature at the shrubs and how unsure it is

    Raises
    ------
    WrongQuestion
        If the night lies outside the season that the planting's day looks forward to.
    """
    draws = season_draws(planting)
    day = doy_of(night, draws.year)
    if not 1 <= day <= SEASON_DAYS:
        raise WrongQuestion(
            f"night: found {night}, expected a day from January to mid-November of {draws.year}"
        )
    nights = low + sd * _strata(COURSES, 3)[:, None]
    return _told(planting, draws, np.array([day]), nights)


def _told(
    planting: Planting, draws: SeasonDraws, days: np.ndarray, nights: Floats
) -> tuple[FrostRisk, ...]:
    known = {(t.organ, t.first_bbch): t for t in thresholds(planting)}
    return tuple(
        risk
        for key in BANDS
        if key in known and (risk := _risk(key, known[key], draws, days, nights)) is not None
    )


def _strata(n: int, seed: int) -> Floats:
    """Standard normal numbers, one of each stratum, in an order that is always the same."""
    from scipy.special import ndtri

    spread: Floats = ndtri((np.arange(n) + 0.5) / n)
    return np.random.default_rng(seed).permutation(spread)


def _risk(
    key: tuple[str, int], threshold: Threshold, draws: SeasonDraws, days: np.ndarray, nights: Floats
) -> FrostRisk | None:
    from scipy.special import ndtr

    begin, end = band_days(draws, key)
    here = (begin <= days[-1]) & (end > days[0])
    exposed = here.mean(axis=1)
    able = exposed > LEAST_EXPOSED
    if not able.any():
        return None
    coldest = _coldest(begin, end, days, nights)
    killing = threshold.killing + threshold.spread * _strata(len(nights), 4)
    lost = ndtr((killing - coldest) / max(threshold.width, 1e-9))
    each = lost[able].mean(axis=0)
    low, high = np.quantile(each, [0.1, 0.9])
    hit = (coldest[able] <= threshold.killing).mean(axis=0) > SOME
    return FrostRisk(
        organ=key[0],
        stage=NAMES[key],
        killing=threshold.killing,
        watch=threshold.watch,
        chance=float(hit.mean()),
        loss=Estimate(
            float(each.mean()),
            float(low),
            float(high),
            records=threshold.n_records,
            basis=threshold.certainty,
        ),
        exposed=exposed,
        share=lost.mean(axis=1),
        harm=(lost >= HARM).mean(axis=1),
        threshold=threshold,
    )


def band_days(draws: SeasonDraws, key: tuple[str, int]) -> tuple[Floats, Floats]:
    """Days on which a band of stages begins and ends, each (n, courses); infinite where never."""
    opens, ends = BANDS[key]
    end = draws.of(ends) if ends else draws.of(opens) + LEAF_DAYS
    begin = draws.of(opens) if opens else end - ELONGATING_DAYS
    last = end.astype(np.float64)
    return np.where(np.isfinite(last), begin, np.inf), last


def _coldest(begin: Floats, end: Floats, days: np.ndarray, nights: Floats) -> Floats:
    """Coldest night of each shrub's band in each course, (n, courses), +inf where there is none."""
    from nuttery.science.weather.worst_night import worst_score

    edges = np.stack([begin.T, end.T]) - days[0]
    inside = np.ceil(np.clip(edges, 0, len(days))).astype(np.int64)
    coldest: Floats = -worst_score(-nights[None], inside).T
    return coldest


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
            act=f"Watch for nights at or below {watch}: {risk.stage} on "
            + plural(len(tags), "shrub"),
            shrubs=tags if len(tags) <= 200 else (),
            first=planting.on,
            last=until,
            why=f"half are lost at about {kill}; a night so cold comes by then with a chance of "
            f"{risk.chance:.0%}, and the expected loss is {risk.loss.median:.0%} "
            f"({risk.loss.low:.0%}–{risk.loss.high:.0%})",
            sure="a guess" if not risk.threshold.n_records else "likely",
            sure_why=f"threshold {risk.threshold.certainty}, within "
            + told(risk.threshold.spread, "temperature difference", units),
            waits="cover or sprinkle only before the cold comes; after it, look and note the harm",
            caution=CAUTION,
            weight=100 * risk.loss.median + risk.chance,
            rests_on=((f"killing temperature, {risk.stage}", kill, risk.threshold.certainty),),
        )


def frost_nights(planting: Planting) -> tuple[tuple[date, float], ...]:
    """Nights of this season so far that were cold enough to look after what was out, with °C."""
    draws, known = season_draws(planting), record(planting)
    low, _, _ = known.year(draws.year)
    days = np.arange(1, len(low) + 1)
    cold = np.zeros(len(low), dtype=bool)
    watch = {(t.organ, t.first_bbch): t.watch for t in thresholds(planting)}
    for key in BANDS:
        begin, end = band_days(draws, key)
        out = _come_by(begin, len(low)) - _come_by(end, len(low))
        cold |= (out > LEAST_EXPOSED) & (low <= watch[key])
    return tuple((day_of(draws.year, int(d)), float(low[d - 1])) for d in days[cold])


def _come_by(dates: Floats, n_days: int) -> Floats:
    """Share of all draws that have come by each of the first days of the year, (n_days,)."""
    first = np.ceil(np.clip(dates, 1, n_days + 1)).astype(np.int64).ravel()
    shares: Floats = np.bincount(first, minlength=n_days + 1).cumsum()[1 : n_days + 1] / dates.size
    return shares
