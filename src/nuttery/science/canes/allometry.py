"""Mass and height of a stem from its diameter, as published; warned of beyond the data."""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from nuttery.science.arguments import Floats, float_array


class Estimate(NamedTuple):
    """Values of a published equation and a warning where it was used beyond its data.

    Attributes
    ----------
    value : (n,) float
    outside : (n,) bool, diameters beyond those the equation was fitted to
    warning : str, empty if none is
    """

    value: Floats
    outside: np.ndarray
    warning: str


def _estimate(name: str, diameter: Floats, low: float, high: float, value: Floats) -> Estimate:
    outside = (diameter < low) | (diameter > high)
    warning = ""
    if outside.any():
        worst = float(diameter[outside].flat[0])
        warning = f"{name}: fitted to {low:g} to {high:g}, found {worst:g}"
    return Estimate(value, outside, warning)


def mass_li(base_mm: ArrayLike) -> Estimate:
    """Dry mass above ground of a stem from its base diameter, Corylus mandshurica.

    Parameters
    ----------
    base_mm : (n,) float, mm, diameter at the base

    Returns
    -------
    Estimate, g

    Raises
    ------
    BadArgumentError
        If a diameter is missing or not above zero.

    Notes
    -----
    Source: Li et al. 2010, B = 0.024 · D^2.826, n = 15, R² 0.854; coefficients as restated in the
            ForestGEO table of equations. Secondary source.
    Valid:  3.7 to 32.1 mm; a warning outside.
    Limits: another species of hazel; no equation from diameter to nuts was found, so none is here.

    Examples
    --------
    >>> mass_li([10.0, 20.0]).value.round(1)
    array([ 16.1, 114. ])
    """
    base = float_array("base_mm", base_mm, low=np.nextafter(0, 1))
    return _estimate("base diameter, mm", base, 3.7, 32.1, 0.024 * base**2.826)


def mass_lutz(breast_cm: ArrayLike) -> Estimate:
    """Dry mass above ground of a stem from its diameter at 1.3 m, Corylus cornuta.

    Parameters
    ----------
    breast_cm : (n,) float, cm, diameter at 1.3 m

    Returns
    -------
    Estimate, g

    Raises
    ------
    BadArgumentError
        If a diameter is missing or not above zero.

    Notes
    -----
    Source: Lutz et al. 2017, Fire Ecology 13:104, ln B = 5.555 + 1.364 ln D, n = 41, R² 0.894;
            coefficients as restated in the ForestGEO table of equations. Secondary source.
    Valid:  0.1 to 6 cm; a warning outside.

    Examples
    --------
    >>> mass_lutz([2.0]).value.round(1)
    array([665.4])
    """
    breast = float_array("breast_cm", breast_cm, low=np.nextafter(0, 1))
    mass = np.exp(5.555 + 1.364 * np.log(breast))
    return _estimate("diameter at 1.3 m, cm", breast, 0.1, 6.0, mass)


def height_cornuta(breast_cm: ArrayLike) -> Estimate:
    """Height of a stem from its diameter at 1.3 m, Corylus cornuta.

    Parameters
    ----------
    breast_cm : (n,) float, cm, diameter at 1.3 m

    Returns
    -------
    Estimate, m

    Raises
    ------
    BadArgumentError
        If a diameter is missing or not above zero.

    Notes
    -----
    Source: ForestGEO, Santa Cruz plot, H = 2.3359 · D^0.5855. Secondary source.
    Valid:  1 to 5 cm; a warning outside.

    Examples
    --------
    >>> height_cornuta([5.0]).value.round(3)
    array([5.994])
    """
    breast = float_array("breast_cm", breast_cm, low=np.nextafter(0, 1))
    return _estimate("diameter at 1.3 m, cm", breast, 1.0, 5.0, 2.3359 * breast**0.5855)


def base_diameter(breast_cm: ArrayLike) -> Floats:
    """Diameter 10 cm above ground from the diameter at 1.3 m, shrubs in general.

    Parameters
    ----------
    breast_cm : (n,) float, cm

    Returns
    -------
    (n,) float, cm

    Raises
    ------
    BadArgumentError
        If a diameter is missing or not above zero.

    Notes
    -----
    Source: Paul et al. 2016, Global Change Biology 22:2106, D10 = 1.488 + 1.195 · D130;
            coefficients as restated in the ForestGEO table of equations. Secondary source.
    Valid:  shrubs of many species; the range of the data was not seen.

    Examples
    --------
    >>> base_diameter([1.0])
    array([2.683])
    """
    breast = float_array("breast_cm", breast_cm, low=np.nextafter(0, 1))
    diameter: Floats = 1.488 + 1.195 * breast
    return diameter
