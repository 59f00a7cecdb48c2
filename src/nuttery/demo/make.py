"""Write an invented planting into a register: shrubs, weather, notes, and the truth beside them."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from nuttery.demo.climate import ELEVATION, LATITUDE, LONGITUDE
from nuttery.demo.notes import notes_by_season
from nuttery.demo.pen import Pen
from nuttery.demo.truth import SEED, Truth, make_truth, write_truth
from nuttery.science.arguments import Days, Floats
from nuttery.store import Register

REGISTER = "sorrel-bank.db"
STATION = "Sorrel Bank station (invented)"


@dataclass(frozen=True)
class StationRecord:
    """Daily record of the invented station, as a weather file would give it."""

    time: Days
    tmin: Floats
    tmax: Floats
    rain: Floats
    resolution: str = "daily"
    utc_offset: float | None = -6.0
    latitude: float | None = LATITUDE
    longitude: float | None = LONGITUDE
    elevation: float | None = ELEVATION


def make_planting(
    where: str | Path,
    *,
    shrubs: int = 120,
    years: int = 9,
    seed: int = SEED,
    progress: Callable[[str], None] = lambda _: None,
) -> Truth:
    """Make the invented planting in a new register and return its truth.

    Parameters
    ----------
    where : file of the new register (or address of an empty database)
    shrubs, years : size; 120 shrubs over 9 seasons is Sorrel Bank as told
    seed : the same seed makes the same notes on every machine
    progress : told how far it has come

    Raises
    ------
    ValueError
        If there is a register at that place already, or the size makes no sense.
    """
    progress(f"drawing the truth of {shrubs} shrubs over {years} seasons")
    truth = make_truth(shrubs, years, seed)
    pen = Pen(seed)
    kept = 0
    # Closed before anyone may rename the file: what is still in its write-ahead log comes home.
    with Register.create(where) as register:
        for batch in notes_by_season(truth, pen, seed):
            kept += register.keep(batch).added
            progress(f"{kept} notes written")
        record = _station(truth)
        register.keep_weather(record, planting=pen.planting, source=STATION, trust=1)
    return truth


def _station(truth: Truth) -> StationRecord:
    weather = truth.weather
    inside = weather.dates <= np.datetime64(f"{truth.seasons[-1].year}-11-24")
    return StationRecord(
        weather.dates[inside], weather.tmin[inside], weather.tmax[inside], weather.rain[inside]
    )


def make_with_truth(
    folder: Path,
    *,
    shrubs: int = 120,
    years: int = 9,
    progress: Callable[[str], None] = lambda _: None,
) -> Path:
    """Make the planting and its truth file in a folder; return the register's path.

    The register appears under its name only when it is whole.
    """
    folder.mkdir(parents=True, exist_ok=True)
    register = folder / REGISTER
    unfinished = folder / "unfinished.db"
    for left in folder.glob("unfinished.db*"):
        left.unlink()
    truth = make_planting(unfinished, shrubs=shrubs, years=years, progress=progress)
    write_truth(truth, folder / "sorrel-bank-truth.npz")
    unfinished.rename(register)
    return register
