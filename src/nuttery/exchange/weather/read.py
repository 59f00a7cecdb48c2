"""One door for all weather files."""

from collections.abc import Callable
from dataclasses import dataclass
from os import PathLike
from pathlib import Path

from nuttery.exchange.weather import ghcn_dly, plain
from nuttery.exchange.weather.errors import Faults
from nuttery.exchange.weather.record import WeatherRecord
from nuttery.exchange.weather.source import Source, read_source
from nuttery.exchange.weather.table import clip

Reader = Callable[[Source, Faults, str | None], WeatherRecord]


@dataclass(frozen=True)
class Format:
    """A format: what it is called, how it is told from others, how it is read."""

    title: str
    recognises: Callable[[Source], bool]
    read: Reader


# The order matters: what is told by its own marks comes before the plain table.
FORMATS: dict[str, Format] = {
    "ghcn-dly": Format(ghcn_dly.NAME, ghcn_dly.recognises, ghcn_dly.read),
    "plain": Format(plain.NAME, plain.recognises, plain.read),
}


def read_weather(
    path: str | PathLike[str],
    *,
    format: str = "auto",  # noqa: A002 - the agreed interface names it so
    station: str | None = None,
) -> WeatherRecord:
    r"""Weather of one place from a file whose format is found by content, not by name.

    Parameters
    ----------
    path : the file, plain or gzipped
    format : "auto", or one of `FORMATS` where it is known
    station : the one to take where a file holds several

    Returns
    -------
    A `WeatherRecord` in °C, %, m/s, degrees and mm, NaN = missing, which tells what was read.

    Raises
    ------
    WeatherFileError
        The file is empty, no text, in no known format, or has faults. It is a ValueError whose
        message has line, column, found and expected of every fault (`.faults`).
    OSError
        The file cannot be opened.

    Notes
    -----
    Times stand for the whole day, for the start of the hour that a row covers (formats with
    hours that end at the stamp, and averages), or for the instant of observation; the record's
    `stamp` and `told` say which.

    Examples
    --------
    >>> import tempfile, pathlib
    >>> file = pathlib.Path(tempfile.mkdtemp(), "may.csv")
    >>> _ = file.write_text("date,tmax_F,tmin_F,rain_in\n2026-05-01,68,41,0.1\n")
    >>> may = read_weather(file)
    >>> may.resolution, may.tmax, may.rain
    ('daily', array([20.]), array([2.54]))
    """
    path = Path(path)
    faults = Faults(path.name)
    if format != "auto" and format not in FORMATS:
        raise ValueError(f"format: found {format!r}, expected auto or one of {', '.join(FORMATS)}")
    source = read_source(path, faults)
    chosen = _recognised(source) if format == "auto" else FORMATS[format]
    if chosen is None:
        line, text = next((i, text) for i, text in enumerate(source.lines, 1) if text.strip())
        titles = ", ".join(known.title for known in FORMATS.values())
        faults.stop(line, None, clip(text), f"the start of one of: {titles}; {plain.WANTED}")
    return chosen.read(source, faults, station)


def _recognised(source: Source) -> Format | None:
    return next((known for known in FORMATS.values() if known.recognises(source)), None)
