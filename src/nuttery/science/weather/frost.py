"""Harm by a night of frost: thresholds by organ and stage, chance and share of loss."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from nuttery.reference import table
from nuttery.science.arguments import Bools, Floats, Ints, float_array, one_of
from nuttery.science.errors import BadArgumentError

ORGANS = ("catkin", "pistillate flower", "shoot")
WITHERED = 69
NINE_TENTHS = 1.2815515655446004


@dataclass(frozen=True)
class Threshold:
    """What an organ stands at a stretch of stages.

    Attributes
    ----------
    organ : "catkin", "pistillate flower" or "shoot"
    stage : the stage in words
    first_bbch, last_bbch : stages that it holds for, both included
    watch : °C, at or below it look after the night
    killing : °C, half of the organs are expected to be lost
    spread : °C, how unsure `killing` is (standard deviation)
    width : °C, how far apart the organs of one shrub give way (standard deviation)
    certainty : of `killing`, in the words of the reference room; "learned" after the grower's notes
    source : where it comes from
    n_records : notes of harm that it rests on, 0 for a prior
    """

    organ: str
    stage: str
    first_bbch: int
    last_bbch: int
    watch: float
    killing: float
    spread: float
    width: float
    certainty: str
    source: str
    n_records: int = 0

    @property
    def low(self) -> float:
        """Lower end of the 80 % interval of `killing`, °C."""
        return self.killing - NINE_TENTHS * self.spread

    @property
    def high(self) -> float:
        """Upper end of the 80 % interval of `killing`, °C."""
        return self.killing + NINE_TENTHS * self.spread


def frost_thresholds(plants: str = "hybrid") -> tuple[Threshold, ...]:
    """Thresholds that the program starts from.

    Parameters
    ----------
    plants : "hybrid" or "avellana"

    Returns
    -------
    tuple of Threshold, by organ and stage

    Raises
    ------
    BadArgumentError
        On other plants.

    Notes
    -----
    Source: the rows of `reference/frost.toml`, each with its own source and certainty; the rows of
        evidence beside them keep the sources that disagree.
    Valid:  a start for a planting without notes of harm.
    Limits: no table of stages and killing temperatures has been published for hazel; every spread
        and width is assumed. After withering of the stigmas nothing is known of the pistillate
        flower, and no band covers it.

    Examples
    --------
    >>> [t.killing for t in frost_thresholds("avellana") if t.stage in ("shedding", "out")]
    [-9.4, -12.2]
    """
    one_of("plants", plants, ("hybrid", "avellana"))
    rows = [r for r in table("frost") if r["kind"] == "band" and r["plants"] == plants]
    named = [{k: v for k, v in row.items() if k not in {"kind", "plants"}} for row in rows]
    return tuple(Threshold(**row) for row in named)


@dataclass(frozen=True)
class FrostHarm:
    """What a night of frost does to one organ of each shrub; NaN where nothing is known.

    Attributes
    ----------
    chance : (n,) chance that at least `at_least` of the organs are lost
    share : (n,) expected share lost
    share_low, share_high : (n,) 80 % interval of the share lost
    at_least : share that counts as harm
    level : (n,) "none", "watch" or "killing" by the expected minimum alone; "" where unknown
    threshold : (n,) index of the threshold used, -1 where none holds
    """

    chance: Floats
    share: Floats
    share_low: Floats
    share_high: Floats
    at_least: float
    level: NDArray[np.str_]
    threshold: Ints


def frost_harm(
    organ: str,
    bbch: ArrayLike,
    night_min: ArrayLike,
    *,
    night_sd: ArrayLike = 0.0,
    thresholds: Iterable[Threshold] | None = None,
    at_least: float = 0.1,
) -> FrostHarm:
    """Chance and share of loss of one organ, shrub by shrub.

    Parameters
    ----------
    organ : "catkin", "pistillate flower" or "shoot"
    bbch : (n,) stage of that organ on each shrub, NaN where not known
    night_min : (n,) or one, °C, lowest temperature at the plants
    night_sd : (n,) or one, °C, how unsure it is (standard deviation)
    thresholds : as `frost_thresholds()`, edited or learned; by default those for hybrids
    at_least : share of the organs whose loss counts as harm

    Returns
    -------
    FrostHarm

    Raises
    ------
    BadArgumentError
        On an unknown organ, a stage outside 0 to 99, a negative `night_sd`, or `at_least` not
        between 0 and 1.

    Notes
    -----
    Source: probit response: of the organs of a shrub the share Φ((killing − T) / width) is lost at
        T °C; `killing` and T are normal about their values, which gives all four figures in closed
        form. Thresholds: see `frost_thresholds`.
    Valid:  one night, one organ; losses of catkins (pollen) and of green shoots (crop) are asked
        for apart and never added up.
    Limits: no hardening or dehardening by the weather before; a thermometer at 1.5 to 2 m can read
        several degrees above the plants on a clear, calm night. Withered catkins have nothing to
        lose: chance 0.

    Examples
    --------
    >>> harm = frost_harm("catkin", [65, 65, 69], [-9.4, -4.0, -9.4])
    >>> harm.share.round(2), harm.level.tolist()
    (array([0.5, 0. , 0. ]), ['killing', 'none', 'none'])
    """
    one_of("organ", organ, ORGANS)
    stages = float_array("bbch", bbch, low=0.0, high=99.0, nan=True)
    low = float_array("night_min", night_min)
    doubt = float_array("night_sd", night_sd, low=0.0)
    if not 0 < at_least < 1:
        raise BadArgumentError(f"at_least: found {at_least:g}, expected between 0 and 1")
    shape = np.broadcast_shapes(stages.shape, low.shape, doubt.shape)
    stages, low, doubt = (np.broadcast_to(a, shape) for a in (stages, low, doubt))
    known = tuple(frost_thresholds() if thresholds is None else thresholds)
    which = _threshold_of(organ, stages, known)
    harm = _harm(known, which, low, doubt, at_least=at_least)
    withered = (stages >= WITHERED) & (organ == "catkin")
    return harm if not withered.any() else _nothing_to_lose(harm, withered)


def _harm(
    known: tuple[Threshold, ...], which: Ints, low: Floats, doubt: Floats, *, at_least: float
) -> FrostHarm:
    from scipy.special import ndtr, ndtri

    killing, spread = _column(known, which, "killing"), _column(known, which, "spread")
    width = np.maximum(_column(known, which, "width"), 1e-9)
    unsure = np.maximum(np.hypot(spread, doubt), 1e-9)
    margin = killing - low
    watched = np.where(low <= _column(known, which, "watch"), "watch", "none")
    level = np.where(low <= killing, "killing", watched)
    return FrostHarm(
        chance=ndtr((margin - width * ndtri(at_least)) / unsure),
        share=ndtr(margin / np.hypot(unsure, width)),
        share_low=ndtr((margin - NINE_TENTHS * unsure) / width),
        share_high=ndtr((margin + NINE_TENTHS * unsure) / width),
        at_least=at_least,
        level=np.where(which >= 0, level, ""),
        threshold=which,
    )


def _nothing_to_lose(harm: FrostHarm, withered: Bools) -> FrostHarm:
    return replace(
        harm,
        chance=np.where(withered, 0.0, harm.chance),
        share=np.where(withered, 0.0, harm.share),
        share_low=np.where(withered, 0.0, harm.share_low),
        share_high=np.where(withered, 0.0, harm.share_high),
        level=np.where(withered, "none", harm.level),
    )


def _threshold_of(organ: str, bbch: Floats, known: tuple[Threshold, ...]) -> Ints:
    which = np.full(bbch.shape, -1)
    for index, threshold in enumerate(known):
        inside = (bbch >= threshold.first_bbch) & (bbch <= threshold.last_bbch)
        which[inside & (threshold.organ == organ)] = index
    return which


def _column(known: tuple[Threshold, ...], which: Ints, name: str) -> Floats:
    # One more value at the end, where index −1 points: no threshold, nothing known.
    values = np.array([*(getattr(t, name) for t in known), np.nan])
    column: Floats = values[which]
    return column


def frost_night(
    stages: Mapping[str, ArrayLike],
    night_min: ArrayLike,
    *,
    night_sd: ArrayLike = 0.0,
    thresholds: Iterable[Threshold] | None = None,
    at_least: float = 0.1,
) -> dict[str, FrostHarm]:
    """Loss of every organ asked for, each kept apart.

    Parameters
    ----------
    stages : organ → (n,) BBCH stage of each shrub, NaN where not known
    night_min, night_sd, thresholds, at_least : as in `frost_harm`

    Returns
    -------
    dict organ → FrostHarm

    Raises
    ------
    BadArgumentError
        As `frost_harm`.

    Notes
    -----
    Source: as `frost_harm`.
    Valid:  as `frost_harm`.
    Limits: as `frost_harm`.

    Examples
    --------
    >>> night = frost_night({"catkin": [65.0], "shoot": [0.0]}, -6.0)
    >>> {organ: float(harm.chance[0].round(2)) for organ, harm in night.items()}
    {'catkin': 0.08, 'shoot': 0.0}
    """
    known = tuple(frost_thresholds() if thresholds is None else thresholds)
    return {
        organ: frost_harm(
            organ, bbch, night_min, night_sd=night_sd, thresholds=known, at_least=at_least
        )
        for organ, bbch in stages.items()
    }
