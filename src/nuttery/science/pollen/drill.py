"""What the planting stands to lose, and what holds each shrub back."""

from dataclasses import dataclass

import numpy as np
from numba import njit, prange

from nuttery.science.arguments import Floats, Ints, float_array
from nuttery.science.pollen.cover import PollenCover, mean_over_receptive
from nuttery.science.pollen.dose import Drift, donor_rows, season_dose


@dataclass(frozen=True)
class LossDrill:
    """Cover after each shrub in turn is lost.

    Attributes
    ----------
    mean_cover : (n,) mean cover of the others after shrub r is lost (of those ever receptive)
    go_short : (n,) shrubs that fall below the mark when r is lost and were not below it before
    largest_drop : (n,) largest fall of another shrub's cover
    hardest_hit : (n,) which one that is, −1 where none falls
    leans_on : (n,) the donor whose loss costs shrub i most, −1 where none does
    loss_of_that : (n,) what that costs shrub i
    """

    mean_cover: Floats
    go_short: Ints
    largest_drop: Floats
    hardest_hit: Ints
    leans_on: Ints
    loss_of_that: Floats


def loss_drill(cover: PollenCover, *, short: float = 0.5) -> LossDrill:
    """Cover after removing any one shrub, for all shrubs, in one pass.

    Parameters
    ----------
    cover : the season as it is
    short : mark below which a shrub goes short

    Returns
    -------
    LossDrill

    Raises
    ------
    BadArgumentError
        If the mark lies outside 0 to 1.

    Notes
    -----
    Source: ours: a donor's terms are taken from each day's dose and the day is summed anew.
    Valid:  exact; memory O(n · (days + tile)), work n² · days.

    Examples
    --------
    >>> import numpy as np
    >>> from nuttery.science.pollen import pollen_cover
    >>> day = np.ones((3, 1))
    >>> cover = pollen_cover([[0, 0], [0, 9], [9, 0]], day, day, np.ones((3, 3)), [0, 3, 0],
    ...                      kernel=np.ones_like, half_dose=1.0)
    >>> loss_drill(cover).go_short
    array([0, 2, 0])
    """
    mark = float(float_array("short", short, ndim=0, low=0, high=1))
    n = len(cover.cover)
    result = LossDrill(
        np.zeros(n), np.zeros(n, np.int64), np.zeros(n), np.full(n, -1), np.full(n, -1), np.zeros(n)
    )
    ever = ~np.isnan(cover.cover)
    for rows, weights in donor_rows(cover.drift, n):
        strength = weights * cover.catkins
        after = np.empty_like(strength)
        _after_loss(
            cover.dose[rows], cover.receptive[rows], strength, cover.shed, cover.half_dose, after
        )
        _tally(result, after, cover.cover[rows], rows, mark)
    counted = np.maximum(ever.sum() - ever, 1)
    result.mean_cover[:] = result.mean_cover / counted
    return result


def _tally(result: LossDrill, after: Floats, before: Floats, rows: slice, mark: float) -> None:
    """Add one block of receivers to the drill, in place."""
    receiver = np.arange(rows.start, rows.stop)
    after[np.arange(len(after)), receiver] = np.nan
    result.mean_cover[:] += np.nansum(after, axis=0)
    newly = (after < mark - 1e-12) & (before[:, None] >= mark - 1e-12)
    result.go_short[:] += newly.sum(axis=0)
    drop = np.nan_to_num(before[:, None] - after)
    drop[drop < 1e-12] = 0.0
    worst = drop.argmax(axis=0)
    larger = drop.max(axis=0) > result.largest_drop
    result.largest_drop[larger] = drop.max(axis=0)[larger]
    result.hardest_hit[larger] = receiver[worst[larger]]
    leaning = drop.max(axis=1) > 0
    result.leans_on[receiver[leaning]] = drop.argmax(axis=1)[leaning]
    result.loss_of_that[receiver] = drop.max(axis=1)


@njit(cache=True, parallel=True)
def _after_loss(  # noqa: PLR0917 - compiled functions take arguments by place
    dose: Floats, receptive: Floats, strength: Floats, shed: Floats, half: float, after: Floats
) -> None:
    """Cover of each receiver (rows) after losing each donor (columns)."""
    receivers, donors = strength.shape
    days = dose.shape[1]
    for i in prange(receivers):
        total, plain = 0.0, 0.0
        for t in range(days):
            total += receptive[i, t]
            plain += receptive[i, t] * dose[i, t] / (dose[i, t] + half)
        for j in range(donors):
            if total == 0.0:
                after[i, j] = np.nan
            elif strength[i, j] == 0.0:
                after[i, j] = plain / total
            else:
                left = 0.0
                for t in range(days):
                    if receptive[i, t] > 0.0:
                        rest = max(dose[i, t] - strength[i, j] * shed[j, t], 0.0)
                        left += receptive[i, t] * rest / (rest + half)
                after[i, j] = left / total


LIMITS = ("compatibility", "timing", "distance", "catkins")


@dataclass(frozen=True)
class Shortage:
    """Cover with one limit lifted at a time.

    Attributes
    ----------
    cover : (n,) as it is
    lifted : {limit: (n,) cover without that limit}
    """

    cover: Floats
    lifted: dict[str, Floats]

    @property
    def reason(self) -> list[str]:
        """The limit whose lifting would raise each shrub's cover most."""
        table = np.stack([np.nan_to_num(self.lifted[name]) for name in LIMITS])
        return [LIMITS[k] for k in table.argmax(axis=0)]


def shortage(cover: PollenCover, *, plenty: float | None = None) -> Shortage:
    """What holds each shrub's cover back: acceptance, timing, distance, or too few catkins.

    Parameters
    ----------
    cover : the season as it is
    plenty : catkins of a shrub that has plenty, by default the planting's upper quartile

    Returns
    -------
    Shortage

    Raises
    ------
    BadArgumentError
        If `plenty` is negative.

    Notes
    -----
    Source: ours: the same sum with all pollen accepted; with every shrub in shed on each of its
        neighbours' receptive days as heavily as on its own mean day; with all weights as at 5 m;
        with plenty of catkins on every shrub.
    Valid:  one limit at a time; two together may matter more than either.

    Examples
    --------
    >>> import numpy as np
    >>> from nuttery.science.pollen import pollen_cover
    >>> day = np.ones((2, 1))
    >>> cover = pollen_cover([[0, 0], [0, 9]], day, day, np.zeros((2, 2)), [1, 1],
    ...                      kernel=np.ones_like, half_dose=1.0)
    >>> shortage(cover).reason
    ['compatibility', 'compatibility']
    """
    usual = np.quantile(cover.catkins, 0.75) if plenty is None and len(cover.catkins) else plenty
    many = np.maximum(cover.catkins, float(float_array("plenty", usual or 0.0, ndim=0, low=0)))
    here, supply = cover.drift, cover.catkins[:, None] * cover.shed
    flat = np.repeat(_mean_shed(cover)[:, None], cover.shed.shape[1], axis=1)
    near = Drift(here.xy, here.compatibility, _as_at_five_metres(cover), None)
    all_accepted = Drift(here.xy, _always, here.kernel, here.wind)
    doses = {
        "compatibility": season_dose(all_accepted, supply),
        "timing": season_dose(here, cover.catkins[:, None] * flat),
        "distance": season_dose(near, supply),
        "catkins": season_dose(here, many[:, None] * cover.shed),
    }
    lifted = {
        name: mean_over_receptive(dose / (dose + cover.half_dose), cover.receptive)
        for name, dose in doses.items()
    }
    return Shortage(cover.cover, lifted)


def _mean_shed(cover: PollenCover) -> Floats:
    """Each shrub's shed on its mean day of shedding."""
    days = (cover.shed > 0).sum(axis=1)
    mean: Floats = cover.shed.sum(axis=1) / np.maximum(days, 1)
    return mean


def _always(seed: slice, pollen: slice) -> Floats:
    return np.ones((seed.stop - seed.start, pollen.stop - pollen.start))


class _as_at_five_metres:  # noqa: N801 - reads as a function where it is used
    """Kernel that gives each distance the weight of 5 m, unless it lies nearer already."""

    def __init__(self, cover: PollenCover) -> None:
        self.kernel = cover.drift.kernel

    def __call__(self, distance_m: Floats) -> Floats:
        """Weights of the same shape as the distances."""
        return self.kernel(np.minimum(distance_m, 5.0))
