"""Cutting as work: how many canes a year, over how many winters, and how long it takes."""

import numpy as np
from numpy.typing import ArrayLike

from nuttery.reference import value
from nuttery.science.arguments import Floats, Ints, float_array, int_array, refuse_where
from nuttery.science.canes.rules import cut_limit
from nuttery.science.errors import BadArgumentError


def canes_a_year(canes: float, rotation: float) -> float:
    """Canes to cut and suckers to keep each year so that a stool stays as it is.

    Parameters
    ----------
    canes : float, canes the stool carries
    rotation : float, years a cane stays

    Returns
    -------
    float

    Raises
    ------
    BadArgumentError
        If canes are below zero or the rotation is not above zero.

    Notes
    -----
    Source: steady state, n canes over L years; exact.
    Valid:  no deaths.

    Examples
    --------
    >>> canes_a_year(12, 6)
    2.0
    """
    stool = float_array("canes", canes, ndim=0, low=0.0)
    return float(stool / float_array("rotation", rotation, ndim=0, low=np.nextafter(0, 1)))


def thinning(standing: int, target: int, max_share: float = 1 / 3) -> Ints:
    """Cuts of each winter that bring an overgrown stool down to its target.

    Parameters
    ----------
    standing : int, live canes of age 2 and older
    target : int, canes to end with, one or more
    max_share : float, share that may go in one winter

    Returns
    -------
    (winters,) int

    Raises
    ------
    BadArgumentError
        If a number is negative, or no target of one or more is given.

    Notes
    -----
    Source: a third in a winter, common practice; dead and cankered canes are not in the count.
    Valid:  no suckers kept meanwhile.

    Examples
    --------
    >>> thinning(14, 6)
    array([4, 3, 1])
    """
    left = int(int_array("standing", standing, ndim=0, low=0))
    goal = int(int_array("target", target, ndim=0, low=1))
    share = float(float_array("max_share", max_share, ndim=0, low=0.0, high=1.0))
    cuts = []
    while left > goal:
        cuts.append(min(left - goal, int(cut_limit(left, share))))
        left -= cuts[-1]
    return np.array(cuts, dtype=np.int64)


def without_must_cut(counts: ArrayLike, must_cut: ArrayLike) -> Ints:
    """Canes left to plan with once the dead and cankered ones are out.

    Parameters
    ----------
    counts : (n, A) int, canes of each age
    must_cut : (n, A) int, those of them that are dead or cankered and go at once

    Returns
    -------
    (n, A) int

    Raises
    ------
    BadArgumentError
        If shapes differ or more must go than stand there.

    Notes
    -----
    Source: dead wood goes at any time and does not count against the third; common practice.
    Valid:  any count.

    Examples
    --------
    >>> without_must_cut([[0, 3, 2]], [[0, 0, 1]])
    array([[0, 3, 1]])
    """
    canes, gone = int_array("counts", counts, low=0), int_array("must_cut", must_cut, low=0)
    if canes.shape != gone.shape:
        raise BadArgumentError(f"must_cut: found shape {gone.shape}, expected {canes.shape}")
    refuse_where("must_cut", gone, gone > canes, "no more than stand there")
    return canes - gone


def cutting_hours(stools: int, seconds: ArrayLike | None = None) -> Floats:
    """Hours needed to prune by hand: likely, low and high.

    Parameters
    ----------
    stools : int, stools to prune
    seconds : (k,) float, own times a stool; None for the published ones

    Returns
    -------
    (3,) float, hours: middle, low, high

    Raises
    ------
    BadArgumentError
        If a number is missing or negative, or `seconds` is empty.

    Notes
    -----
    Source: Roversi and Malvicini 2014, Acta Hort 1052:175, 162 to 177 s a plant. Published.
    Valid:  ten-year-old plants pruned by hand; own times, where given, as median and quartiles.

    Examples
    --------
    >>> cutting_hours(300).round(2)
    array([14.17, 13.5 , 14.75])
    """
    number = float_array("stools", stools, ndim=0, low=0.0)
    if seconds is None:
        known = value("canes.cutting.time")
        times = np.array([known.value, known.low, known.high], dtype=np.float64)
    else:
        own = float_array("seconds", seconds, ndim=1, low=0.0)
        if not len(own):
            raise BadArgumentError("seconds: found none, expected one time or more")
        times = np.quantile(own, [0.5, 0.25, 0.75])
    hours: Floats = number * times / 3600
    return hours
