"""What pollen answers are reckoned from: places, curves, supply, dose and genotypes, together."""

from collections.abc import Iterator
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from nuttery.science.arguments import Floats, Ints
from nuttery.science.bloom import StageDates, bloom_windows
from nuttery.science.pollen import (
    GenotypePosterior,
    HalfDose,
    PollenCover,
    pollen_cover,
)
from nuttery.season.bloom import bloom
from nuttery.season.bloom_draws import season_draws
from nuttery.season.errors import NotEnoughKnown
from nuttery.season.lineage import Family, family, genotypes
from nuttery.season.planting import Planting
from nuttery.season.pollen_wind import PollenWind, drift_kernel, pollen_wind
from nuttery.season.set_taught import Stand, set_taught
from nuttery.season.supply import catkin_supply, frost_ahead
from nuttery.season.watch import QUIET, Watch
from nuttery.season.weather import SEASON_DAYS

PAIRS_DRAWN = 2e8
FEWEST_DRAWS, MOST_DRAWS = 8, 100
"""Draws of genotypes and bloom behind an interval: as many as pairs of shrubs allow in seconds."""
SOME = 5e-4
"""Mean of shed and open stigmas over all shrubs below which a day does not count."""
BLOOM_CURVES = ("catkin_60", "catkin_65", "catkin_69", "pistillate_out", "pistillate_withered")


@dataclass(frozen=True)
class PollenField:
    """Pollen of one season; shrubs with a place in walking order.

    Attributes
    ----------
    year : season
    rows : (n,) their rows in the walking order of all shrubs
    tags : (n,)
    told : lineage and crosses; its first n plants are these shrubs
    posterior : what is known of genotypes, numbered as in `told`
    hinted : counts of set that were weighed as weak evidence of them
    half : dose that meets half of the stigmas
    wind : that carries the pollen
    mean : the season at the mean curves and chances of acceptance; in the middle between the least
        and the most where these hang on an order of dominance that is not known
    days : (days,) day of year of the columns of its curves
    """

    year: int
    rows: Ints
    tags: tuple[str, ...]
    told: Family
    posterior: GenotypePosterior
    hinted: int
    half: HalfDose
    wind: PollenWind
    mean: PollenCover
    days: Ints

    def accepted(self, seed: int) -> Floats:
        """Chance that a shrub accepts each other's pollen, (n,); the least where order is open."""
        block = self.posterior.compatibility_block(slice(seed, seed + 1), slice(0, len(self.tags)))
        return np.asarray(block[0])

    def accepted_at_most(self, seed: int) -> Floats:
        """The same under the order of dominance that is best for each pair, (n,)."""
        block = self.posterior.highest_block(slice(seed, seed + 1), slice(0, len(self.tags)))
        return np.asarray(block[0])


def pollen_field(planting: Planting, watch: Watch = QUIET) -> PollenField:
    """Return what the season's pollen answers are reckoned from.

    Parameters
    ----------
    planting : the planting as of a day
    watch : whom to tell how far it has come

    Raises
    ------
    NotEnoughKnown
        If fewer than two shrubs have a place, or the weather allows no forecast of bloom.
    """
    rows = np.array([k for k, s in enumerate(planting.shrubs) if s.x is not None], dtype=np.int64)
    if rows.size < 2:
        raise NotEnoughKnown("fewer than two shrubs have a place, so no pollen can be reckoned")
    watch.progress("working out when each shrub blooms")
    told, outlook = family(planting), bloom(planting)
    wind = pollen_wind(planting, outlook.shed[rows].mean(axis=0), outlook.first_day)
    xy = np.array([(planting.shrubs[k].x, planting.shrubs[k].y) for k in rows], dtype=np.float64)
    stand = Stand(xy, rows, drift_kernel(planting), wind.rose)
    watch.progress(f"inferring the genotypes of {len(told.names)} plants")
    unhinted = genotypes(planting, told)
    watch.progress("learning from counts of set")
    taught = planting.remembered("set taught", lambda: set_taught(planting, stand, unhinted))
    posterior = genotypes(planting, told, taught.hints)
    watch.progress("summing up who feeds whom")
    accepted = posterior.compatibility_block if posterior.order_settles else _Middle(posterior)
    shed, receptive = outlook.shed[rows], outlook.receptive[rows]
    days = np.flatnonzero((shed + receptive).mean(axis=0) > SOME)
    mean = pollen_cover(
        xy,
        shed[:, days],
        receptive[:, days],
        accepted,
        catkin_supply(planting, np.array([outlook.year]))[rows, 0],
        kernel=stand.kernel,
        half_dose=taught.half.half_dose,
        wind=stand.wind,
    )
    return PollenField(
        year=outlook.year,
        rows=rows,
        tags=told.names[: told.placed],
        told=told,
        posterior=posterior,
        hinted=taught.counts,
        half=taught.half,
        wind=wind,
        mean=mean,
        days=outlook.first_day + days,
    )


def drawn_covers(
    planting: Planting, field: PollenField, *, at_most: bool = False, watch: Watch = QUIET
) -> Iterator[Floats]:
    """Cover of each shrub in joint draws of genotypes, weather, dates, catkins and the dose, (n,).

    Frost still to come takes shedding catkins, course by course.

    The dose is drawn only where it was learned; an assumption stands as it is, and is told.

    Parameters
    ----------
    planting : the planting as of a day
    field : its pollen of the season
    at_most : under the order of dominance best for each pair; else, where it is open, the worst
    watch : whom to tell how far it has come
    """
    n = len(field.tags)
    size = int(np.clip(PAIRS_DRAWN / n**2, FEWEST_DRAWS, MOST_DRAWS))
    rng = np.random.default_rng([planting.on.toordinal(), 11])
    genotype = field.posterior.draw(size, rng)[:, :n]
    accepts = field.posterior.alphabet.accepts[int(at_most)]
    dates = season_draws(planting)
    stages = {stage: dates.of(stage)[field.rows] for stage in BLOOM_CURVES}
    courses = rng.permutation(dates.tenths.shape[2])
    halves = _drawn_halves(field.half, size, rng)
    doubt = planting.value("pollen.catkins.spread").value
    frost = frost_ahead(planting, dates)
    drawn = zip(genotype, np.resize(courses, size), halves, strict=True)
    for done, (own, course, half) in enumerate(drawn):
        watch.progress(f"drawing what is not known, {done + 1} of {size}")
        one = np.stack([stages[stage][:, course, None] for stage in BLOOM_CURVES], axis=1)
        left = frost.left(int(course), rng.normal())[field.rows]
        curves = bloom_windows(StageDates(BLOOM_CURVES, one, SEASON_DAYS), field.days)
        yield pollen_cover(
            field.mean.drift.xy,
            curves.shed,
            curves.receptive,
            _Accepts(accepts, own),
            field.mean.catkins * np.exp(doubt * rng.normal(size=n)) * left,
            kernel=field.mean.drift.kernel,
            half_dose=float(half),
            wind=field.mean.drift.wind,
        ).cover


def _drawn_halves(half: HalfDose, size: int, rng: np.random.Generator) -> Floats:
    """Log-normal draws of a learned half-dose within its interval of four in five."""
    if half.certainty != "learned":
        return np.full(size, half.half_dose)
    spread = np.log(half.high / half.low) / (2 * NormalDist().inv_cdf(0.9))
    return np.asarray(half.half_dose * np.exp(spread * rng.normal(size=size)))


@dataclass(frozen=True)
class _Middle:
    """Acceptance in the middle between the least and the most, a block at a time."""

    posterior: GenotypePosterior

    def __call__(self, seed: slice, pollen: slice) -> Floats:
        low = self.posterior.compatibility_block(seed, pollen)
        return (low + self.posterior.highest_block(seed, pollen)) / 2


@dataclass(frozen=True)
class _Accepts:
    """Acceptance between shrubs of drawn genotypes, a block at a time."""

    accepts: Floats
    own: NDArray[np.int64]

    def __call__(self, seed: slice, pollen: slice) -> Floats:
        block: Floats = self.accepts[self.own[seed, None], self.own[None, pollen]]
        return block
