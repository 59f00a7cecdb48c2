"""Units at the edges: what is stored is SI (or a fixed multiple), what is shown is as chosen.

Stored units are the metric ones below, except shares, which are stored as 0 to 1 and shown in %.
Conversion is decimal, so that 1.5 in is stored as 38.1 mm and not as 38.099999999999994.
"""

import re
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

System = Literal["metric", "US"]
Quantity = Literal[
    "small length", "length", "mass", "small mass", "temperature",
    "temperature difference", "water", "depth", "speed",
    "share", "angle", "elevation", "years", "count", "minutes",
]  # fmt: skip


@dataclass(frozen=True)
class Unit:
    """A unit of one quantity: stored = (shown - offset) · factor / divisor."""

    symbol: str
    factor: Decimal = Decimal(1)
    offset: Decimal = Decimal(0)
    digits: int = 0
    divisor: Decimal = Decimal(1)


_IN = Decimal("25.4")  # mm, exact by definition (international inch, 1959)
_LB = Decimal("0.45359237")  # kg, exact by definition (international pound, 1959)
_GALLON = Decimal("3.785411784")  # L, exact by definition (US liquid gallon, 231 cubic inches)
_FT = Decimal("0.3048")
_MPH = Decimal("0.44704")
_F = Unit("°F", Decimal(5), Decimal(32), digits=1, divisor=Decimal(9))
_PERCENT = Unit("%", divisor=Decimal(100))

UNITS: dict[Quantity, dict[System, Unit]] = {
    "small length": {"metric": Unit("mm", digits=1), "US": Unit("in", _IN, digits=2)},
    "length": {"metric": Unit("m", digits=1), "US": Unit("ft", _FT, digits=1)},
    "elevation": {"metric": Unit("m"), "US": Unit("ft", _FT)},
    "mass": {"metric": Unit("kg", digits=2), "US": Unit("lb", _LB, digits=2)},
    "small mass": {"metric": Unit("g", digits=2), "US": Unit("oz", _LB * 1000 / 16, digits=3)},
    "temperature": {"metric": Unit("°C", digits=1), "US": _F},
    "temperature difference": {
        "metric": Unit("°C", digits=1),
        "US": Unit("°F", Decimal(5), digits=1, divisor=Decimal(9)),
    },
    "water": {"metric": Unit("L", digits=1), "US": Unit("gal", _GALLON, digits=1)},
    "depth": {"metric": Unit("mm", digits=1), "US": Unit("in", _IN, digits=2)},
    "speed": {"metric": Unit("m/s", digits=1), "US": Unit("mph", _MPH, digits=1)},
    "share": {"metric": _PERCENT, "US": _PERCENT},
    "angle": {"metric": Unit("°"), "US": Unit("°")},
    "years": {"metric": Unit("years", digits=1), "US": Unit("years", digits=1)},
    "minutes": {"metric": Unit("min"), "US": Unit("min")},
    "count": {"metric": Unit(""), "US": Unit("")},
}

_SPELLINGS = {
    "millimetres": "mm", "millimeters": "mm", "centimetres": "cm", "inch": "in", "inches": "in",
    '"': "in", "feet": "ft", "foot": "ft", "'": "ft", "metres": "m", "meters": "m", "kgs": "kg",
    "lbs": "lb", "pounds": "lb", "grams": "g", "ounces": "oz", "c": "°C", "f": "°F", "°c": "°C",
    "°f": "°F", "deg": "°", "litres": "L", "liters": "L", "l": "L", "gallons": "gal",
    "percent": "%", "year": "years", "minutes": "min",
}  # fmt: skip
_ALSO: dict[Quantity, dict[str, tuple[str | Decimal, int]]] = {
    "small length": {"cm": ("10", 1), "m": ("1000", 1), "ft": ("304.8", 1)},
    "length": {"cm": ("0.01", 1), "mm": ("0.001", 1), "in": ("0.0254", 1)},
    "mass": {"g": ("0.001", 1), "oz": (_LB, 16)},
    "small mass": {"kg": ("1000", 1), "lb": (_LB * 1000, 1)},
    "depth": {"cm": ("10", 1)},
    "speed": {"km/h": ("1000", 3600), "kn": ("1852", 3600)},
    "share": {"of one": ("1", 1)},
}
"""Other units that may be typed: factor and divisor to the stored unit."""


def unit_of(quantity: Quantity, system: System) -> Unit:
    """Return the unit in which a quantity is shown and asked for."""
    return UNITS[quantity][system]


def stored(shown_value: float, quantity: Quantity, system: System) -> float:
    """Value to store for a value as written in the planting's units.

    Examples
    --------
    >>> stored(50, "temperature", "US"), stored(2, "small length", "US")
    (10.0, 50.8)
    """
    unit = unit_of(quantity, system)
    return float((_decimal(shown_value) - unit.offset) * unit.factor / unit.divisor)


def _decimal(number: float) -> Decimal:
    return Decimal(repr(float(number)))


def shown(stored_value: float, quantity: Quantity, system: System) -> float:
    """Value in the planting's units for a stored one.

    Examples
    --------
    >>> round(shown(10.0, "temperature", "US"), 6)
    50.0
    """
    unit = unit_of(quantity, system)
    return float(_decimal(stored_value) * unit.divisor / unit.factor + unit.offset)


def told(stored_value: float, quantity: Quantity, system: System, digits: int | None = None) -> str:
    """Number with its unit, as a person reads it.

    Examples
    --------
    >>> told(0.84, "mass", "metric"), told(-2.5, "temperature", "US"), told(0.36, "share", "US")
    ('0.84 kg', '27.5 °F', '36 %')
    """
    unit = unit_of(quantity, system)
    places = unit.digits if digits is None else digits
    number = f"{shown(stored_value, quantity, system):.{places}f}"
    number = number.replace("-0", "0") if float(number) == 0 else number
    return f"{number} {unit.symbol}".strip()


def read_quantity(text: str, quantity: Quantity, system: System) -> float:
    """Stored value of a number as typed, with or without a unit of its own.

    Raises
    ------
    ValueError
        If it is no number, or its unit is not one of this quantity.

    Examples
    --------
    >>> read_quantity("3.4 in", "small length", "metric")
    86.36
    >>> read_quantity("28 F", "temperature", "metric")
    -2.2222222222222223
    """
    match = re.fullmatch(
        r"\s*([-+\u2212]?\d+(?:[.,]\d+)?(?:[eE][-+]?\d+)?)\s*([^\d.,\s].*?)?\s*", text
    )
    expected = f"a number in {unit_of(quantity, system).symbol or 'whole units'}"
    if match is None:
        raise ValueError(f"found {text!r}, expected {expected}")
    number = float(match[1].replace("\u2212", "-").replace(",", "."))
    unit = match[2] or ""
    symbol = _SPELLINGS.get(unit.lower(), unit).lower()
    if not symbol:
        return stored(number, quantity, system)
    known: tuple[System, ...] = ("metric", "US")
    for other in known:
        if unit_of(quantity, other).symbol.lower() == symbol:
            return stored(number, quantity, other)
    for also, (factor, divisor) in _ALSO.get(quantity, {}).items():
        if also.lower() == symbol:
            return float(_decimal(number) * Decimal(factor) / divisor)
    raise ValueError(f"found the unit {unit!r}, expected {expected}")
