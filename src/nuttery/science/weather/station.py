"""Difference in temperature between a weather station and the planting, learned or unknown."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nuttery.reference import value
from nuttery.science.arguments import Floats, float_array, same_length
from nuttery.science.errors import BadArgumentError


@dataclass(frozen=True)
class StationOffset:
    """How much warmer (+) or colder (−) the planting is than the station.

    Attributes
    ----------
    mean, low, high : °C, with an 80 % interval of the mean; NaN while unknown
    night_sd : °C, standard deviation of one night's difference about the mean; NaN while unknown
    n_records : nights read at both places
    """

    mean: float
    low: float
    high: float
    night_sd: float
    n_records: int

    @property
    def known(self) -> bool:
        """Whether there were enough readings to tell."""
        return not np.isnan(self.mean)

    def at_planting(self, temps: ArrayLike) -> tuple[Floats, Floats]:
        """Temperatures at the planting from those at the station, and their standard deviation.

        Parameters
        ----------
        temps : (n,) °C at the station

        Returns
        -------
        (n,) °C at the planting, and (n,) °C standard deviation

        Raises
        ------
        BadArgumentError
            While the difference is unknown.

        Notes
        -----
        Source: standard deviation of one new value about a mean learned from `n_records`.
        Valid:  nights like those from which the difference was learned.

        Examples
        --------
        >>> offset = StationOffset(mean=-1.5, low=-2.0, high=-1.0, night_sd=1.0, n_records=8)
        >>> offset.at_planting([0.0])[0]
        array([-1.5])
        """
        station = float_array("temps", temps)
        if not self.known:
            raise BadArgumentError(
                f"offset: found {self.n_records} nights read at both places, expected "
                f"{fewest_nights()} or more; the difference to the station is unknown"
            )
        doubt = self.night_sd * np.sqrt(1 + 1 / self.n_records)
        return station + self.mean, np.full(station.shape, doubt)


def fewest_nights() -> int:
    """Paired readings needed before an offset is called known."""
    return int(value("offset.readings.fewest").value)


def station_offset(station: ArrayLike, planting: ArrayLike) -> StationOffset:
    """Offset learned from readings of the same nights (or days) at both places.

    Parameters
    ----------
    station, planting : (n,) °C, minima or maxima of the same days; a pair with a NaN is left out

    Returns
    -------
    StationOffset, unknown (NaN) with fewer than five pairs

    Raises
    ------
    BadArgumentError
        On lengths that differ.

    Notes
    -----
    Source: mean of the differences with Student's interval.
    Valid:  minima and maxima apart, as cold air drains at night only; nights like those to be
        judged (learn from clear, calm ones for frost).
    Limits: nights in a row are alike, so the interval is somewhat too narrow. Elevation alone does
        not give a night's difference, and none is assumed.

    Examples
    --------
    >>> offset = station_offset([0.0, -2.0, 1.0, 3.0, -1.0], [-1.5, -4.5, -1.0, 2.0, -3.0])
    >>> round(offset.mean, 2), round(offset.low, 2), round(offset.high, 2)
    (-1.8, -2.19, -1.41)
    >>> station_offset([0.0], [-1.0]).known
    False
    """
    from scipy.special import stdtrit

    there = float_array("station", station, ndim=1, nan=True)
    here = float_array("planting", planting, ndim=1, nan=True)
    same_length(station=there, planting=here)
    gaps = (here - there)[~np.isnan(here - there)]
    if gaps.size < fewest_nights():
        return StationOffset(np.nan, np.nan, np.nan, np.nan, int(gaps.size))
    mean, spread = float(gaps.mean()), float(gaps.std(ddof=1))
    half = float(stdtrit(gaps.size - 1, 0.9)) * spread / gaps.size**0.5
    return StationOffset(mean, mean - half, mean + half, spread, int(gaps.size))
