"""Flags of the GHCN-Daily archive: which values failed a check, which are traces."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from nuttery.exchange.weather.record import Bools
from nuttery.exchange.weather.telling import NAMES, number

ELEMENTS = {"TMAX": "tmax", "TMIN": "tmin", "PRCP": "rain"}
MISSING = -9999
FAILED = {
    "D": "duplicate check",
    "G": "gap check",
    "I": "internal consistency check",
    "K": "streak check",
    "L": "check on multi-day length",
    "M": "mega-consistency check",
    "N": "naught check",
    "O": "climatological outlier check",
    "R": "lagged range check",
    "S": "spatial consistency check",
    "T": "temporal consistency check",
    "W": "temperature too warm for snow",
    "X": "bounds check",
    "Z": "flagged by an official investigation",
}


def believed(present: Bools, quality: NDArray[Any]) -> Bools:
    """Which values stand in the file and failed no check of the archive.

    Notes
    -----
    Source: NOAA, readme of GHCN-Daily, section III: any quality flag means a failed check.
    """
    blank: Bools = (quality == " ") | (quality == "")
    return present & blank


def told_flags(
    element: str, present: Bools, measurement: NDArray[Any], quality: NDArray[Any]
) -> list[str]:
    """What the flags of one element did, in sentences."""
    good = believed(present, quality)
    failed = present & ~good
    told = []
    if failed.any():
        flags, counts = np.unique(quality[failed], return_counts=True)
        why = ", ".join(
            f"{n:,} {FAILED.get(str(flag), f'quality flag {flag}')}"
            for flag, n in zip(flags, counts, strict=True)
        )
        count = number(int(failed.sum()), "value")
        told.append(f"Dropped {count} of {NAMES[element]} that failed the archive's checks: {why}.")
    trace = good & (measurement == "T")
    if element == "rain" and trace.any():
        told.append(f"{number(int(trace.sum()), 'trace')} of rain counted as 0 mm.")
    presumed = good & (measurement == "P")
    if presumed.any():
        count = number(int(presumed.sum()), "missing value")
        told.append(f"{count} of {NAMES[element]} presumed zero by the archive.")
    return told
