"""One door for all weather files."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from os import PathLike
from pathlib import Path
from typing import NoReturn

from nuttery.exchange.weather import (
    canada,
    epw,
    ghcn_csv,
    ghcn_dly,
    global_hourly,
    isd_lite,
    metar_csv,
    nsrdb,
    plain,
    tmy3,
)
from nuttery.exchange.weather.errors import Account
from nuttery.exchange.weather.record import WeatherRecord
from nuttery.exchange.weather.source import Source, read_source
from nuttery.exchange.weather.table import clip

Reader = Callable[[Source, Account, str | None], WeatherRecord]


@dataclass(frozen=True)
class Format:
    """A format: what it is called, how it is told from others, how it is read."""

    title: str
    recognises: Callable[[Source], bool]
    read: Reader
    declared: bool = False  # content cannot tell it, so only its name can choose it


def _ordered(name: str) -> Format:
    read = partial(ghcn_csv.read_ordered, name)
    return Format(ghcn_csv.ORDERED, ghcn_csv.recognises_order, read, declared=True)


# The order matters: what is told by its own marks comes before what has only a header.
FORMATS: dict[str, Format] = {
    "ghcn-dly": Format(ghcn_dly.NAME, ghcn_dly.recognises, ghcn_dly.read),
    "ghcn-year": Format(ghcn_csv.BY_YEAR, ghcn_csv.recognises_by_year, ghcn_csv.read_by_year),
    "isd-lite": Format(isd_lite.NAME, isd_lite.recognises, isd_lite.read),
    "epw": Format(epw.NAME, epw.recognises, epw.read),
    "tmy3": Format(tmy3.NAME, tmy3.recognises, tmy3.read),
    "nsrdb": Format(nsrdb.NAME, nsrdb.recognises, nsrdb.read),
    "global-hourly": Format(global_hourly.NAME, global_hourly.recognises, global_hourly.read),
    "airport": Format(metar_csv.NAME, metar_csv.recognises, metar_csv.read),
    "canada": Format(canada.NAME, canada.recognises, canada.read),
    "ghcn-station": Format(
        ghcn_csv.BY_STATION, ghcn_csv.recognises_by_station, ghcn_csv.read_by_station
    ),
    "ghcn-order": Format(ghcn_csv.ORDERED, ghcn_csv.recognises_order, ghcn_csv.refuse_order),
    "ghcn-order-metric": _ordered("ghcn-order-metric"),
    "ghcn-order-us": _ordered("ghcn-order-us"),
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
    account = Account(path.name)
    if format != "auto" and format not in FORMATS:
        raise ValueError(f"format: found {format!r}, expected auto or one of {', '.join(FORMATS)}")
    source = read_source(path, account)
    chosen = _recognised(source) if format == "auto" else FORMATS[format]
    if chosen is None or not chosen.recognises(source):
        _refuse(source, chosen, account)
    return chosen.read(source, account, station)


def _recognised(source: Source) -> Format | None:
    known = (form for form in FORMATS.values() if not form.declared)
    return next((form for form in known if form.recognises(source)), None)


def _refuse(source: Source, chosen: Format | None, account: Account) -> NoReturn:
    line, text = next((i, text) for i, text in enumerate(source.lines, 1) if text.strip())
    titles = {form.title for form in FORMATS.values()} if chosen is None else {chosen.title}
    wanted = f"the start of {', '.join(sorted(titles))}"
    if chosen in {None, FORMATS["plain"]}:
        wanted = f"{wanted}: {plain.WANTED}"
    account.refuse(line, None, clip(text), wanted)
