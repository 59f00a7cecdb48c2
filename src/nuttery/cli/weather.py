"""nuttery weather: the season so far against the years on record, and weather files in."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from cyclopts import App, Parameter

from nuttery.cli.common import Asked, bold, faint, opened, print_json, table, to_terminal, wrapped

if TYPE_CHECKING:
    from nuttery.records import Unit
    from nuttery.season.weather import SoFar

app = App(name="weather", help="The season so far; weather files in.")


@app.default
def weather(*, asked: Asked = Asked()) -> int:
    """Show heat, chill, rain and frost dates so far against the years on record."""
    from nuttery.season.weather import so_far

    planting = opened(asked)
    to_terminal("adding up heat and chill ...")
    found = so_far(planting)
    to_terminal("")
    if asked.json:
        print_json(found)
    else:
        print(_told(found, planting.about.units))
    return 0


@app.command(name="import")
def import_weather(
    file: Path,
    *,
    source: Annotated[
        str | None, Parameter(help="Name of the source (the file's station).")
    ] = None,
    trust: Annotated[
        int | None, Parameter(help="1 is trusted first where sources overlap.")
    ] = None,
    asked: Asked = Asked(),
) -> int:
    """Read a weather file, by its content, and keep its days or hours."""
    from nuttery.season.weather_in import import_weather_file

    kept = import_weather_file(opened(asked), file, source=source, trust=trust)
    if asked.json:
        print_json(kept)
        return 0
    for sentence in kept.told:
        print(wrapped(sentence))
    print(f"{kept.added} added, {kept.already} were there already, as source {kept.source!r}.")
    return 0


@app.command(name="forecast")
def forecast(
    *,
    low: Annotated[list[float], Parameter(help="Lows of consecutive days.", consume_multiple=True)],
    high: Annotated[list[float], Parameter(help="Their highs.", consume_multiple=True)],
    first: Annotated[date | None, Parameter(help="The first of them (tomorrow).")] = None,
    asked: Asked = Asked(),
) -> int:
    """Keep a forecast of the next days: the first days of every future, and no record."""
    from nuttery.records import stored
    from nuttery.season.weather_in import keep_forecast

    planting = opened(asked)
    lows, highs = (
        [stored(one, "temperature", planting.about.units) for one in side] for side in (low, high)
    )
    kept = keep_forecast(planting, lows, highs, first)
    if asked.json:
        print_json(kept)
        return 0
    for sentence in kept.told:
        print(wrapped(sentence))
    return 0


def _told(found: "SoFar", system: Any) -> str:  # noqa: ANN401 - a System
    from nuttery.records import Unit, told, unit_of
    from nuttery.season.weather import HEAT_BASE

    base = told(HEAT_BASE, "temperature", system, 0)
    warmth, depth = (unit_of(q, system) for q in ("temperature difference", "depth"))
    rows = [
        _row(f"heat above {base} since 1 January", found.heat, found.heat_years, warmth, " d"),
        _row("chill since 1 October", found.chill, found.chill_years, Unit("portions")),
        _row("rain since 1 January", found.rain, found.rain_years, depth),
    ]
    head = ("", "this year", "middle (8 in 10 years)", "years with less")
    parts = [bold(f"The season to {found.last:%d %b %Y}, against {len(found.years)} years")]
    parts.append(table(head, rows))
    limit = told(found.threshold, "temperature", system)
    for name, spread in (("Last spring", found.spring), ("First autumn", found.autumn)):
        if spread is not None:
            parts.append(wrapped(f"{name} frost at or below {limit}: {_frost(spread, found)}"))
    if found.filled:
        parts.append(f"{found.filled} days of this year were drawn from their neighbours.")
    parts += [f"Gap in the record: {gap}" for gap in found.gaps]
    parts += [wrapped(f"Source: {told_of}.", rest="  ") for told_of in found.sources]
    parts.append(
        faint(wrapped("Chill and heat rest on hours rebuilt from daily extremes: chill portions "
                      "hold to about 2 %, hourly heat to 6–9 %."))
    )  # fmt: skip
    return "\n".join(parts)


def _row(name: str, now: float, years: Any, unit: "Unit", per: str = "") -> tuple[str, ...]:  # noqa: ANN401 - array
    """A total of this year beside the middle and the spread of the years on record."""
    import numpy as np

    known = years[~np.isnan(years)]
    if np.isnan(now):
        return (name, "not known", "", "")
    in_units = float(unit.divisor / unit.factor)
    places = max(unit.digits - 1, 0)
    number = f"{now * in_units:.{places}f} {unit.symbol}{per}"
    if not known.size:
        return (name, number, "", "")
    low, middle, high = (f"{q * in_units:.{places}f}" for q in np.quantile(known, [0.1, 0.5, 0.9]))
    return (name, number, f"{middle} ({low}–{high})", f"{int((known < now).sum())} of {known.size}")


def _frost(spread: Any, found: "SoFar") -> str:  # noqa: ANN401 - a FrostDateSpread
    from datetime import date, timedelta

    first = date(found.on.year, 1, 1)
    days = [first + timedelta(days=round(d) - 1) for d in (spread.median, spread.low, spread.high)]
    text = f"{days[0]:%d %b} ({days[1]:%d %b} – {days[2]:%d %b}), {len(spread.years)} recent years"
    return f"{text}; {spread.trend.words}" if spread.trend is not None else text
