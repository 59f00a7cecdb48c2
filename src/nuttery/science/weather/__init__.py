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
from nuttery.science.weather.frost_dates import FrostDates, frost_dates
from nuttery.science.weather.heat import growing_degree_hours
from nuttery.science.weather.hours import DailyWeather, daily_from_hourly, hourly_from_daily
from nuttery.science.weather.maker import MadeWeather, WeatherMaker

__all__ = [
    "ChillRun",
    "ChillState",
    "DailyWeather",
    "FrostDates",
    "MadeWeather",
    "MonthlyClimate",
    "WeatherMaker",
    "chill_hours",
    "chill_portions",
    "continue_chill",
    "daily_from_hourly",
    "day_length",
    "fit_climate",
    "frost_dates",
    "growing_degree_days",
    "growing_degree_hours",
    "hourly_from_daily",
    "utah_start",
    "utah_units",
]
