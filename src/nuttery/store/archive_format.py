"""The archive of a register: what the files in the zip are called and how they are laid out."""

from importlib.resources import files

FORMAT = 1
"""Rises when an older Nuttery could not read what a newer one writes."""
NAME = "nuttery register archive"

README = "README.md"
ABOUT = "about.json"
NOTES = "notes.jsonl"
PLANTINGS = "plantings.csv"
SOURCES = "weather/sources.csv"
SUMS = "SHA256SUMS"
PHOTOS = "photos/"
"""Start of the names of photos."""
ALWAYS = (README, ABOUT, NOTES, PLANTINGS, SOURCES)

SOURCE_COLUMNS = (
    "source", "planting", "name", "trust", "latitude", "longitude", "elevation", "utc_offset",
)  # fmt: skip
PLANTING_COLUMNS = (
    "planting", "name", "latitude", "longitude", "elevation", "time_zone", "units",
)  # fmt: skip


def weather_file(source: int, resolution: str) -> str:
    """Name of the file of a source's weather.

    Examples
    --------
    >>> weather_file(1, "daily")
    'weather/1-daily.csv'
    """
    return f"weather/{source}-{resolution}.csv"


def page() -> str:
    """Return the page that tells the layout, for whoever opens the archive."""
    return files("nuttery.store").joinpath("archive_page.md").read_text(encoding="utf-8")
