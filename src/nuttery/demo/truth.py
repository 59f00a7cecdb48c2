"""The truth of an invented planting, kept beside its notes so that inference can be held to it."""

import io
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from nuttery.demo.climate import station_record
from nuttery.demo.growth import Stools, grow
from nuttery.demo.habits import Habits, draw_habits
from nuttery.demo.layout import Layout, lay_out
from nuttery.demo.seasons import Season, compatibility, live_season
from nuttery.science.arguments import Bools
from nuttery.science.weather import MadeWeather

SEED = 20130501
LAST_SEASON = 2026


@dataclass(frozen=True)
class Truth:
    """Everything that is true of an invented planting."""

    layout: Layout
    habits: Habits
    stools: Stools
    weather: MadeWeather
    accepts: Bools
    seasons: tuple[Season, ...]

    def column(self, year: int) -> int:
        """Column of a season in the stools' arrays."""
        return year - self.seasons[0].year

    def stands(self, k: int, year: int) -> bool:
        """Whether shrub k stands in that year."""
        return bool(self.layout.planted[k] < year < self.layout.lost[k])


def make_truth(shrubs: int = 120, years: int = 9, seed: int = SEED) -> Truth:
    """Draw the truth of a planting of that many places, told over that many seasons.

    Raises
    ------
    ValueError
        If there are fewer than 4 shrubs or fewer than 1 season.
    """
    if shrubs < 4 or years < 1:
        raise ValueError(f"found {shrubs} shrubs and {years} years, expected at least 4 and 1")
    first = LAST_SEASON - years + 1
    rng = np.random.default_rng(seed)
    layout = lay_out(shrubs, first, rng)
    habits = draw_habits(layout, rng)
    told = range(first, LAST_SEASON + 1)
    stools = grow(layout, habits, told, first + 1, rng)
    weather = station_record(first - 10, LAST_SEASON, rng)
    accepts = compatibility(habits)
    seasons = tuple(
        live_season(
            layout,
            habits,
            stools,
            weather=weather,
            column=k,
            year=year,
            accepts=accepts,
            rng=rng,
        )
        for k, year in enumerate(told)
    )
    return Truth(layout, habits, stools, weather, accepts, seasons)


def write_truth(truth: Truth, path: Path) -> None:
    """Write the truth as an open array file (NPZ), the same bytes every time."""
    arrays: dict[str, np.ndarray] = {"tags": np.array(truth.layout.tags)}
    for part in (truth.layout, truth.habits, truth.stools):
        arrays |= {k: v for k, v in vars(part).items() if isinstance(v, np.ndarray)}
    for name in ("stage_doy", "ripe_doy", "cover", "catkins", "catkin_loss", "shoot_loss", "crop"):
        arrays[f"season_{name}"] = np.stack([getattr(s, name) for s in truth.seasons], axis=1)
    arrays["season_year"] = np.array([s.year for s in truth.seasons])
    arrays["accepts"] = np.packbits(truth.accepts, axis=1)
    buffer = io.BytesIO()
    np.savez_compressed(buffer, allow_pickle=False, **arrays)
    path.write_bytes(buffer.getvalue())
