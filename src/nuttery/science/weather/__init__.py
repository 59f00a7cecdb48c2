"""Daily and hourly weather: chill, heat, day length, frost, and a maker of weather."""

from nuttery.science.weather.chill import (
    ChillRun,
    ChillState,
    chill_hours,
    chill_portions,
    continue_chill,
    utah_start,
    utah_units,
)
from nuttery.science.weather.climate import MonthlyClimate, fit_climate
from nuttery.science.weather.daylight import day_length
from nuttery.science.weather.degree_days import growing_degree_days
from nuttery.science.weather.frost import (
    FrostHarm,
    Threshold,
    frost_harm,
    frost_night,
    frost_thresholds,
)
from nuttery.science.weather.frost_dates import FrostDates, frost_dates
from nuttery.science.weather.frost_notes import learn_threshold, learn_thresholds
from nuttery.science.weather.frost_season import SeasonHarm, frost_season
from nuttery.science.weather.frost_window import FrostDateSpread, Trend, frost_date_spread
from nuttery.science.weather.gaps import FilledDays, Gap, fill_gaps
from nuttery.science.weather.heat import growing_degree_hours
from nuttery.science.weather.hours import DailyWeather, daily_from_hourly, hourly_from_daily
from nuttery.science.weather.maker import MadeWeather, WeatherMaker
from nuttery.science.weather.station import StationOffset, station_offset
from nuttery.science.weather.sun import SunTimes, sun_times

__all__ = [
    "ChillRun",
    "ChillState",
    "DailyWeather",
    "FilledDays",
    "FrostDateSpread",
    "FrostDates",
    "FrostHarm",
    "Gap",
    "MadeWeather",
    "MonthlyClimate",
    "SeasonHarm",
    "StationOffset",
    "SunTimes",
    "Threshold",
    "Trend",
    "WeatherMaker",
    "chill_hours",
    "chill_portions",
    "continue_chill",
    "daily_from_hourly",
    "day_length",
    "fill_gaps",
    "fit_climate",
    "frost_date_spread",
    "frost_dates",
    "frost_harm",
    "frost_night",
    "frost_season",
    "frost_thresholds",
    "growing_degree_days",
    "growing_degree_hours",
    "hourly_from_daily",
    "learn_threshold",
    "learn_thresholds",
    "station_offset",
    "sun_times",
    "utah_start",
    "utah_units",
]
