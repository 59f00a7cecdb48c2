"""Weather files into the register: read by content, told in plain words, kept once."""

from dataclasses import dataclass
from pathlib import Path

from nuttery.exchange import read_weather
from nuttery.season.planting import Planting


@dataclass(frozen=True)
class WeatherKept:
    """What a weather file brought.

    Attributes
    ----------
    source : name under which it is kept
    told : what was read, from when to when, gaps, and what was dropped and why
    added, already : days or hours new to the register, and those it held
    """

    source: str
    told: tuple[str, ...]
    added: int
    already: int


def import_weather_file(
    planting: Planting, file: Path, *, source: str | None = None, trust: int | None = None
) -> WeatherKept:
    """Read a weather file and keep what it holds.

    Raises
    ------
    ValueError
        If the file is damaged or of no known format, with line, column, found and expected; or if
        it contradicts what the same source said before. Nothing is kept then.
    """
    found = read_weather(file)
    name = source or str(getattr(found, "station", None) or file.stem)
    kept = planting.register.keep_weather(
        found, planting=planting.about.planting, source=name, trust=trust
    )
    return WeatherKept(name, tuple(found.told), kept.added, kept.already)
