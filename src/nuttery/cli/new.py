"""nuttery new: set up a planting, by flags or by questions."""

import sys
from datetime import date
from typing import Annotated, Literal

from cyclopts import Parameter

from nuttery.cli.common import Asked


def new(
    *,
    name: Annotated[str | None, Parameter(help="Name of the planting.")] = None,
    latitude: Annotated[float | None, Parameter(help="Degrees north.")] = None,
    longitude: Annotated[float | None, Parameter(help="Degrees east; west is negative.")] = None,
    elevation: Annotated[
        float | None, Parameter(help="Metres above the sea (feet with US).")
    ] = None,
    time_zone: Annotated[str | None, Parameter(help="Such as America/Chicago.")] = None,
    units: Annotated[
        Literal["metric", "US"] | None, Parameter(help="Units to read and show.")
    ] = None,
    by: Annotated[str, Parameter(help="Who writes this down.")] = "owner",
    asked: Asked = Asked(),
) -> int:
    """Set up a planting: where it lies and in which units it is told."""
    from nuttery.records import PlantingDescribed, checked, new_id, stored, utc_now
    from nuttery.season.upkeep import new_planting

    name = name or _answer("Name of the planting")
    system = units or (
        "US" if _answer("Units: metric or US", "metric").upper() == "US" else "metric"
    )
    feet = "Elevation in feet" if system == "US" else "Elevation in metres"
    height = _number(feet) if elevation is None else elevation
    north = _number("Latitude, degrees north") if latitude is None else latitude
    east = _number("Longitude, degrees east (west is negative)") if longitude is None else longitude
    about = checked(
        PlantingDescribed(
            id=new_id(),
            planting=new_id(),
            seen=asked.on or date.today(),  # noqa: DTZ011 - the grower's own day
            recorded=utc_now(),
            by=by,
            device="terminal",
            name=name,
            latitude=north,
            longitude=east,
            elevation=stored(height, "elevation", system),
            time_zone=time_zone or _answer("Time zone, such as America/Chicago"),
            units=system,
        )
    )
    new_planting(asked.planting, about)
    print(f"{asked.planting}: {name} is set up. Next: nuttery import --template shrubs.xlsx")
    return 0


def _answer(question: str, default: str | None = None) -> str:
    if not sys.stdin.isatty():
        if default is not None:
            return default
        raise ValueError(
            f"{question}: found nothing, expected an answer or its flag (nuttery new --help)"
        )
    more = f" [{default}]" if default else ""
    given = input(f"{question}{more}: ").strip() or (default or "")
    return given or _answer(question, default)


def _number(question: str) -> float:
    given = _answer(question)
    try:
        return float(given.replace(",", "."))
    except ValueError:
        raise ValueError(f"{question}: found {given!r}, expected a number") from None
