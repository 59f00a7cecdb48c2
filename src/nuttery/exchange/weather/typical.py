"""Files whose months come from different years: a typical year is no record of any year."""

import re

import numpy as np

from nuttery.exchange.weather.record import Times

NAMES = re.compile(r"\b(TMY\d?|TRY|[CI]WEC\d*|IWEC Data|typical)\b", re.IGNORECASE)


def runs_on(time: Times) -> bool:
    """Whether every stamp comes after the one before.

    Examples
    --------
    >>> runs_on(np.array(["2003-01-31T23:00", "1999-02-01T00:00"], "datetime64[m]"))
    False
    """
    kept = time[~np.isnat(time)]
    return bool((np.diff(kept) > np.timedelta64(0, "m")).all())


def says_typical(text: str) -> bool:
    """Whether a header names one of the kinds of typical year.

    Examples
    --------
    >>> says_typical("IWEC Data"), says_typical("ISD 2019")
    (True, False)
    """
    return bool(NAMES.search(text))
