"""How much pollen reaches a stigma over a distance, and downwind against upwind."""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike

from nuttery.reference import value
from nuttery.science.arguments import Floats, float_array, same_length
from nuttery.science.errors import BadArgumentError

AIR_VISCOSITY = 1.81e-5  # Pa s, air at about 15 °C
GRAVITY = 9.81  # m/s²


class Kernel(Protocol):
    """Relative pollen reaching a place at a distance in metres from its donor."""

    def __call__(self, distance_m: Floats, /) -> Floats:
        """Weights of the same shape as the distances."""
        ...


@dataclass(frozen=True)
class PowerKernel:
    """Weight falling as a power of distance: w = (d / 5 m)^−exponent, 1 at 5 m.

    Parameters
    ----------
    exponent : above 0
    nearest : m; anything nearer counts as this far, because a power has no value at 0
    cut_off : m; nothing is counted from beyond it

    Raises
    ------
    BadArgumentError
        If a parameter is not above 0.

    Notes
    -----
    Source: exponent fitted to pollen caught at 5–80 m from one pistachio, 2nd Int. Symp. on
        Pistachios and Almonds, Davis 1997, 286–293: 16020·d^−1.535, R² 0.972. Inferred.
    Valid:  5–80 m, open ground, a like tree; no measured kernel of Corylus is known to us.
    Limits: exponents below 2 have no finite total over a plane, hence the cut-off.

    Examples
    --------
    >>> PowerKernel()(np.array([5.0, 20.0])).round(3)
    array([1.   , 0.119])
    """

    exponent: float = value("pollen.drift.power.exponent").value
    nearest: float = value("pollen.drift.power.nearest").value
    cut_off: float = np.inf

    def __post_init__(self) -> None:
        _above_zero(exponent=self.exponent, nearest=self.nearest, cut_off=self.cut_off)

    def __call__(self, distance_m: Floats) -> Floats:
        """Weights of the same shape as the distances."""
        weight = np.maximum(distance_m, self.nearest)
        weight /= 5.0
        np.log(weight, out=weight)  # exp and log are faster than a power
        weight *= -self.exponent
        np.exp(weight, out=weight)
        return _cut(weight, distance_m, self.cut_off)


@dataclass(frozen=True)
class ExponentialKernel:
    """Weight falling exponentially with distance: w = exp((5 m − d) / scale), 1 at 5 m.

    Parameters
    ----------
    scale : m
    cut_off : m; nothing is counted from beyond it

    Raises
    ------
    BadArgumentError
        If a parameter is not above 0.

    Notes
    -----
    Source: scale fitted to the same pistachio catches: 731.5·exp(−d/19.7 m), R² 0.858. Inferred.
    Valid:  5–80 m, open ground, a like tree.
    Limits: too low beyond 60 m against the catches it was fitted to.

    Examples
    --------
    >>> ExponentialKernel()(np.array([5.0, 20.0])).round(3)
    array([1.   , 0.467])
    """

    scale: float = value("pollen.drift.exponential.scale").value
    cut_off: float = np.inf

    def __post_init__(self) -> None:
        _above_zero(scale=self.scale, cut_off=self.cut_off)

    def __call__(self, distance_m: Floats) -> Floats:
        """Weights of the same shape as the distances."""
        weight = (5.0 - distance_m) / self.scale
        np.exp(weight, out=weight)
        return _cut(weight, distance_m, self.cut_off)


def _above_zero(**parameters: float) -> None:
    for name, number in parameters.items():
        if not number > 0:
            raise BadArgumentError(f"{name}: found {number}, expected above 0")


def _cut(weight: Floats, distance: Floats, cut_off: float) -> Floats:
    if np.isfinite(cut_off):
        weight[distance > cut_off] = 0.0
    return weight


@dataclass(frozen=True)
class WindRose:
    """Share of pollen carried towards each compass sector, against an even spread.

    Parameters
    ----------
    share : (sectors,) share of wind run by the direction it comes FROM, first sector centred
        on north, clockwise; adds up to 1

    Raises
    ------
    BadArgumentError
        If shares are negative or do not add up to 1.

    Notes
    -----
    Source: ours: pollen goes where the wind of the shed days goes, in proportion to its run.
    Valid:  a planting small against the weather; distances within the kernel's range.
    Limits: sheltering by a leafless stand is not known for hazel and not modelled; about 20 %
        of the wind outside was measured in a leafless wood (Andersen 1974, Grana 14:57–63).

    Examples
    --------
    >>> rose = WindRose(np.array([1.0, 0.0, 0.0, 0.0]))
    >>> rose.factor(np.array([0.0, 0.0]), np.array([-9.0, 9.0]))
    array([4., 0.])
    """

    share: Floats

    def __post_init__(self) -> None:
        share = float_array("share", self.share, ndim=1, low=0, high=1)
        if not np.isclose(share.sum(), 1, atol=1e-6):
            raise BadArgumentError(f"share: found a sum of {share.sum():g}, expected 1")
        object.__setattr__(self, "share", share)

    def factor(self, east: Floats, north: Floats) -> Floats:
        """Weight of each way from donor to receiver, 1 on average over all directions.

        Parameters
        ----------
        east, north : m from the donor to the receiver

        Returns
        -------
        same shape, ≥ 0; linear between the centres of sectors

        Notes
        -----
        Source: the rose's own definition.
        Valid:  any place; 1 at the donor's own place.

        Examples
        --------
        >>> WindRose(np.full(8, 1 / 8)).factor(np.array([3.0]), np.array([4.0]))
        array([1.])
        """
        sectors = len(self.share)
        comes_from = np.degrees(np.arctan2(-east, -north)) % 360
        where = comes_from / 360 * sectors
        below = np.floor(where).astype(np.int64)
        part = where - below
        weight = self.share[below % sectors] * (1 - part) + self.share[(below + 1) % sectors] * part
        result: Floats = np.where((east == 0) & (north == 0), 1.0, weight * sectors)
        return result


def wind_rose(
    wind_from: ArrayLike,
    wind_speed: ArrayLike,
    *,
    weight: ArrayLike | None = None,
    sectors: int = 8,
) -> WindRose:
    """Wind rose of the hours in which pollen flies.

    Parameters
    ----------
    wind_from : (n_hours,) degrees clockwise from north, NaN where not measured
    wind_speed : (n_hours,) m/s, NaN where not measured; calm hours carry nothing
    weight : (n_hours,) ≥ 0, such as the share of the planting in shed, or None for all alike
    sectors : number of sectors

    Returns
    -------
    WindRose

    Raises
    ------
    BadArgumentError
        If lengths differ, a value lies outside its range, or no hour carries any wind.

    Notes
    -----
    Source: ours: run of the wind (speed × hours) summed by the direction it comes from.
    Valid:  hours by day or night alike; pass `weight` to keep the shed weeks only.

    Examples
    --------
    >>> wind_rose([0, 90, 90], [2, 1, 1], sectors=4).share
    array([0.5, 0.5, 0. , 0. ])
    """
    where = float_array("wind_from", wind_from, ndim=1, low=0, high=360, nan=True)
    speed = float_array("wind_speed", wind_speed, ndim=1, low=0, high=120, nan=True)
    wanted = float_array("weight", np.ones_like(speed) if weight is None else weight, ndim=1, low=0)
    same_length(wind_from=where, wind_speed=speed, weight=wanted)
    run = np.where(np.isnan(where) | np.isnan(speed), 0.0, speed * wanted)
    if run.sum() == 0:
        raise BadArgumentError("wind_speed: found no hour with wind, expected at least one")
    sector = np.round(np.nan_to_num(where) / 360 * sectors).astype(np.int64) % sectors
    summed = np.bincount(sector, run, sectors)
    return WindRose(summed / summed.sum())


def fall_speed(diameter_um: ArrayLike, density: ArrayLike = 1000.0) -> Floats:
    """Speed at which a round grain falls in still air.

    Parameters
    ----------
    diameter_um : µm
    density : kg/m³

    Returns
    -------
    m/s

    Raises
    ------
    BadArgumentError
        If a value is negative or missing.

    Notes
    -----
    Source: Stokes's law, v = ρ g d² / (18 μ), air of 1.81e-5 Pa s.
    Valid:  grains of about 1–60 µm (Reynolds number below 0.1).

    Examples
    --------
    >>> float(fall_speed(25.0).round(4))
    0.0188
    """
    diameter = float_array("diameter_um", diameter_um, low=0) * 1e-6
    heavy = float_array("density", density, low=0)
    speed: Floats = heavy * GRAVITY * diameter**2 / (18 * AIR_VISCOSITY)
    return speed


def grain_diameter(speed: ArrayLike, density: ArrayLike = 1000.0) -> Floats:
    """Diameter of a round grain that falls at a known speed.

    Parameters
    ----------
    speed : m/s
    density : kg/m³, above 0

    Returns
    -------
    µm

    Raises
    ------
    BadArgumentError
        If a value is negative or missing.

    Notes
    -----
    Source: Stokes's law turned round, d = √(18 μ v / (ρ g)).
    Valid:  grains of about 1–60 µm.

    Examples
    --------
    >>> float(grain_diameter(0.025).round(1))
    28.8
    """
    falling = float_array("speed", speed, low=0)
    heavy = float_array("density", density, low=1)
    diameter: Floats = np.sqrt(18 * AIR_VISCOSITY * falling / (heavy * GRAVITY)) * 1e6
    return diameter
