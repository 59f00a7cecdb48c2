"""Units as headers name them, and how they become the unit of the house."""

import re
from collections.abc import Callable

from nuttery.exchange.weather.record import Floats
from nuttery.exchange.weather.telling import either

Convert = Callable[[Floats], Floats]
TEMPERATURE: dict[str, Convert] = {
    "°C": lambda t: t,
    "°F": lambda t: (t - 32) / 1.8,
    "K": lambda t: t - 273.15,
}
LENGTH: dict[str, Convert] = {
    "mm": lambda x: x,
    "cm": lambda x: x * 10,
    "in": lambda x: x * 25.4,
}
SPEED: dict[str, Convert] = {
    "m/s": lambda v: v,
    "km/h": lambda v: v / 3.6,
    "mph": lambda v: v * 0.44704,
    "kn": lambda v: v * 1852 / 3600,
}
PERCENT: dict[str, Convert] = {"%": lambda x: x}
DEGREES: dict[str, Convert] = {"°": lambda x: x}
SPELLINGS = {
    "°C": ("c", "°c", "degc", "deg_c", "deg c", "celsius", "degrees celsius", "º c", "ºc", "° c"),
    "°F": ("f", "°f", "degf", "deg_f", "deg f", "fahrenheit", "degrees fahrenheit", "ºf", "° f"),
    "K": ("k", "kelvin"),
    "mm": ("mm", "millimetre", "millimetres", "millimeter", "millimeters", "l/m2", "l/m²"),
    "cm": ("cm", "centimetres", "centimeters"),
    "in": ("in", "inch", "inches", '"'),
    "m/s": ("m/s", "mps", "ms", "m_s", "ms-1", "m s-1", "m_per_s", "metres per second"),
    "km/h": ("km/h", "kmh", "kph", "kmph", "km_h", "km_per_h", "kilometres per hour"),
    "mph": ("mph", "mi/h", "miles per hour"),
    "kn": ("kn", "kt", "kts", "knot", "knots"),
    "%": ("%", "pct", "percent", "per cent"),
    "°": ("°", "deg", "degrees", "degree", "º"),
}
UNIT_OF = {spelling: unit for unit, many in SPELLINGS.items() for spelling in many}
ALLOWED: dict[str, dict[str, Convert]] = {
    "tmax": TEMPERATURE,
    "tmin": TEMPERATURE,
    "temp": TEMPERATURE,
    "rain": LENGTH,
    "wind_speed": SPEED,
    "rh": PERCENT,
    "wind_from": DEGREES,
}
WITHOUT_UNIT = {"rh": "%", "wind_from": "°"}
BRACKETED = re.compile(r"^(?P<name>[^(\[]*)[(\[](?P<unit>[^)\]]*)[)\]]\s*$")


def name_and_unit(title: str) -> tuple[str, str | None]:
    """A header cell as a name and a unit (None where it has none that we know).

    Examples
    --------
    >>> name_and_unit("tmax_F"), name_and_unit("Rain (mm)"), name_and_unit("wind speed, km/h")
    (('tmax', '°F'), ('rain', 'mm'), ('wind_speed', 'km/h'))
    >>> name_and_unit("rh")
    ('rh', None)
    """
    folded = title.strip().casefold()
    if bracketed := BRACKETED.match(folded):
        return plain_name(bracketed["name"]), UNIT_OF.get(bracketed["unit"].strip())
    for start in range(1, len(folded)):
        if folded[start - 1] in "_ ,-./" and folded[start:] in UNIT_OF:
            return plain_name(folded[: start - 1]), UNIT_OF[folded[start:]]
    return plain_name(folded), None


def plain_name(text: str) -> str:
    """Words of a name in small letters, joined by underscores.

    Examples
    --------
    >>> plain_name(" Max. Temp ")
    'max_temp'
    """
    return "_".join(re.findall(r"[a-z0-9]+", text.casefold()))


def units_of(element: str) -> str:
    """Units in which an element may be written, as a message lists them.

    Examples
    --------
    >>> units_of("rain")
    'mm, cm or in'
    """
    return either(list(ALLOWED[element]))
