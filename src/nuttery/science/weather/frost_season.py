"""Harm by frost over a whole season: many courses of weather, each with its own stages."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nuttery.science.arguments import Floats, Ints, float_array, one_of
from nuttery.science.errors import BadArgumentError
from nuttery.science.weather.frost import ORGANS, Threshold, frost_thresholds


@dataclass(frozen=True)
class SeasonHarm:
    """What the frosts of a season do to one organ of each shrub.

    Attributes
    ----------
    organ : the organ
    chance : (n,) chance that some night takes at least `at_least` of it
    share : (n,) expected share lost in the worst night
    at_least : share that counts as harm
    n_draws : courses of weather that the figures rest on
    """

    organ: str
    chance: Floats
    share: Floats
    at_least: float
    n_draws: int


def frost_season(
    organ: str,
    begins: ArrayLike,
    night_min: ArrayLike,
    *,
    thresholds: Iterable[Threshold] | None = None,
    at_least: float = 0.1,
) -> SeasonHarm:
    """Chance and share of loss of one organ over all nights of a season.

    Parameters
    ----------
    organ : "catkin", "pistillate flower" or "shoot"
    begins : (bands + 1, draws, n) day on which each band of that organ begins on each shrub in each
        course, bands by BBCH; the last row is the day on which the last band ends. Counted from
        the first night; inf or NaN where not reached
    night_min : (draws, days) °C at the plants
    thresholds : as `frost_thresholds()`; by default those for hybrids
    at_least : share of the organs whose loss counts as harm

    Returns
    -------
    SeasonHarm

    Raises
    ------
    BadArgumentError
        On an unknown organ, shapes that do not match, a gap among the nights, or `at_least` not
        between 0 and 1.

    Notes
    -----
    Source: as `frost_harm`; a doubt about a killing temperature is the same on every night, so the
        chance in a course is that of its worst night, and the answer the mean over courses.
    Valid:  courses in which stages and nights belong together (early spring, early shoots).
    Limits: losses of several nights are not added up; the share is that of the worst one.

    Examples
    --------
    >>> nights = np.array([[-6.0, -1.0, -5.0], [-6.0, 0.0, 1.0]])
    >>> dormant, tips, leaves, end = 0.0, 1.0, np.inf, np.inf
    >>> begins = np.broadcast_to(np.array([dormant, tips, leaves, end])[:, None, None], (4, 2, 1))
    >>> frost_season("shoot", begins, nights).chance.round(2)
    array([0.49])
    """
    from scipy.special import ndtr, ndtri

    known = frost_thresholds() if thresholds is None else thresholds
    bands = _bands(one_of("organ", organ, ORGANS), known)
    nights = float_array("night_min", night_min, ndim=2)
    if not 0 < at_least < 1:
        raise BadArgumentError(f"at_least: found {at_least:g}, expected between 0 and 1")
    edges = _edges(begins, len(bands), nights)
    killing, spread, width = (
        np.array([getattr(b, name) for b in bands])[:, None, None]
        for name in ("killing", "spread", "width")
    )
    width, spread = np.maximum(width, 1e-9), np.maximum(spread, 1e-9)
    harmed = ((killing - nights) - width * ndtri(at_least)) / spread
    lost = (killing - nights) / np.hypot(spread, width)
    chance, share = (ndtr(_worst(score, edges)).mean(axis=0) for score in (harmed, lost))
    return SeasonHarm(organ, chance, share, at_least, len(nights))


def _bands(organ: str, known: Iterable[Threshold]) -> list[Threshold]:
    own = sorted((t for t in known if t.organ == organ), key=lambda t: t.first_bbch)
    if not own:
        raise BadArgumentError(f"thresholds: found none for {organ}, expected one or more")
    return own


def _edges(begins: ArrayLike, bands: int, nights: Floats) -> Ints:
    """First night of each band, and of none after the last: whole numbers from 0 to the nights."""
    days = np.asarray(begins, dtype=np.float64)
    wanted = (bands + 1, len(nights))
    if days.ndim != 3 or days.shape[:2] != wanted:
        raise BadArgumentError(
            f"begins: found shape {days.shape}, expected ({wanted[0]}, {wanted[1]}, shrubs)"
        )
    end = nights.shape[1]
    whole = np.ceil(np.clip(np.nan_to_num(days, nan=np.inf), 0, end))
    return np.maximum.accumulate(whole, axis=0).astype(np.int64)


def _worst(score: Floats, edges: Ints) -> Floats:
    from nuttery.science.weather.worst_night import worst_score

    worst: Floats = worst_score(score, edges)
    return worst
