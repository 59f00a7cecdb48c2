"""Moisture of nuts: wet and dry basis, mass at another moisture, whole nut, water activity.

A wet-basis moisture is water over all mass, a dry-basis one is water over dry matter. Both are
fractions here (0.08, not 8 %), and every argument says which of the two it is.
"""

import numpy as np
from numpy.typing import ArrayLike

from nuttery.reference import value
from nuttery.science.arguments import Floats, float_array, refuse_where
from nuttery.science.crop.estimate import Estimate
from nuttery.science.errors import OutOfRangeError


def wet_basis_array(name: str, values: ArrayLike) -> Floats:
    """`values` checked as wet-basis fractions, 0 up to but not including 1.

    Raises
    ------
    BadArgumentError
        If one is missing, negative, or 1 and more (all water, or per cent written for a fraction).
    """
    moisture = float_array(name, values)
    wrong = (moisture < 0) | (moisture >= 1)
    refuse_where(name, moisture, wrong, "0 to below 1 (a fraction of all mass, not per cent)")
    return moisture


def wet_to_dry_basis(m: ArrayLike) -> Floats:
    """Dry-basis moisture of a wet-basis one.

    Parameters
    ----------
    m : float, fraction of all mass, 0 to below 1

    Returns
    -------
    float, fraction of dry matter, in the shape of `m`

    Raises
    ------
    BadArgumentError
        If `m` is not from 0 to below 1: at 1 there is no dry matter to refer to.

    Notes
    -----
    Source: definition of the two bases; M_db = M_wb / (1 − M_wb).
    Valid:  0 ≤ m < 1.
    Limits: none.

    Examples
    --------
    >>> round(float(wet_to_dry_basis(0.12)), 6)
    0.136364
    """
    wet = wet_basis_array("m", m)
    return wet / (1 - wet)


def dry_to_wet_basis(m: ArrayLike) -> Floats:
    """Wet-basis moisture of a dry-basis one.

    Parameters
    ----------
    m : float, fraction of dry matter, 0 and more

    Returns
    -------
    float, fraction of all mass, in the shape of `m`

    Raises
    ------
    BadArgumentError
        If `m` is negative or missing.

    Notes
    -----
    Source: definition of the two bases; M_wb = M_db / (1 + M_db).
    Valid:  m ≥ 0.
    Limits: none.

    Examples
    --------
    >>> round(float(dry_to_wet_basis(0.25)), 3)
    0.2
    """
    dry = float_array("m", m, low=0)
    return dry / (1 + dry)


def mass_at_moisture(mass: ArrayLike, from_wb: ArrayLike, to_wb: ArrayLike) -> Floats:
    """Mass that a lot has once its moisture has gone from one value to another.

    Parameters
    ----------
    mass : float, any unit of mass
    from_wb, to_wb : float, fraction of all mass, 0 to below 1

    Returns
    -------
    float, unit of `mass`, in the common shape of the arguments

    Raises
    ------
    BadArgumentError
        If a mass is negative or a moisture is not from 0 to below 1.

    Notes
    -----
    Source: dry matter is kept; m · (1 − from) / (1 − to).
    Valid:  any change of moisture without loss of dry matter.
    Limits: husks, dust and spilt nuts are losses that this does not know.

    Examples
    --------
    >>> round(float(mass_at_moisture(100.0, 0.25, 0.08)), 4)
    81.5217
    """
    before = wet_basis_array("from_wb", from_wb)
    after = wet_basis_array("to_wb", to_wb)
    return float_array("mass", mass, low=0) * ((1 - before) / (1 - after))


def whole_nut_moisture(
    kernel_mass: ArrayLike, kernel_wb: ArrayLike, shell_mass: ArrayLike, shell_wb: ArrayLike
) -> Floats:
    """Moisture of nuts in shell, from that of their kernels and of their shells.

    Parameters
    ----------
    kernel_mass, shell_mass : float, one unit of mass, as weighed (water included)
    kernel_wb, shell_wb : float, fraction of all mass, 0 to below 1

    Returns
    -------
    float, fraction of all mass

    Raises
    ------
    BadArgumentError
        If a mass is negative, kernel and shell together have none, or a moisture is out of range.

    Notes
    -----
    Source: water over mass of the two parts together.
    Valid:  kernel and shell of the same nuts, weighed at the same time.
    Limits: none.

    Examples
    --------
    >>> round(float(whole_nut_moisture(40.0, 0.06, 60.0, 0.12)), 6)
    0.096
    """
    kernel = float_array("kernel_mass", kernel_mass, low=0)
    shell = float_array("shell_mass", shell_mass, low=0)
    both = np.asarray(kernel + shell)
    refuse_where("kernel_mass + shell_mass", both, both == 0, "more than nothing")
    water = kernel * wet_basis_array("kernel_wb", kernel_wb)
    water = water + shell * wet_basis_array("shell_wb", shell_wb)
    return water / both


def water_activity(kernel_wb: float) -> Estimate:
    """Water activity of kernels near room temperature, from their moisture.

    Parameters
    ----------
    kernel_wb : float, fraction of all mass of the kernel

    Returns
    -------
    Estimate
        0 to 1; the interval spans the slopes of four cultivars and the doubt about the anchor.

    Raises
    ------
    OutOfRangeError
        Outside the moistures for which the line is meant; nothing is clipped.

    Notes
    -----
    Source: slopes from Koç Güler 2022, Akad. Ziraat Derg. 11:67 (2 to 12 %, 20 to 30 °C),
            published; the anchor at 5 % from an industry page, secondary source; the line itself
            is inferred.
    Valid:  2 to 9 % of the kernel's mass, 20 to 30 °C.
    Limits: no judgement of safety; a reading by instrument on the lot is what counts.

    Examples
    --------
    >>> e = water_activity(0.05)
    >>> round(e.median, 3), round(e.low, 3), round(e.high, 3)
    (0.475, 0.425, 0.525)
    """
    moisture = float(wet_basis_array("kernel_wb", kernel_wb))
    valid = value("crop.water_activity.moisture")
    if valid.low is None or valid.high is None or not valid.low <= moisture <= valid.high:
        raise OutOfRangeError(
            f"kernel_wb: found {moisture:g}, expected {valid.low} to {valid.high}, "
            "the range of the water activity line"
        )
    anchor = value("crop.water_activity.anchor")
    doubt = value("crop.water_activity.doubt").value
    slope = value("crop.water_activity.slope")
    points = 100 * (moisture - valid.value)
    ends = [points * (slope.low or 0.0), points * (slope.high or 0.0)]
    middle = anchor.value + slope.value * points
    low, high = anchor.value + min(ends) - doubt, anchor.value + max(ends) + doubt
    return Estimate(middle, low, high, 0, slope.certainty)
