"""Bloom of earlier seasons, told again from clocks, notes and that year's weather."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from nuttery.science.arguments import Floats, Ints
from nuttery.science.bloom import StageDates, bloom_windows, window_dates
from nuttery.season.bloom_clocks import BLOOM_DAYS, learned
from nuttery.season.planting import Planting
from nuttery.season.sightings import BLOOM_STAGES, sightings
from nuttery.season.weather import daily_means, record

RETOLD = 40
"""Draws of each earlier bloom: enough for its mean curves."""


@dataclass(frozen=True)
class PastBloom:
    """Mean curves of one earlier bloom, shrubs in walking order, (n, days)."""

    year: int
    shed: Floats
    receptive: Floats


def past_bloom(planting: Planting, years: Iterable[int], days: Ints) -> Iterator[PastBloom]:
    """Curves of shed and of receptive stigmas of every shrub in earlier years.

    Years without weather to the end of July are left out; a shrub too young then has no flowers.

    Parameters
    ----------
    planting : the planting as of a day
    years : which ones
    days : days of year
    """
    planted = np.array([shrub.planted.year for shrub in planting.shrubs])
    least = [planting.value(f"bloom.age.{organ}").value for organ in ("catkins", "pistillate")]
    for year, dates in retold(planting, years):
        curves = bloom_windows(dates, days)
        grown = [(year - planted >= age)[:, None] for age in least]
        yield PastBloom(year, curves.shed * grown[0], curves.receptive * grown[1])


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
