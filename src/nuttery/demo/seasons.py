"""What truly happened each season: bloom, frost, set, ripening and crop. All invented."""

from dataclasses import dataclass

import numpy as np

from nuttery.demo.growth import Stools
from nuttery.demo.habits import BASE, LEVELS, START_DOY, Habits
from nuttery.demo.layout import Layout
from nuttery.science.arguments import Bools, Floats
from nuttery.science.pollen import Hierarchy, expressed, pollen_cover
from nuttery.science.weather import MadeWeather

DAYS = 366
HALF_DOSE = 6.0


@dataclass(frozen=True)
class Season:
    """The truth of one season, one row a shrub; NaN where a shrub did not get that far.

    Attributes
    ----------
    year : calendar year of the harvest
    tmin, tmax : (days,) °C, 1 January first
    stage_doy : (n, stages) day of year of each of STAGES
    ripe_doy : (n,) day of year on which half of the nuts roll out
    cover : (n,) share of the receptive season in which compatible pollen was taken
    catkins : (n,) catkins that the shrub bore
    catkin_loss, shoot_loss : (n,) share killed by frost
    crop : (n,) kg dry in shell
    """

    year: int
    tmin: Floats
    tmax: Floats
    stage_doy: Floats
    ripe_doy: Floats
    cover: Floats
    catkins: Floats
    catkin_loss: Floats
    shoot_loss: Floats
    crop: Floats


def year_of(weather: MadeWeather, year: int) -> tuple[Floats, Floats]:
    """Minimum and maximum of every day of a year, °C."""
    inside = weather.dates.astype("datetime64[Y]") == np.datetime64(str(year))
    return weather.tmin[inside], weather.tmax[inside]


def compatibility(habits: Habits) -> Bools:
    """True compatibility, (n seed parents, n pollen parents)."""
    hierarchy = Hierarchy(LEVELS)
    pairs, of_shrub = np.unique(habits.genotype, axis=0, return_inverse=True)
    shown = [expressed((int(a), int(b)), hierarchy) for a, b in pairs]
    ok = np.array([[not (set(map(int, seed)) & pollen) for pollen in shown] for seed in pairs])
    taken: Bools = ok[np.ix_(of_shrub.ravel(), of_shrub.ravel())]
    return taken


def live_season(
    layout: Layout,
    habits: Habits,
    stools: Stools,
    *,
    weather: MadeWeather,
    column: int,
    year: int,
    accepts: Bools,
    rng: np.random.Generator,
) -> Season:
    """One season of the invented planting, from its weather."""
    tmin, tmax = year_of(weather, year)
    n = len(layout.tags)
    grown = year - layout.planted
    stands = (grown >= 1) & (layout.lost > year)
    stage_doy = _stages((tmin + tmax) / 2, habits, rng)
    stage_doy[~stands] = np.nan
    stage_doy[grown < 4, 0] = stage_doy[grown < 4, 6] = np.nan
    stage_doy[grown < 5, 1:4] = np.nan
    ripe = _ripe(tmin, tmax, stage_doy[:, 5], habits, rng)
    catkins = np.where(grown >= 5, habits.catkins * np.clip((grown - 3) / 6, 0, 1), 0.0)
    catkins = np.where(stands, catkins * np.exp(0.3 * rng.normal(size=n)), 0.0).round(0)
    catkin_loss = _loss(tmin, stage_doy[:, 1], stage_doy[:, 3], -10.5)
    shoot_loss = _loss(tmin, stage_doy[:, 4] + 4, stage_doy[:, 5] + 12, -6.5)
    cover = _cover(layout, stage_doy, accepts, catkins * (1 - catkin_loss))
    share = np.nan_to_num(cover) * (1 - shoot_loss) / 0.6
    crop = np.where(stands, stools.crop[:, column] * np.clip(share, 0, 1.4), 0.0)
    return Season(
        year, tmin, tmax, stage_doy, ripe, cover, catkins, catkin_loss, shoot_loss, crop.round(4)
    )


def _stages(mean: Floats, habits: Habits, rng: np.random.Generator) -> Floats:
    """Days of year on which each stage's heat is reached, with a scatter of about two days."""
    heat = np.concatenate([np.zeros(START_DOY - 1), np.maximum(0, mean[START_DOY - 1 :] - BASE)])
    days = np.searchsorted(np.cumsum(heat), habits.heat.ravel()) + 1.0
    days = days.reshape(habits.heat.shape)
    together = rng.normal(0, 1.2, size=(len(days), 1))
    days = days + together + rng.normal(0, 1.4, size=days.shape)
    for before, after, least in ((1, 2, 1.5), (2, 3, 3.0), (4, 5, 5.0), (0, 6, 10.0)):
        days[:, after] = np.maximum(days[:, after], days[:, before] + least)
    rounded: Floats = days.round(2)
    return rounded


def _ripe(
    tmin: Floats, tmax: Floats, leaf: Floats, habits: Habits, rng: np.random.Generator
) -> Floats:
    heat = np.cumsum(np.maximum(0, (tmin + tmax) / 2 - 10))
    start = np.nan_to_num(leaf, nan=140).astype(int) - 1
    wanted = heat[np.clip(start, 0, len(heat) - 1)] + habits.ripe_heat
    ripe = np.searchsorted(heat, wanted) + 1.0 + rng.normal(0, 2.5, size=len(leaf))
    # A cool summer never reaches the sum: the nuts then ripen in the first days of October.
    late = 280 + rng.normal(0, 3, size=len(leaf))
    doy: Floats = np.where(np.isnan(leaf), np.nan, np.minimum(ripe, late)).round(2)
    return doy


def _loss(tmin: Floats, first: Floats, last: Floats, half: float) -> Floats:
    """Share killed by the coldest night between two days of year; half are killed at `half` °C."""
    day = np.arange(1, len(tmin) + 1)
    inside = (day >= first[:, None]) & (day <= last[:, None])
    coldest = np.where(inside, tmin, 99.0).min(axis=1)
    steep = np.clip((coldest - half) / 0.9, -60, 60)
    return np.asarray(1 / (1 + np.exp(steep)), dtype=np.float64).round(4)


def curves(stage_doy: Floats, days: Floats) -> tuple[Floats, Floats]:
    """Shed and receptive shares, each (n, days), from the true stage dates."""
    start, peak, end = (stage_doy[:, k, None] for k in (1, 2, 3))
    rise = (days - start + 1) / (peak - start + 1)
    fall = (end - days) / (end - peak)
    shed = np.clip(np.minimum(rise, fall), 0, 1)
    receptive = (days >= stage_doy[:, 0, None]) & (days < stage_doy[:, 6, None])
    return np.nan_to_num(shed), receptive.astype(float)


def _cover(layout: Layout, stage_doy: Floats, accepts: Bools, catkins: Floats) -> Floats:
    days = np.arange(70.0, 170.0)
    shed, receptive = curves(stage_doy, days)
    compatible = accepts.astype(np.float64)
    np.fill_diagonal(compatible, 0.0)
    found = pollen_cover(
        np.column_stack([layout.x, layout.y]),
        shed,
        receptive,
        compatible,
        catkins,
        kernel=lambda metres: np.maximum(metres, 1.0) ** -1.535,
        half_dose=HALF_DOSE,
    )
    return found.cover
