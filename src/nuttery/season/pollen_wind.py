"""Drift of this planting: with distance, and with the wind of the weeks in which it sheds."""

from dataclasses import dataclass, replace

import numpy as np

from nuttery.science.arguments import Floats
from nuttery.science.pollen import PowerKernel, WindRose, wind_rose
from nuttery.season.planting import Planting

SECTORS = ("n", "ne", "e", "se", "s", "sw", "w", "nw")
FEWEST_HOURS = 100
"""Hours with wind, weighed by the shed, from which a rose is learned: some week of one spring;
our own mark."""


@dataclass(frozen=True)
class PollenWind:
    """Wind that carries the pollen.

    Attributes
    ----------
    share : (8,) of the wind's run by the direction it comes from, north first, clockwise
    basis : "typed" by the grower, "learned" from hours of wind, or "even" where neither is known
    hours : hours of wind behind a learned rose
    years : years that they are of
    own_drift : whether the grower set how drift falls with distance
    """

    share: Floats
    basis: str
    hours: int
    years: int
    own_drift: bool = False

    @property
    def rose(self) -> WindRose | None:
        """The rose as drift takes it; None for an even spread."""
        return None if self.basis == "even" else WindRose(self.share)

    def drift_told(self) -> str:
        """Where the fall of drift with distance is from."""
        return "drift as set by hand" if self.own_drift else "drift as measured on another tree"

    def told(self) -> str:
        """The rose in words.

        Examples
        --------
        >>> share = np.array([0.05, 0.05, 0.05, 0.05, 0.1, 0.2, 0.35, 0.15])
        >>> PollenWind(share, "typed", 0, 0).told()
        'wind as set by hand, mostly from W (35 %) and SW (20 %)'
        """
        if self.basis == "even":
            return "pollen taken to spread alike in all directions (no wind rose)"
        first, second = np.argsort(-self.share, kind="stable")[:2]
        chief = " and ".join(f"{SECTORS[k].upper()} ({self.share[k]:.0%})" for k in (first, second))
        chief = chief.replace("%", " %")
        if self.basis == "typed":
            return f"wind as set by hand, mostly from {chief}"
        return (
            f"wind of {self.hours} hours of shed weeks in {self.years} years, mostly from {chief}"
        )


def drift_kernel(planting: Planting) -> PowerKernel:
    """Return drift with distance, as it comes or as the grower has set it."""
    return PowerKernel(
        exponent=planting.value("pollen.drift.power.exponent").value,
        nearest=planting.value("pollen.drift.power.nearest").value,
    )


def pollen_wind(planting: Planting, shed: Floats, first_day: int) -> PollenWind:
    """Return the wind that drifts: its rose typed, else learned from hours on record, else even.

    Parameters
    ----------
    planting : the planting as of a day
    shed : (days,) mean share of pollen in the air over all shrubs
    first_day : day of year of the first of them
    """
    return replace(_rose(planting, shed, first_day), own_drift=_own_drift(planting))


def _rose(planting: Planting, shed: Floats, first_day: int) -> PollenWind:
    typed = np.array([planting.value(f"pollen.wind.from_{sector}").value for sector in SECTORS])
    if typed.sum() > 0:
        return PollenWind(typed / typed.sum(), "typed", 0, 0)
    return _learned(planting, shed, first_day) or PollenWind(np.full(8, 1 / 8), "even", 0, 0)


def _own_drift(planting: Planting) -> bool:
    names = ("exponent", "nearest")
    return any(
        planting.value(f"pollen.drift.power.{name}").certainty == "grower's own" for name in names
    )


def _learned(planting: Planting, shed: Floats, first_day: int) -> PollenWind | None:
    """Rose of the hours on record up to the planting's day, weighed by the planting's shed."""
    found = planting.register.hourly(planting.about.planting)
    days = found.time.astype("datetime64[D]")
    day = (days - days.astype("datetime64[Y]").astype("datetime64[D]")).astype(np.int64)
    column = day + 1 - first_day
    known = (column >= 0) & (column < len(shed)) & (days <= np.datetime64(planting.on))
    weight = np.where(known, shed[np.clip(column, 0, len(shed) - 1)], 0.0)
    measured = (found.wind_speed > 0) & ~np.isnan(found.wind_from) & (weight > 0)
    if not shed.max(initial=0.0) or (weight[measured] / shed.max()).sum() < FEWEST_HOURS:
        return None
    rose = wind_rose(
        found.wind_from[measured], found.wind_speed[measured], weight=weight[measured], sectors=8
    )
    years = np.unique(days[measured].astype("datetime64[Y]")).size
    return PollenWind(rose.share, "learned", int(measured.sum()), years)
