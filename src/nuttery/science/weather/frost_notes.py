"""Thresholds of frost learned from the grower's own notes of harm."""

from collections.abc import Iterable
from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike

from nuttery.reference import value
from nuttery.science.arguments import Floats, float_array, same_length
from nuttery.science.errors import BadArgumentError
from nuttery.science.weather.frost import Threshold

WIDTH_FACTORS = np.exp(np.linspace(np.log(0.3), np.log(3.0), 25))
STEPS = 161
NODES, CLOSE_NODES = 9, 81  # of the error of a reading: under few counted organs, and under many
FEW_ORGANS = 8


def learn_threshold(
    threshold: Threshold,
    temps: ArrayLike,
    shares: ArrayLike,
    *,
    notes: ArrayLike | None = None,
    temp_sd: float | None = None,
    weight: float | None = None,
) -> Threshold:
    """A threshold after the grower's notes: lowest temperature of each night, and share lost.

    Parameters
    ----------
    threshold : the one so far; its `killing` and `spread` are the prior
    temps : (n,) °C, lowest temperature at the plants
    shares : (n,) share of the organs lost, 0 to 1
    notes : (n,) how many notes of a night each stands for, as their mean; 1 by default
    temp_sd : °C, how unsure each temperature is; by default `frost.notes.minimum.sd` (assumed)
    weight : how many counted organs a note weighs; by default `frost.notes.weight` (assumed)

    Returns
    -------
    Threshold with `killing`, `spread`, `width` and `watch` moved, `.low` and `.high` the ends of
    its 80 % interval, and `n_records` raised by the notes; unchanged if there are none

    Raises
    ------
    BadArgumentError
        On a gap, a share outside 0 to 1, lengths that differ, fewer than one note, a negative
        `temp_sd`, or a `weight` not above 0.

    Notes
    -----
    Source: probit regression by Bayes' rule on a grid of killing temperature (normal prior) and
        width (log-normal prior, a factor 1.6 either way); a note of share s counts as
        `weight` organs of which s were lost, all at one temperature that was read with an error.
        Finney 1971, Probit Analysis, for the response.
    Valid:  notes of one organ at the stages of the threshold, one planting or one shrub.
    Limits: notes of one night share the error of its reading; give their mean and `notes`.
        `watch` keeps its distance from `killing`.

    Examples
    --------
    >>> from nuttery.science.weather.frost import frost_thresholds
    >>> shedding = next(t for t in frost_thresholds() if t.stage == "shedding")
    >>> learned = learn_threshold(shedding, [-9.0, -10.5, -12.0], [0.0, 0.1, 0.6])
    >>> learned.killing < shedding.killing, learned.spread < shedding.spread, learned.n_records
    (True, True, 3)
    """
    lows = float_array("temps", temps, ndim=1)
    lost = float_array("shares", shares, ndim=1, low=0.0, high=1.0)
    many = np.ones(lows.size) if notes is None else float_array("notes", notes, ndim=1, low=1.0)
    same_length(temps=lows, shares=lost, notes=many)
    doubt = value("frost.notes.minimum.sd").value if temp_sd is None else temp_sd
    worth = value("frost.notes.weight").value if weight is None else weight
    if not (doubt >= 0 and worth > 0):
        raise BadArgumentError(
            f"temp_sd, weight: found {doubt:g}, {worth:g}, expected 0 or more, above 0"
        )
    if lows.size == 0:
        return threshold
    killing, widths = _grid(threshold)
    log = _log_prior(killing, threshold)
    for low, share, weighing in zip(lows, lost, worth * many, strict=True):
        log += _log_likelihood(killing - low, widths, share, doubt=doubt, worth=weighing)
    chance = np.exp(log - log.max())
    chance /= chance.sum()
    middle = float((chance * killing[:, None]).sum())
    spread = float(np.sqrt((chance * (killing[:, None] - middle) ** 2).sum()))
    return replace(
        threshold,
        killing=middle,
        spread=spread,
        width=float((chance * widths).sum()),
        watch=threshold.watch + middle - threshold.killing,
        certainty="learned",
        source=f"own notes of {lows.size} night{'s' * (lows.size > 1)}, from a prior: "
        f"{threshold.source}",
        n_records=threshold.n_records + int(many.sum()),
    )


def _grid(threshold: Threshold) -> tuple[Floats, Floats]:
    reach = 5 * max(threshold.spread, 0.05)
    killing = np.linspace(threshold.killing - reach, threshold.killing + reach, STEPS)
    return killing, threshold.width * WIDTH_FACTORS


def _log_prior(killing: Floats, threshold: Threshold) -> Floats:
    """Log prior of each pair (killing, width), (STEPS, widths)."""
    place = (killing - threshold.killing) / max(threshold.spread, 0.05)
    log: Floats = -0.5 * place[:, None] ** 2 - 0.5 * (np.log(WIDTH_FACTORS) / np.log(1.6)) ** 2
    return log


def _log_likelihood(
    margin: Floats, widths: Floats, share: float, *, doubt: float, worth: float
) -> Floats:
    """Log likelihood of one night, (STEPS, widths); `margin` (STEPS,) is killing less its reading.

    The reading's error is one for all organs of the night, so it is summed over outside.
    """
    from scipy.special import log_ndtr, logsumexp

    if worth <= FEW_ORGANS:
        nodes, weights = np.polynomial.hermite_e.hermegauss(NODES)
    else:
        nodes = np.linspace(-4.0, 4.0, CLOSE_NODES)
        weights = np.exp(-0.5 * nodes**2)
    score = (margin[:, None, None] + doubt * nodes) / widths[:, None]
    log = worth * (share * log_ndtr(score) + (1 - share) * log_ndtr(-score))
    total: Floats = logsumexp(log + np.log(weights), axis=-1)
    return total


def learn_thresholds(
    thresholds: Iterable[Threshold],
    organs: Iterable[str],
    bbch: ArrayLike,
    temps: ArrayLike,
    shares: ArrayLike,
    *,
    nights: Iterable[object] | None = None,
) -> tuple[Threshold, ...]:
    """All thresholds after notes of several organs and stages.

    Parameters
    ----------
    thresholds : as `frost_thresholds()`
    organs : (n,) organ of each note
    bbch : (n,) its stage at the time
    temps : (n,) °C
    shares : (n,) share lost, 0 to 1
    nights : (n,) whatever tells nights apart; by default each note is of a night of its own

    Returns
    -------
    tuple of Threshold in the same order; those without a note of their own are unchanged

    Raises
    ------
    BadArgumentError
        As `learn_threshold`.

    Notes
    -----
    Source: as `learn_threshold`.
    Valid:  as `learn_threshold`.
    Limits: a note moves only the band of its own organ and stage; a note that no band covers moves
        none.

    Examples
    --------
    >>> from nuttery.science.weather.frost import frost_thresholds
    >>> learned = learn_thresholds(frost_thresholds(), ["shoot"], [8], [-3.0], [0.9])
    >>> [t.stage for t in learned if t.n_records]
    ['green tips']
    """
    which = np.array(list(organs), dtype=object)
    stage = float_array("bbch", bbch, ndim=1, low=0.0, high=99.0)
    lows, lost = float_array("temps", temps, ndim=1), float_array("shares", shares, ndim=1)
    night = np.array(range(which.size) if nights is None else [str(night) for night in nights])
    same_length(organs=which, bbch=stage, temps=lows, shares=lost, nights=night)
    learned = []
    for threshold in thresholds:
        own = (stage >= threshold.first_bbch) & (stage <= threshold.last_bbch)
        own &= which == threshold.organ
        _, mine, many = np.unique(night[own], return_inverse=True, return_counts=True)
        temp, share = (np.bincount(mine, of[own]) / many for of in (lows, lost))
        learned.append(learn_threshold(threshold, temp, share, notes=many))
    return tuple(learned)
