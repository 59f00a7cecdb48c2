"""Pollen: who feeds whom, who goes short and why, and on whom many depend."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

import numpy as np

from nuttery.records import CatkinsScored
from nuttery.science.arguments import Floats, Ints
from nuttery.science.pollen import PollenCover, PowerKernel, pollen_cover
from nuttery.science.pollen.drill import loss_drill
from nuttery.season.bloom import bloom
from nuttery.season.errors import NotEnoughKnown
from nuttery.season.estimate import day_of
from nuttery.season.line import Line
from nuttery.season.lineage import family, genotypes
from nuttery.season.planting import Planting

CHIEF = 4
"""Donors told for each shrub."""
LEAST_GAIN = 0.1
"""A reason is named where mending it would lift the cover by so much."""
MANY = 3
"""Shrubs that must go short by one loss before it is worth a line."""


@dataclass(frozen=True)
class PollenOutlook:
    """Pollen of the season, one row a shrub with a place, in walking order.

    Attributes
    ----------
    year : season
    tags : (n,)
    cover : (n,) share of the receptive season in which pollen that it accepts is taken; NaN where
        no stigmas are expected
    short : mark below which a shrub is called short
    donors : (n, CHIEF) rows of its chief donors, -1 where there are fewer
    donor_share : (n, CHIEF) their shares of the useful pollen
    accepts : (n, CHIEF) probability that each one's pollen is accepted
    reason : (n,) why it is short: "compatibility", "timing", "distance or catkins", or ""
    if_lost : (n,) shrubs that would go short if this one were lost
    leans_on : (n,) donor whose loss would cost it most, -1 for none
    exact : whether genotypes were summed exactly
    known_genotypes, crosses : evidence behind it
    """

    year: int
    tags: tuple[str, ...]
    cover: Floats
    short: float
    donors: Ints
    donor_share: Floats
    accepts: Floats
    reason: tuple[str, ...]
    if_lost: Ints
    leans_on: Ints
    exact: bool
    known_genotypes: int
    crosses: int


def pollen(planting: Planting) -> PollenOutlook:
    """Return who feeds whom this season.

    Raises
    ------
    NotEnoughKnown
        If fewer than two shrubs have a place, or the weather allows no forecast of bloom.
    """
    return planting.remembered("pollen", lambda: _pollen(planting))


def _pollen(planting: Planting) -> PollenOutlook:
    rows = np.array(
        [k for k, s in enumerate(planting.shrubs) if s.x is not None and s.y is not None]
    )
    if rows.size < 2:
        raise NotEnoughKnown("fewer than two shrubs have a place, so no pollen can be reckoned")
    told = family(planting)
    posterior = genotypes(told)
    compatible = _Accepted(posterior.compatibility_block, rows)
    cover = _cover(planting, rows, compatible)
    mark = planting.value("pollen.short").value
    drill = loss_drill(cover, short=mark)
    donors, shares = _chief(cover)
    accepts = np.array([compatible.row(k)[np.maximum(d, 0)] for k, d in enumerate(donors)])
    return PollenOutlook(
        year=bloom(planting).year,
        tags=tuple(planting.shrubs[k].tag for k in rows),
        cover=cover.cover,
        short=mark,
        donors=donors,
        donor_share=shares,
        accepts=np.where(donors < 0, 0.0, accepts),
        reason=_reasons(cover, mark),
        if_lost=drill.go_short,
        leans_on=drill.leans_on,
        exact=posterior.exact,
        known_genotypes=len(told.known),
        crosses=len(told.crosses),
    )


class _Accepted:
    """Probabilities of acceptance between shrubs with a place, a block at a time."""

    def __init__(self, block: object, rows: Ints) -> None:
        self._block = block
        self._rows = rows
        self._whole = bool((rows == np.arange(rows.size)).all())

    def __call__(self, seed: slice, pollen: slice) -> Floats:
        if self._whole:
            return self._block(seed, pollen)  # type: ignore[operator, no-any-return]
        first, last = (
            self._rows[[seed.start, pollen.start]],
            self._rows[[seed.stop - 1, pollen.stop - 1]],
        )
        block = self._block(slice(first[0], last[0] + 1), slice(first[1], last[1] + 1))  # type: ignore[operator]
        mine: Floats = block[np.ix_(self._rows[seed] - first[0], self._rows[pollen] - first[1])]
        return mine

    def row(self, k: int) -> Floats:
        """What shrub k accepts of every other."""
        accepted: Floats = self(slice(k, k + 1), slice(0, self._rows.size))[0]
        return accepted


def _cover(planting: Planting, rows: Ints, compatible: _Accepted) -> PollenCover:
    outlook = bloom(planting)
    days = outlook.receptive[rows].sum(axis=0) + outlook.shed[rows].sum(axis=0) > 0.01
    xy = np.array([(planting.shrubs[k].x, planting.shrubs[k].y) for k in rows], dtype=np.float64)
    kernel = PowerKernel()
    distance = planting.value("pollen.half_dose.distance").value
    return pollen_cover(
        xy,
        outlook.shed[np.ix_(rows, days)],
        outlook.receptive[np.ix_(rows, days)],
        compatible,
        _catkins(planting, outlook.year)[rows],
        kernel=kernel,
        half_dose=float(kernel(np.array([distance]))[0]),
    )


def _catkins(planting: Planting, year: int) -> Floats:
    """Catkins of each shrub as a multiple of a shrub with some; 1 where not scored."""
    worth = {
        "none": 0.0,
        "few": planting.value("pollen.catkins.few").value,
        "some": 1.0,
        "many": planting.value("pollen.catkins.many").value,
    }
    place = {shrub.tag: k for k, shrub in enumerate(planting.shrubs)}
    supply = np.ones(len(planting.shrubs))
    for note in planting.notes(CatkinsScored, since=date(year - 1, 7, 1)):
        if note.shrub in place and note.score is not None:
            supply[place[note.shrub]] = worth[note.score]
    return supply


def _chief(cover: PollenCover) -> tuple[Ints, Floats]:
    """Rows and shares of each shrub's chief donors, the greatest first."""
    n = len(cover.cover)
    donors, shares = np.full((n, CHIEF), -1), np.zeros((n, CHIEF))
    for k in np.flatnonzero(~np.isnan(cover.cover)):
        share = cover.useful_share_of_donor(int(k))
        best = np.argsort(-share, kind="stable")[:CHIEF]
        best = best[share[best] > 0.001]
        donors[k, : best.size], shares[k, : best.size] = best, share[best]
    return donors, shares


def _reasons(cover: PollenCover, mark: float) -> tuple[str, ...]:
    """What holds each short shrub back most: the change that would lift its cover most."""
    flying = cover.shed.sum(axis=0)
    in_time = cover.taken @ (flying / max(flying.sum(), 1e-9))
    gains = np.column_stack([_if_all_accepted(cover), in_time]) - cover.cover[:, None]
    told = []
    for found, gain in zip(cover.cover, gains, strict=True):
        if np.isnan(found) or found >= mark:
            told.append("")
        elif gain.max() < LEAST_GAIN:
            told.append("distance or catkins")
        else:
            told.append(("compatibility", "timing")[int(gain.argmax())])
    return tuple(told)


def _if_all_accepted(cover: PollenCover) -> Floats:
    """Cover if every shrub accepted every other's pollen."""
    return pollen_cover(
        cover.drift.xy,
        cover.shed,
        cover.receptive,
        lambda seed, pollen: np.ones((seed.stop - seed.start, pollen.stop - pollen.start)),
        cover.catkins,
        kernel=cover.drift.kernel,
        half_dose=cover.half_dose,
        wind=cover.drift.wind,
    ).cover


def lines(planting: Planting, until: date) -> Iterable[Line]:
    """Name the shrubs short of pollen this season, and those on whom many depend."""
    outlook = pollen(planting)
    if planting.on.month > 6:
        return
    out = bloom(planting).of("pistillate_withered")
    known = {tag: k for k, tag in enumerate(bloom(planting).tags)}
    for k in np.flatnonzero(outlook.cover < outlook.short):
        tag = outlook.tags[k]
        last = out.high[known[tag]]
        ends = until if np.isnan(last) else min(until, day_of(outlook.year, float(last)))
        if ends >= planting.on:
            yield _short(planting, outlook, int(k), ends)
    yield from _leant_on(planting, outlook, until)


ACTS = {
    "compatibility": "Bring pollen by hand from outside its kin, or plan a new donor near it",
    "timing": "Bring stored or later pollen by hand while its stigmas are out",
    "distance or catkins": "Shake or hang in shedding catkins of an accepted donor",
}


def _short(planting: Planting, outlook: PollenOutlook, k: int, ends: date) -> Line:
    donors = [
        f"{outlook.tags[d]} ({share:.0%} of its pollen, accepted with {chance:.0%})"
        for d, share, chance in zip(
            outlook.donors[k], outlook.donor_share[k], outlook.accepts[k], strict=True
        )
        if d >= 0
    ]
    fed = f"chiefly fed by {', '.join(donors[:3])}" if donors else "no donor reaches it"
    sure = "genotypes are inferred from lineage" if not outlook.known_genotypes else "some tested"
    return Line(
        key=f"pollen:short:{outlook.tags[k]}",
        subject="pollen",
        act=ACTS[outlook.reason[k]],
        shrubs=(outlook.tags[k],),
        first=planting.on,
        last=ends,
        why=f"pollen is taken in {outlook.cover[k]:.0%} of its receptive season, below "
        f"{outlook.short:.0%}; held back by {outlook.reason[k]}; {fed}",
        sure="a guess",
        sure_why=f"{sure}, {outlook.crosses} test crosses; drift was measured on another tree",
        waits="fewer clusters set on it this year",
        weight=float(outlook.short - outlook.cover[k]),
        rests_on=(("drift with distance", "power 1.535", "inferred"),),
    )


def _leant_on(planting: Planting, outlook: PollenOutlook, until: date) -> Iterable[Line]:
    """The donors whose loss would leave most shrubs short."""
    for k in np.argsort(-outlook.if_lost, kind="stable")[:3]:
        lost = int(outlook.if_lost[k])
        if lost < MANY:
            return
        yield Line(
            key=f"pollen:leans:{outlook.tags[k]}",
            subject="pollen",
            act=f"Guard this donor, and layer or plant another like it: {lost} shrubs lean on it",
            shrubs=(outlook.tags[k],),
            first=planting.on,
            last=until,
            why=f"if {outlook.tags[k]} were lost, {lost} more shrubs would fall below "
            f"{outlook.short:.0%} of their receptive season",
            sure="a guess",
            sure_why="genotypes are inferred from lineage",
            waits="nothing this season; a hard winter may take it",
            weight=float(lost),
        )
