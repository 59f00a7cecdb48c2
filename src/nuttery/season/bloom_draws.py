"""Draws of the days on which stages come: each shrub's habit in many courses of the weather."""

from dataclasses import dataclass
from datetime import date
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from nuttery.science.arguments import Floats, Ints
from nuttery.science.bloom import StageDates, window_dates
from nuttery.season.bloom_clocks import Learned, between, learned
from nuttery.season.planting import Planting
from nuttery.season.ripening import draw_ripe, ending, held_to_tests
from nuttery.season.sightings import BLOOM_STAGES, CHAINS, ROLL_OUT, Sightings, sightings
from nuttery.season.weather import SEASON_DAYS, Futures, futures, season_year

COURSES = 200
_TENTHS, _NEVER = 10.0, 32767
_YOUNG = {"catkin": "bloom.age.catkins", "pistillate flower": "bloom.age.pistillate"}


@dataclass(frozen=True)
class SeasonDraws:
    """Draws of every stage of every shrub, one column a course of the weather.

    Attributes
    ----------
    year, on : season, and the day as of which it is told
    stages : names
    tenths : (n, stages, courses) int16, tenths of a day of year; the largest stands for never
    looks : (n, stages) looks of the shrub at that stage behind it
    basis : of each stage: "learned", "between" (two learned stages of the organ), or "prior"
    within_sd : days, spread of single nuts about their shrub's middle day
    """

    year: int
    on: date
    stages: tuple[str, ...]
    tenths: NDArray[np.int16]
    looks: Ints
    basis: tuple[str, ...]
    within_sd: float

    def of(self, stage: str) -> NDArray[np.float32]:
        """Days of year of a stage, (n, courses), infinite where it does not come this season."""
        told = self.tenths[:, self.stages.index(stage)]
        days = told.astype(np.float32) / np.float32(_TENTHS)
        days[told == _NEVER] = np.inf
        return days

    @property
    def dates(self) -> StageDates:
        """The draws as the science of bloom takes them."""
        days = self.tenths.astype(np.float32) / np.float32(_TENTHS)
        days[self.tenths == _NEVER] = np.inf
        return StageDates(self.stages, days, SEASON_DAYS)


def season_draws(planting: Planting) -> SeasonDraws:
    """Return the draws of the season, in walking order of the shrubs.

    Raises
    ------
    NotEnoughKnown
        If the weather on record does not allow a forecast.
    """
    return planting.remembered("season draws", lambda: _draws(planting))


def _draws(planting: Planting) -> SeasonDraws:
    courses, year = futures(planting, draws=COURSES), season_year(planting.on)
    seen = sightings(planting)
    known = learned(planting, seen)
    rng = np.random.default_rng([planting.on.toordinal(), 7])
    now = seen.of_year(year)
    derived = between(known.clocks)
    clocks = {stage: clock for stage, clock in known.clocks.items() if stage not in derived}
    places = [BLOOM_STAGES.index(stage) for stage in clocks]
    dates = window_dates(
        clocks, courses.mean, known.label, rng=rng, lot=known.lot, seen=now[:, places]
    )
    days = {stage: dates.of(stage) for stage in clocks}
    for stage, (before, after, share) in derived.items():
        bounds = now[:, BLOOM_STAGES.index(stage)]
        days[stage] = _between(days[before], days[after], share, bounds)
    _forget_the_young(planting, days, seen, year)
    days |= _roll_out(planting, known, seen, leaf=days["leaf_11"], courses=courses, rng=rng)
    names = (*known.clocks, *ROLL_OUT)
    return SeasonDraws(
        year=year,
        on=planting.on,
        stages=names,
        tenths=_tenths(np.stack([days[stage] for stage in names], axis=1)),
        looks=seen.looks(),
        basis=tuple(_basis(known, stage, stage in derived) for stage in names),
        within_sd=known.ripening.within_sd,
    )


def _basis(known: Learned, stage: str, derived: bool) -> str:
    told = known.ripening if stage in ROLL_OUT else known.clocks[stage]
    return "between" if derived else "prior" if told.is_prior else "learned"


def _roll_out(
    planting: Planting,
    known: Learned,
    seen: Sightings,
    *,
    leaf: NDArray[np.float32],
    courses: Futures,
    rng: np.random.Generator,
) -> dict[str, NDArray[np.float32]]:
    """Days on which the first and half of the nuts roll out."""
    year, ripening = courses.year, known.ripening
    temps = ending(courses.mean, planting.value("ripening.latest").value)
    middle = draw_ripe(ripening, leaf, temps, label=known.label, rng=rng)
    middle = held_to_tests(middle, seen, year, within_sd=ripening.within_sd, rng=rng)
    shares = (planting.value(f"ripening.{word}_share").value for word in ("first", "main"))
    return {
        stage: (middle + ripening.within_sd * NormalDist().inv_cdf(share)).astype(np.float32)
        for stage, share in zip(ROLL_OUT, shares, strict=True)
    }


def _between(
    before: NDArray[np.float32], after: NDArray[np.float32], share: float, seen: Floats
) -> NDArray[np.float32]:
    """Days a share of the way from one stage to another, within what was seen this year."""
    with np.errstate(invalid="ignore"):
        days = before + np.float32(share) * (after - before)
    days[~np.isfinite(after)] = np.inf
    low, high = (np.maximum(seen[:, k, None] + 0.5, -np.inf) for k in (0, 1))
    return np.clip(days, low, high).astype(np.float32)


def _tenths(days: NDArray[np.float32]) -> NDArray[np.int16]:
    late = np.asarray(np.isnan(days) | (days > SEASON_DAYS))
    return np.where(late, _NEVER, np.round(np.where(late, 0, days) * _TENTHS)).astype(np.int16)


def _forget_the_young(
    planting: Planting, days: dict[str, NDArray[np.float32]], seen: Sightings, year: int
) -> None:
    """Take away the flowers of shrubs too young for them, unless they were seen on the shrub."""
    age = np.array([year - shrub.planted.year for shrub in planting.shrubs])
    reached: NDArray[np.bool_] = np.any(np.isfinite(seen.seen[..., 1]), axis=1)
    for organ, chain in CHAINS.items():
        least = planting.value(_YOUNG[organ]).value if organ in _YOUNG else 1.0
        flowered = reached[:, [BLOOM_STAGES.index(stage) for stage, _ in chain]].any(axis=1)
        for stage, _ in chain:
            days[stage][(age < least) & ~flowered] = np.inf
