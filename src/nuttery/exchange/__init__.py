"""Files in and out: spreadsheets, weather formats, calendar, map, archive of a register."""

from nuttery.exchange.agenda import work_calendar
from nuttery.exchange.answers import write_table
from nuttery.exchange.places import planting_geojson
from nuttery.exchange.sheets import (
    ImportedNotes,
    ImportFault,
    ImportRefused,
    Preview,
    notes_page,
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
    "notes_page",
    "planting_geojson",
    "read_notes",
    "read_weather",
    "work_calendar",
    "write_notes",
    "write_table",
    "write_template",
]
