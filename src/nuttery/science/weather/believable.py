"""Temperatures that a thermometer on earth can show: slips of unit and decimal are refused."""

from numpy.typing import ArrayLike

from nuttery.reference import value
from nuttery.science.arguments import Floats, float_array


def air_temps(name: str, temps: ArrayLike, ndim: int) -> Floats:
    """Temperatures of the air as float64, refused beyond what was ever read.

    Parameters
    ----------
    name : the argument's name, for messages
    temps : °C
    ndim : number of axes wanted

    Returns
    -------
    float, °C, the shape of `temps`

    Raises
    ------
    BadArgumentError
        For a gap, an infinity, or a value beyond the limits, with its index.

    Notes
    -----
    Source: `weather.temperature.lowest` and `.highest` in the reference room, a little beyond the
            records of the World Meteorological Organization. From memory.
    Valid:  air near the ground anywhere on earth.

    Examples
    --------
    >>> air_temps("temps", [-12.5, 30.0], ndim=1)
    array([-12.5,  30. ])
    """
    low, high = (value(f"weather.temperature.{end}").value for end in ("lowest", "highest"))
    return float_array(name, temps, ndim=ndim, low=low, high=high)
