"""What the planting stands to lose, and what holds each shrub back."""

from dataclasses import dataclass

import numpy as np
from numba import njit, prange
from numpy.typing import ArrayLike

from nuttery.science.arguments import Floats, Ints, float_array
from nuttery.science.errors import BadArgumentError
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
    short_without : (pairs, 2) donor and receiver of each count in `go_short`, by donor
    """

    mean_cover: Floats
    go_short: Ints
    largest_drop: Floats
    hardest_hit: Ints
    leans_on: Ints
    loss_of_that: Floats
    short_without: Ints


def loss_drill(
    cover: PollenCover,
    *,
    short: float = 0.5,
    told: ArrayLike | None = None,
    least: float = 0.0,
) -> LossDrill:
    """Cover after removing any one shrub, for all shrubs, in one pass.

    Parameters
    ----------
    cover : the season as it is
    short : mark below which a shrub goes short
    told : (n,) covers from which the fall is taken, where they are known better than at the mean
        curves; those of `cover` by default
    least : fall below which a shrub does not count as going short, however near the mark it stood

    Returns
    -------
    LossDrill

    Raises
    ------
    BadArgumentError
        If the mark or the least fall lies outside 0 to 1, or covers told are not one a shrub.

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
    fall = float(float_array("least", least, ndim=0, low=0, high=1))
    n = len(cover.cover)
    known = cover.cover if told is None else np.asarray(told, dtype=np.float64)
    if known.shape != (n,):
        raise BadArgumentError(f"told: found shape {known.shape}, expected ({n},)")
    tally = _Tally(n, mark, max(fall, NOTHING))
    for rows, weights in donor_rows(cover.drift, n):
        strength = weights * cover.catkins
        after = np.empty_like(strength)
        _after_loss(
            cover.dose[rows], cover.receptive[rows], strength, cover.shed, cover.half_dose, after
        )
        tally.add(rows, cover.cover[rows, None] - after, cover.cover[rows], known[rows])
    return tally.result()


NOTHING = 1e-12
"""Fall of a cover below which it is rounding."""


class _Tally:
    """The drill as it grows, one block of receivers after another."""

    def __init__(self, n: int, mark: float, least: float) -> None:
        self.mark, self.least = mark, least
        self.sum, self.fed = np.zeros(n), np.zeros(n, dtype=np.int64)
        self.largest, self.hardest = np.zeros(n), np.full(n, -1)
        self.leans, self.cost = np.full(n, -1), np.zeros(n)
        self.pairs = [np.zeros((0, 2), dtype=np.int64)]

    def add(self, rows: slice, drop: Floats, before: Floats, told: Floats) -> None:
        """Count the falls of a block of receivers (rows) by each donor lost (columns)."""
        receiver = np.arange(rows.start, rows.stop)
        itself = (np.arange(len(drop)), receiver)
        others = np.isfinite(before)[:, None] & np.ones(drop.shape, dtype=np.bool_)
        others[itself] = False
        self.sum += np.where(others, before[:, None] - drop, 0.0).sum(axis=0)
        self.fed += others.sum(axis=0)
        drop = np.where(others & (drop >= NOTHING), drop, 0.0)
        stood = told[:, None] >= self.mark - NOTHING
        newly = stood & (told[:, None] - drop < self.mark - NOTHING) & (drop >= self.least)
        lost, short = np.nonzero(newly.T)
        self.pairs.append(np.column_stack([lost, receiver[short]]))
        worst, most = drop.argmax(axis=0), drop.max(axis=0)
        larger = most > self.largest
        self.largest[larger], self.hardest[larger] = most[larger], receiver[worst[larger]]
        leaning = drop.max(axis=1) > 0
        self.leans[receiver[leaning]] = drop.argmax(axis=1)[leaning]
        self.cost[receiver] = drop.max(axis=1)

    def result(self) -> LossDrill:
        """Everything counted."""
        pairs = np.concatenate(self.pairs)
        pairs = pairs[np.lexsort((pairs[:, 1], pairs[:, 0]))]
        return LossDrill(
            mean_cover=self.sum / np.maximum(self.fed, 1),
            go_short=np.bincount(pairs[:, 0], minlength=len(self.sum)),
            largest_drop=self.largest,
            hardest_hit=self.hardest,
            leans_on=self.leans,
            loss_of_that=self.cost,
            short_without=pairs,
        )


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
NEAR = (4, 5.0)
"""Neighbours, and metres to each, with which no shrub is called far from others: our own mark."""
MOST_TIMES = 1e9
"""Times that the pollen of a shrub far from all others is multiplied at most, to stay finite."""


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
        neighbours' receptive days as heavily as on its own mean day; with others about it as near
        as about the best-placed quarter, or as four at 5 m if that is nearer; with plenty of
        catkins on every shrub.
    Valid:  one limit at a time; two together may matter more than either. Nearness is that of all
        shrubs, whatever they shed and whoever accepts it.

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
    all_accepted = Drift(here.xy, _always, here.kernel, here.wind)
    doses = {
        "compatibility": season_dose(all_accepted, supply),
        "timing": season_dose(here, cover.catkins[:, None] * flat),
        "distance": cover.dose * _nearer(here)[:, None],
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


def _nearer(drift: Drift) -> Floats:
    """Times that pollen about each shrub would be multiplied if others stood near enough, (n,)."""
    about = season_dose(Drift(drift.xy, _always, drift.kernel), np.ones((len(drift.xy), 1)))[:, 0]
    at = float(np.asarray(drift.kernel(np.full((1, 1), NEAR[1])))[0, 0])
    enough = min(NEAR[0], len(about) - 1) * at
    wanted = max(enough, float(np.quantile(about, 0.75))) if about.size else enough
    return np.clip(wanted / np.maximum(about, 1e-100), 1.0, MOST_TIMES)
