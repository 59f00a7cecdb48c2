"""Where readings were made, as far as a file tells."""

from dataclasses import dataclass

from nuttery.exchange.weather.errors import Account
from nuttery.exchange.weather.table import clip, plain_number

LIMITS = {
    "latitude": (-90.0, 90.0),
    "longitude": (-180.0, 180.0),
    "elevation": (-500.0, 9000.0),
    "utc_offset": (-12.0, 14.0),
}
UNKNOWN = frozenset({-999.9, -9999.0, 9999.0})


@dataclass(frozen=True)
class Site:
    """A place: station, degrees north and east, m, hours ahead of UTC; None = not told."""

    station: str | None = None
    latitude: float | None = None
    longitude: float | None = None
    elevation: float | None = None
    utc_offset: float | None = None


def place_number(name: str, text: str, account: Account, *, line: int, column: str) -> float | None:
    """One number of a place; None where it is blank or coded as unknown.

    Parameters
    ----------
    name : "latitude", "longitude", "elevation" or "utc_offset"
    text : as written
    account : of the file, for faults
    line, column : where it stands

    Examples
    --------
    >>> place_number("latitude", "46.1", Account("a.csv"), line=1, column="column 5")
    46.1
    """
    number, (low, high) = plain_number(text.strip().replace("−", "-")), LIMITS[name]
    if not text.strip() or (name == "elevation" and number in UNKNOWN):
        return None
    if number is None or not low <= number <= high:
        account.fault(line, column, clip(text.strip()), f"{name} from {low:g} to {high:g}")
    return number


def refuse_other(site: Site, wanted: str | None, account: Account, *, line: int | None) -> None:
    """Refuse a file of another station than the one that was named.

    Raises
    ------
    WeatherFileError
        If a station was named and the file has another one.
    """
    if wanted is not None and site.station != wanted:
        account.refuse(line, None, f"station {site.station}", f"station {wanted}")
