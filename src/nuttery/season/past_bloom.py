"""Bloom of earlier seasons, told again from clocks, notes and that year's weather."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from nuttery.science.arguments import Bools, Floats, Ints
from nuttery.science.bloom import StageDates, bloom_windows, window_dates
from nuttery.season.bloom_clocks import BLOOM_DAYS, learned
from nuttery.season.planting import Planting
from nuttery.season.sightings import BLOOM_STAGES, sightings
from nuttery.season.weather import daily_means, record

RETOLD = 40
"""Draws of each earlier bloom: enough for its mean curves."""


@dataclass(frozen=True)
class PastBloom:
    """One earlier bloom of shrubs in walking order, in draws of what nobody saw.

    Attributes
    ----------
    year : of the bloom
    dates : draws of each stage, (n, stages, RETOLD)
    sheds, flowers : (n,) whether a shrub was old enough for catkins and for pistillate flowers
    """

    year: int
    dates: StageDates
    sheds: Bools
    flowers: Bools

    def curves(self, days: Ints, draw: int) -> tuple[Floats, Floats]:
        """Curves of shed and of receptive stigmas in one draw, (n, days)."""
        one = StageDates(self.dates.stages, self.dates.draws[..., draw, None], self.dates.last_doy)
        found = bloom_windows(one, days)
        return found.shed * self.sheds[:, None], found.receptive * self.flowers[:, None]


def past_bloom(planting: Planting, years: Iterable[int]) -> Iterator[PastBloom]:
    """Draws of the bloom of every shrub in earlier years.

    Years without weather to the end of July are left out; a shrub too young then has no flowers.

    Parameters
    ----------
    planting : the planting as of a day
    years : which ones
    """
    planted = np.array([shrub.planted.year for shrub in planting.shrubs])
    least = [planting.value(f"bloom.age.{organ}").value for organ in ("catkins", "pistillate")]
    for year, dates in retold(planting, years):
        yield PastBloom(year, dates, *(year - planted >= age for age in least))


def retold(
    planting: Planting, years: Iterable[int], rows: Ints | None = None
) -> Iterator[tuple[int, StageDates]]:
    """Draws of the stages of flower and leaf in earlier years, those with weather only.

    Parameters
    ----------
    planting : the planting as of a day
    years : which ones
    rows : shrubs, in walking order; all by default
    """
    known, seen = record(planting), sightings(planting)
    taught = learned(planting, seen)
    chosen = np.arange(len(taught.label)) if rows is None else rows
    places = [BLOOM_STAGES.index(stage) for stage in taught.clocks]
    for year in sorted(set(years) & set(known.whole_years(BLOOM_DAYS))):
        temps = daily_means(known, np.array([year]), BLOOM_DAYS).repeat(RETOLD, axis=0)
        yield (
            year,
            window_dates(
                taught.clocks,
                temps,
                taught.label[chosen],
                rng=np.random.default_rng(year),
                lot=taught.lot[chosen],
                seen=seen.of_year(year)[chosen][:, places],
            ),
        )
