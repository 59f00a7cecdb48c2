"""What no believable reading passes: a slipped decimal or a wrong unit is caught here."""

from functools import cache

from nuttery.exchange.weather.record import UNITS, Bools, Floats, Resolution
from nuttery.reference import value


@cache
def limits(element: str, resolution: Resolution) -> tuple[float, float]:
    """Lowest and highest believable value of an element, in its own unit.

    Examples
    --------
    >>> limits("tmax", "daily"), limits("rain", "daily")
    ((-90.0, 60.0), (0.0, 2000.0))
    """
    if element == "rain":
        span = "a_day" if resolution == "daily" else "an_hour"
        return 0.0, value(f"weather.rain.most_in_{span}").value
    return {
        "wind_speed": (0.0, value("weather.wind.fastest").value),
        "wind_from": (0.0, 360.0),
        "rh": (0.0, value("weather.humidity.most_read").value),
    }.get(
        element,
        (value("weather.temperature.lowest").value, value("weather.temperature.highest").value),
    )


def believable(element: str, resolution: Resolution) -> str:
    """The limits of an element as a message shows them.

    Examples
    --------
    >>> believable("temp", "hourly")
    '-90 to 60 °C'
    """
    low, high = limits(element, resolution)
    return f"{low:g} to {high:g} {UNITS[element]}"


def beyond(element: str, values: Floats, resolution: Resolution) -> Bools:
    """True where a value is beyond belief; a missing value is not."""
    low, high = limits(element, resolution)
    wrong: Bools = (values < low) | (values > high)
    return wrong


def shown(element: str, number: float) -> str:
    """A value with its unit, as a message shows it.

    Examples
    --------
    >>> shown("tmax", 21.3)
    '21.3 °C'
    """
    return f"{number:g} {UNITS[element]}"
