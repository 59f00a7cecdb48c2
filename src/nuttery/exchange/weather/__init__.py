"""Weather files, recognised by content and read into one kind of record."""

from nuttery.exchange.weather.errors import Fault, WeatherFileError
from nuttery.exchange.weather.read import FORMATS, read_weather
from nuttery.exchange.weather.record import WeatherRecord

__all__ = ["FORMATS", "Fault", "WeatherFileError", "WeatherRecord", "read_weather"]
