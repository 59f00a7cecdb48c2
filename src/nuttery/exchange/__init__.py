"""Files in and out: spreadsheets, weather formats, calendar, map, archive of a register."""

from nuttery.exchange.weather import WeatherFileError, WeatherRecord, read_weather

__all__ = ["WeatherFileError", "WeatherRecord", "read_weather"]
