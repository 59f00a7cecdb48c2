"""Files in and out: spreadsheets, weather formats, calendar, map, archive of a register."""

from nuttery.exchange.sheets import (
    ImportedNotes,
    ImportFault,
    ImportRefused,
    Preview,
    read_notes,
    write_notes,
    write_template,
)
from nuttery.exchange.weather import WeatherFileError, WeatherRecord, read_weather

__all__ = [
    "ImportFault",
    "ImportRefused",
    "ImportedNotes",
    "Preview",
    "WeatherFileError",
    "WeatherRecord",
    "read_notes",
    "read_weather",
    "write_notes",
    "write_template",
]
