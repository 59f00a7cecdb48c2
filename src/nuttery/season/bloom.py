"""When each shrub's catkins shed, its stigmas are out, its leaves break and its nuts roll out."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

import numpy as np

from nuttery.science.arguments import Floats, Ints
from nuttery.science.bloom import bloom_windows
from nuttery.season.bloom_draws import SeasonDraws, season_draws
from nuttery.season.estimate import Window, day_of, doy_of
from nuttery.season.line import Line
from nuttery.season.planting import Planting
from nuttery.season.weather import SEASON_DAYS

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
    records : (n,) looks of the shrub at this very stage, all seasons
    basis : "learned"; "between" for a stage nobody noted between two learned ones; or "prior"
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
    return planting.remembered("bloom", lambda: _outlook(planting, season_draws(planting)))


def _outlook(planting: Planting, draws: SeasonDraws) -> BloomOutlook:
    dates = draws.dates
    median, low, high = dates.interval()
    past = dates.chance_by(doy_of(planting.on, draws.year))
    windows = bloom_windows(dates, np.arange(FIRST_DAY, LAST_DAY + 1))
    forecasts = tuple(
        StageForecast(
            stage, median[:, k], low[:, k], high[:, k], past[:, k], draws.looks[:, k], basis
        )
        for k, (stage, basis) in enumerate(zip(draws.stages, draws.basis, strict=True))
    )
    return BloomOutlook(
        year=draws.year,
        on=planting.on,
        tags=tuple(shrub.tag for shrub in planting.shrubs),
        stages=forecasts,
        n_futures=draws.tenths.shape[2],
        first_day=FIRST_DAY,
        shed=windows.shed,
        receptive=windows.receptive,
    )


def lines(planting: Planting, until: date) -> Iterable[Line]:
    """Ask for the looks that would sharpen the calendar most."""
    from nuttery.season.bloom_looks import lines as asked

    return asked(planting, until)
