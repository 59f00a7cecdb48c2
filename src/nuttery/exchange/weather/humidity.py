"""Relative humidity where a file has only the dew point."""

import numpy as np

from nuttery.exchange.weather.record import Floats


def relative_humidity(temp: Floats, dew_point: Floats) -> Floats:
    """Relative humidity from air temperature and dew point; at most 100 %.

    Parameters
    ----------
    temp, dew_point : (n,) °C

    Returns
    -------
    (n,) %, NaN where either is missing

    Notes
    -----
    Source: Allen et al. 1998, FAO Irrigation and Drainage Paper 56, eq. 10, 11 and 14. Published.
    Valid:  −50 to 60 °C, over water.
    Limits: a dew point that rounding has put above the temperature gives 100 %.

    Examples
    --------
    >>> relative_humidity(np.array([20.0]), np.array([10.0])).round(1)
    array([52.5])
    """
    ratio = _saturation(dew_point) / _saturation(temp)
    rh: Floats = np.minimum(100 * ratio, 100)
    return rh


def _saturation(temp: Floats) -> Floats:
    pressure: Floats = 0.6108 * np.exp(17.27 * temp / (temp + 237.3))
    return pressure
