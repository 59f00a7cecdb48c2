"""Pollen: who feeds whom, who goes short and why, and on whom many depend."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from nuttery.science.arguments import Floats, Ints
from nuttery.science.pollen import HalfDose, PollenCover, loss_drill, shortage
from nuttery.science.pollen.dose import donor_rows
from nuttery.season.estimate import Estimate
from nuttery.season.hand_pollen import HandPollen, hand_pollen
from nuttery.season.line import Line
from nuttery.season.lineage import crosses_used
from nuttery.season.planting import Planting
from nuttery.season.pollen_field import PollenField, drawn_covers, pollen_field
from nuttery.season.pollen_wind import PollenWind
from nuttery.season.watch import QUIET, Watch
from nuttery.season.words import chance_told

CHIEF = 4
"""Donors told for each shrub."""
LEAST_SHARE = 0.001
"""Share of the useful pollen below which a donor is not told."""
REASONS = {
    "compatibility": "pollen refused",
    "timing": "none in time",
    "distance": "donors too far",
    "catkins": "too few catkins",
    "unknown": "not known yet",
    "": "",
}
"""Reasons of a shortage, in a word or two."""
LEAST_LOSS = 0.01
"""Share of a receptive season that a lost donor must cost before a shrub is said to go short by
it; nearer the mark than that, any loss would do."""
UNDECIDED = (0.25, 0.75)
"""Chance of being short between which nobody can say whether acceptance is what it lacks."""


@dataclass(frozen=True)
class PollenOutlook:
    """Pollen of the season, one row a shrub with a place, in walking order.

    Attributes
    ----------
    year, on : season, and the day as of which it is told
    tags : (n,)
    xy : (n, 2) metres east and north
    cover : (n,) share of the receptive season in which pollen that it accepts is taken, mean over
        draws of genotypes, bloom and dose; NaN where no stigmas are expected
    low, high : (n,) 80 % interval of the cover over these draws
    chance_short : (n,) share of draws in which the cover is below the mark
    short : mark below which a shrub is called short
    donors : (n, CHIEF) rows of its chief donors, -1 where there are fewer
    donor_share : (n, CHIEF) their shares of the useful pollen
    accepts, accepts_at_most : (n, CHIEF) probability that each one's pollen is accepted; two
        numbers where it hangs on an order of dominance that is not known
    reason : (n,) why it is short: "compatibility", "timing", "distance", "catkins", "unknown"
        (it hangs on genotypes that nobody knows yet), or "" where it is not
    if_lost : (n,) shrubs that would go short if this one were lost
    short_without : (pairs, 2) rows of the lost one and of a shrub that would go short
    leans_on : (n,) donor whose loss would cost it most, -1 for none
    loss : (n,) cover that this would cost it
    short_rows : (s,) rows of the shrubs that are short, the shortest first
    by_hand : pollen brought by hand to each of these
    catkins : (n,) living catkins, as a multiple of a shrub with some
    half_dose : dose that meets half of the stigmas, learned from counts of set or assumed
    exact : whether genotypes were summed exactly
    error : largest standard error of a chance of acceptance, where they were drawn
    known_genotypes, crosses : evidence behind it
    crosses_left_out : counted crosses that hang on an order of dominance that is not known
    hinted : counts of set weighed as weak evidence of genotypes
    wind : that carries the pollen
    draws : draws behind the interval
    """

    year: int
    on: date
    tags: tuple[str, ...]
    xy: Floats
    cover: Floats
    low: Floats
    high: Floats
    chance_short: Floats
    short: float
    donors: Ints
    donor_share: Floats
    accepts: Floats
    accepts_at_most: Floats
    reason: tuple[str, ...]
    if_lost: Ints
    short_without: Ints
    leans_on: Ints
    loss: Floats
    short_rows: Ints
    by_hand: HandPollen
    catkins: Floats
    half_dose: HalfDose
    exact: bool
    error: float
    known_genotypes: int
    crosses: int
    crosses_left_out: int
    hinted: int
    wind: PollenWind
    draws: int

    def one(self, tag: str) -> "PollenOf":
        """What is told of one shrub."""
        if tag not in self.tags:
            return PollenOf(tag, None, 0.0, "", (), "", 0.0, 0, ())
        k = self.tags.index(tag)
        chances = zip(self.accepts[k], self.accepts_at_most[k], strict=True)
        fed = zip(self.donors[k].tolist(), self.donor_share[k], chances, strict=True)
        cover = Estimate(float(self.cover[k]), float(self.low[k]), float(self.high[k]))
        return PollenOf(
            tag=tag,
            cover=None if np.isnan(self.cover[k]) else cover,
            chance_short=float(self.chance_short[k]),
            reason=self.reason[k],
            donors=tuple(
                Donor(self.tags[d], float(share), float(at), float(most), float(self.catkins[d]))
                for d, share, (at, most) in fed
                if d >= 0
            ),
            leans_on="" if self.leans_on[k] < 0 else self.tags[self.leans_on[k]],
            loss=float(self.loss[k]),
            if_lost=int(self.if_lost[k]),
            short_without_it=self.without(k),
        )

    def without(self, k: int) -> tuple[str, ...]:
        """Shrubs that would go short if the one of row k were lost, in walking order."""
        mine = self.short_without[:, 0] == k
        return tuple(self.tags[i] for i in self.short_without[mine, 1])


@dataclass(frozen=True)
class Donor:
    """A donor of a shrub.

    Attributes
    ----------
    tag : which
    share : of the shrub's useful pollen
    accepted, accepted_at_most : chance that the shrub accepts it; two numbers where it hangs on an
        order of dominance that is not known
    catkins : it bears, as a multiple of a shrub with some
    """

    tag: str
    share: float
    accepted: float
    accepted_at_most: float
    catkins: float

    @property
    def accepted_told(self) -> str:
        """The chance of being accepted in words."""
        return chance_told(self.accepted, self.accepted_at_most)


@dataclass(frozen=True)
class PollenOf:
    """Pollen of one shrub.

    Attributes
    ----------
    tag : which
    cover : share of its receptive season in which accepted pollen is taken; None without stigmas
    chance_short : chance that this is below the mark
    reason : what holds it back, or ""
    donors : its chief donors
    leans_on, loss : donor whose loss would cost it most, and how much cover
    if_lost : shrubs that would go short without this one
    short_without_it : their tags, in walking order
    """

    tag: str
    cover: Estimate | None
    chance_short: float
    reason: str
    donors: tuple[Donor, ...]
    leans_on: str
    loss: float
    if_lost: int
    short_without_it: tuple[str, ...]


@dataclass(frozen=True)
class PollenByDay:
    """Pollen taken day by day, shrubs as in the outlook.

    Attributes
    ----------
    days : (days,) day of year
    taken : (n, days) share of open stigmas that are met, at the mean curves and chances
    """

    days: Ints
    taken: NDArray[np.float32]


def pollen_by_day(planting: Planting) -> PollenByDay:
    """Return pollen taken day by day; kept with the outlook.

    Raises
    ------
    NotEnoughKnown
        If no pollen can be reckoned.
    """
    return planting.remembered("pollen by day", lambda: _by_day(pollen_field(planting)))


def _by_day(field: PollenField) -> PollenByDay:
    return PollenByDay(field.days, field.mean.taken.astype(np.float32))


def pollen(planting: Planting, watch: Watch = QUIET) -> PollenOutlook:
    """Return who feeds whom this season.

    Parameters
    ----------
    planting : the planting as of a day
    watch : whom to tell how far it has come

    Raises
    ------
    NotEnoughKnown
        If fewer than two shrubs have a place, or the weather allows no forecast of bloom.
    """
    return planting.remembered("pollen", lambda: _pollen(planting, watch))


def _pollen(planting: Planting, watch: Watch) -> PollenOutlook:
    field = pollen_field(planting, watch)
    planting.remembered("pollen by day", lambda: _by_day(field))
    mark = planting.value("pollen.short").value
    least = np.stack(list(drawn_covers(planting, field, watch=watch)))
    most = least
    if not field.posterior.order_settles:
        most = np.stack(list(drawn_covers(planting, field, at_most=True, watch=watch)))
    cover, low, high, chance = _over_draws(least, most, mark)
    watch.progress("asking what each loss would cost")
    drill = loss_drill(field.mean, short=mark, told=cover, least=LEAST_LOSS)
    donors, shares = _chief(field.mean)
    order = np.argsort(cover, kind="stable")
    rows = order[cover[order] < mark]
    return PollenOutlook(
        year=field.year,
        on=planting.on,
        tags=field.tags,
        xy=field.mean.drift.xy,
        cover=cover,
        low=low,
        high=high,
        chance_short=chance,
        short=mark,
        donors=donors,
        donor_share=shares,
        accepts=_chances(field.accepted, donors),
        accepts_at_most=_chances(field.accepted_at_most, donors),
        reason=_reasons(field.mean, cover, chance, mark),
        if_lost=drill.go_short,
        short_without=drill.short_without,
        leans_on=drill.leans_on,
        loss=drill.loss_of_that,
        short_rows=rows,
        by_hand=hand_pollen(field, rows),
        catkins=field.mean.catkins,
        half_dose=field.half,
        exact=field.posterior.exact,
        error=field.posterior.pair_error,
        known_genotypes=len(field.told.known),
        crosses=len(used := crosses_used(field.told)),
        crosses_left_out=len(field.told.crosses) - len(used),
        hinted=field.hinted,
        wind=field.wind,
        draws=len(least),
    )


def _over_draws(least: Floats, most: Floats, mark: float) -> tuple[Floats, Floats, Floats, Floats]:
    """Mean, interval and chance of being short; NaN where stigmas are out in few draws.

    Where an order of dominance is open, the interval reaches from the low end of the least cover to
    the high end of the most, and mean and chance stand in the middle between both.
    """
    told = np.isfinite(least).mean(axis=0) >= 0.5
    mean, low, high, short = (np.full(least.shape[1], np.nan) for _ in range(4))
    worst, best = least[:, told], most[:, told]
    mean[told] = (np.nanmean(worst, axis=0) + np.nanmean(best, axis=0)) / 2
    low[told], high[told] = np.nanquantile(worst, 0.1, axis=0), np.nanquantile(best, 0.9, axis=0)
    shares = [(one < mark).sum(axis=0) / np.isfinite(one).sum(axis=0) for one in (worst, best)]
    short[told] = (shares[0] + shares[1]) / 2
    return mean, low, high, short


def _chief(cover: PollenCover) -> tuple[Ints, Floats]:
    """Rows and shares of each shrub's chief donors, the greatest first."""
    n = len(cover.cover)
    donors, shares = np.full((n, CHIEF), -1), np.zeros((n, CHIEF))
    for rows, weights in donor_rows(cover.drift, n):
        useful = weights * cover.catkins * (cover.receptive[rows] @ cover.shed.T)
        whole = useful.sum(axis=1, keepdims=True)
        share = np.divide(useful, whole, out=np.zeros_like(useful), where=whole > 0)
        most = share if n <= CHIEF else np.partition(share, n - CHIEF, axis=1)[:, n - CHIEF :]
        for k, mine, least in zip(
            range(rows.start, rows.stop), share, most.min(axis=1), strict=True
        ):
            able = np.flatnonzero((mine >= least) & (mine > LEAST_SHARE))
            best = able[np.argsort(-mine[able], kind="stable")][:CHIEF]
            donors[k, : best.size], shares[k, : best.size] = best, mine[best]
    return donors, shares


def _chances(accepted: Callable[[int], Floats], donors: Ints) -> Floats:
    """Chance that each of its chief donors is accepted, 0 where there is none."""
    found = np.zeros(donors.shape)
    for k, mine in enumerate(donors):
        some = mine >= 0
        if some.any():
            found[k, some] = accepted(k)[mine[some]]
    return found


def _reasons(season: PollenCover, cover: Floats, chance: Floats, mark: float) -> tuple[str, ...]:
    """What holds each short shrub back most: the limit whose lifting would help it most."""
    if not (cover < mark).any():
        return ("",) * len(cover)
    told = []
    plenty = max(1.0, float(np.quantile(season.catkins, 0.75)))
    held = shortage(season, plenty=plenty).reason
    for reason, found, short in zip(held, cover, chance, strict=True):
        undecided = reason == "compatibility" and UNDECIDED[0] < short < UNDECIDED[1]
        is_short = not np.isnan(found) and found < mark
        told.append(("unknown" if undecided else reason) if is_short else "")
    return tuple(told)


def lines(planting: Planting, until: date) -> Iterable[Line]:
    """Name the shrubs short of pollen and what helps them; out of season, what to plant or test."""
    from nuttery.season.pollen_lines import lines as told

    return told(planting, until)
