"""When each shrub's catkins shed, its stigmas are out, its leaves break and its nuts roll out."""

from dataclasses import dataclass
from datetime import date

import numpy as np

from nuttery.science.arguments import Floats, Ints
from nuttery.science.bloom import Clock, fit_clock, prior_clock
from nuttery.season.bloom_draws import between, condition, curves, draw_days, in_order
from nuttery.season.estimate import Window, day_of
from nuttery.season.planting import Planting
from nuttery.season.sightings import ORDER, Sightings, sightings
from nuttery.season.weather import SEASON_DAYS, daily_means, futures, record, season_year

FIRST_CATKINS, FIRST_FLOWERS = 5, 4
"""Years after planting from which catkins and pistillate flowers are looked for; common practice,
seedlings being female first (Slate 1934)."""
FIRST_DAY, LAST_DAY = 60, 190
"""Days of year between which pollen may fly or stigmas be out."""


@dataclass(frozen=True)
class StageForecast:
    """One stage of all shrubs, in walking order.

    Attributes
    ----------
    stage : its name, as in the science of bloom
    median, low, high : (n,) day of year, 80 % interval; NaN where not expected this season
    chance_past : (n,) chance that it has already happened
    records : (n,) notes of the shrub behind it
    basis : "learned", or "prior" where the planting has no note of this stage
    """

    stage: str
    median: Floats
    low: Floats
    high: Floats
    chance_past: Floats
    records: Ints
    basis: str


@dataclass(frozen=True)
class BloomOutlook:
    """The season of every shrub, in walking order.

    Attributes
    ----------
    year, on : season, and the day as of which it is told
    tags : (n,)
    stages : forecasts by stage
    n_futures : courses of weather behind it
    first_day : day of year of column 0 of the curves
    shed, receptive : (n, days) expected share of pollen being shed, and chance of open stigmas
    """

    year: int
    on: date
    tags: tuple[str, ...]
    stages: tuple[StageForecast, ...]
    n_futures: int
    first_day: int
    shed: Floats
    receptive: Floats

    def of(self, stage: str) -> StageForecast:
        """Forecast of a stage."""
        return next(forecast for forecast in self.stages if forecast.stage == stage)

    def index(self, tag: str) -> int:
        """Row of a shrub."""
        return self.tags.index(tag)

    def window(self, stage: str, row: int) -> Window | None:
        """Window of one stage of one shrub, or nothing where it is not expected this season."""
        forecast = self.of(stage)
        days = forecast.median[row], forecast.low[row], forecast.high[row]
        if np.isnan(days[0]):
            return None
        last = float(SEASON_DAYS)
        middle, low, high = (day_of(self.year, last if np.isnan(d) else float(d)) for d in days)
        chance, records = float(forecast.chance_past[row]), int(forecast.records[row])
        return Window(middle, low, high, chance, records, forecast.basis)

    def one(self, tag: str) -> dict[str, Window | None]:
        """Every stage's window of one shrub."""
        row = self.index(tag)
        return {forecast.stage: self.window(forecast.stage, row) for forecast in self.stages}


def bloom(planting: Planting) -> BloomOutlook:
    """Return the season's calendar of every shrub.

    Raises
    ------
    NotEnoughKnown
        If the weather on record does not allow it.
    """
    return planting.remembered("bloom", lambda: _bloom(planting))


def clocks(planting: Planting) -> dict[str, Clock]:
    """Return the clock of every stage, learned from the seasons before this one."""
    return planting.remembered("clocks", lambda: _clocks(planting), year=season_year(planting.on))


def _clocks(planting: Planting) -> dict[str, Clock]:
    known, this_year = record(planting), season_year(planting.on)
    whole = set(known.whole_years()) - {this_year}
    lots = _lots(planting)
    found = {}
    for stage, seen in sightings(planting).items():
        prior = prior_clock(stage)
        use = np.isin(seen.year, list(whole)) & np.isfinite(seen.seen).any(axis=1)
        if not use.any() or not seen.direct:
            found[stage] = prior
            continue
        shrub = seen.shrub[use]
        found[stage] = fit_clock(
            daily_means(known, seen.year[use]),
            seen.seen[use],
            shrub=shrub,
            lot=lots[shrub],
            prior=prior,
        )
    return found


def _lots(planting: Planting) -> Ints:
    """Number of each shrub's seed lot; shrubs of no lot are one lot of their own."""
    names = {name: k for k, name in enumerate(sorted({s.seed_lot or "" for s in planting.shrubs}))}
    return np.array([names[s.seed_lot or ""] for s in planting.shrubs], dtype=np.int64)


def _bloom(planting: Planting) -> BloomOutlook:
    courses, this_year = futures(planting), season_year(planting.on)
    learned, seen, lots = clocks(planting), sightings(planting), _lots(planting)
    rng = np.random.default_rng([planting.on.toordinal(), 7])
    today = (planting.on - date(this_year, 1, 1)).days + 1
    days: dict[str, Floats] = {}
    for chain in ORDER.values():
        luck = rng.normal(size=(len(planting.shrubs), len(courses.mean)))
        for stage in chain:
            drawn = draw_days(learned[stage], courses.mean, lots, luck, rng)
            days[stage] = condition(drawn, _this_year(seen[stage], this_year), rng)
        for before, stage, after in zip(chain, chain[1:], chain[2:], strict=False):
            if learned[stage].is_prior and not learned[after].is_prior:
                days[stage] = between(days[before], days[after], _share(before, stage, after))
        in_order(days, chain)
    too_young = _too_young(planting, this_year)
    for stage, drawn in days.items():
        drawn[too_young[stage]] = np.nan
    span = np.arange(FIRST_DAY, LAST_DAY + 1, dtype=np.float64)
    shed, receptive = curves(days, span)
    forecasts = tuple(
        _forecast(stage, drawn, today, seen[stage], learned[stage]) for stage, drawn in days.items()
    )
    tags = tuple(shrub.tag for shrub in planting.shrubs)
    return BloomOutlook(
        this_year, planting.on, tags, forecasts, len(courses.mean), FIRST_DAY, shed, receptive
    )


def _share(before: str, stage: str, after: str) -> float:
    """Place of a stage nobody noted between its neighbours, from the heat that the priors give."""
    low, middle, high = (prior_clock(name).requirement for name in (before, stage, after))
    return (middle - low) / (high - low)


def _this_year(seen: Sightings, year: int) -> Sightings:
    now = seen.year == year
    return Sightings(seen.stage, seen.shrub[now], seen.year[now], seen.seen[now], seen.direct)


def _too_young(planting: Planting, year: int) -> dict[str, np.ndarray]:
    age = np.array([year - s.planted.year if s.planted else 99 for s in planting.shrubs])
    young = {"catkin": age < FIRST_CATKINS, "leaf bud": age < 1}
    return {
        stage: young.get(organ, age < FIRST_FLOWERS)
        for organ, chain in ORDER.items()
        for stage in chain
    }


def _forecast(
    stage: str, drawn: Floats, today: int, seen: Sightings, clock: Clock
) -> StageForecast:
    # A day past the last one of the season stands for "not this season".
    late = np.where(np.isnan(drawn), np.inf, drawn)
    ordered = np.sort(late, axis=1)
    last = ordered.shape[1] - 1
    picked = [ordered[:, round(share * last)] for share in (0.5, 0.1, 0.9)]
    median, low, high = (np.where(q > SEASON_DAYS, np.nan, q) for q in picked)
    return StageForecast(
        stage=stage,
        median=median,
        low=low,
        high=high,
        chance_past=(late <= today + 0.5).mean(axis=1),
        records=np.bincount(seen.shrub, minlength=len(drawn)),
        basis="prior" if clock.is_prior else "learned",
    )
