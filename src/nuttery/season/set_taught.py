"""What counts of set teach: the dose that meets half of the stigmas, and a little of genotypes."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from nuttery.science.arguments import Floats, Ints
from nuttery.science.pollen import (
    GenotypePosterior,
    HalfDose,
    Kernel,
    PowerKernel,
    WindRose,
    assumed_half_dose,
    fit_half_dose,
    natural_set_hints,
)
from nuttery.science.pollen.dose import Drift
from nuttery.season.past_bloom import RETOLD, PastBloom, past_bloom
from nuttery.season.planting import Planting
from nuttery.season.set_counts import set_counts
from nuttery.season.supply import catkin_supply

DAYS = np.arange(60, 191)
"""Days of year between which pollen may fly or stigmas be out."""
DISTANCE = "pollen.half_dose.distance"
LEAST_SPREAD = 0.3
"""Spread of counts below which none is weighed as evidence of genotypes: doses are not known
exactly."""


@dataclass(frozen=True)
class Stand:
    """Where shrubs with a place stand, and how pollen drifts between them.

    Attributes
    ----------
    xy, rows : (n, 2) m, and (n,) their rows in the walking order of all shrubs
    kernel, wind : drift with distance, and with the wind or None
    """

    xy: Floats
    rows: Ints
    kernel: PowerKernel
    wind: WindRose | None

    def weights_on(self, receivers: Ints) -> Floats:
        """Weight of every shrub's pollen on some, whatever they accept, (receivers, n)."""
        drift = Drift(self.xy, _all, self.kernel, self.wind)
        everyone = slice(0, len(self.xy))
        found = [drift.weight(slice(k, k + 1), everyone)[0] for k in receivers.tolist()]
        return np.vstack(found) if found else np.zeros((0, len(self.xy)))


def _all(seed: slice, pollen: slice) -> Floats:
    return np.ones((seed.stop - seed.start, pollen.stop - pollen.start))


@dataclass(frozen=True)
class SetTaught:
    """What counts of set teach.

    Attributes
    ----------
    half : dose that meets half of the stigmas
    hints : shrub → (pairs,) likelihood of its genotypes, numbered as the shrubs with a place
    counts : counts behind the hints
    """

    half: HalfDose
    hints: dict[int, Floats]
    counts: int


def assumption(planting: Planting, kernel: Kernel) -> HalfDose:
    """Half-dose before there are counts of set: one accepted donor at a distance, as set."""
    shipped = assumed_half_dose(kernel)
    distance = planting.value(DISTANCE).value
    half = float(kernel(np.array([[distance]]))[0, 0])
    scale = half / shipped.half_dose
    return replace(shipped, half_dose=half, low=shipped.low * scale, high=shipped.high * scale)


def set_taught(planting: Planting, stand: Stand, posterior: GenotypePosterior) -> SetTaught:
    """Return the half-dose and hints: from counts of set where there are enough.

    A distance that the grower has set for the half-dose stands, whatever was counted.

    Parameters
    ----------
    planting : the planting as of a day
    stand : shrubs that have a place
    posterior : genotypes as known without these counts, these shrubs first
    """
    before = assumption(planting, stand.kernel)
    own = planting.value(DISTANCE).certainty == "grower's own"
    told = [] if own else list(_years(planting, stand, posterior))
    if not told:
        return SetTaught(before, {}, 0)
    dose, receptive = (np.concatenate([getattr(y, k) for y in told], axis=1) for k in _DRAWN)
    shrub, flowers, clusters, reach = (
        np.concatenate([getattr(y, k) for y in told]) for k in _COUNTED
    )
    year = np.repeat([y.year for y in told], [len(y.shrub) for y in told])
    lots = [planting.shrubs[k].seed_lot or "" for k in stand.rows]
    lot = np.unique(lots, return_inverse=True)[1][shrub]
    half = fit_half_dose(
        dose, receptive, flowers, clusters, before=before, shrub=shrub, lot=lot, year=year
    )
    if half.certainty != "learned":
        return SetTaught(half, {}, 0)
    hints = natural_set_hints(
        posterior,
        shrub.tolist(),
        np.pad(reach, ((0, 0), (0, posterior.probability.shape[0] - reach.shape[1]))),
        flowers,
        clusters,
        half_dose=half.half_dose,
        ceiling=half.ceiling,
        spread=max(half.spread, LEAST_SPREAD),
    )
    return SetTaught(half, hints, len(shrub))


_DRAWN = ("dose", "receptive")
_COUNTED = ("shrub", "flowers", "clusters", "reach")


@dataclass(frozen=True)
class _Year:
    """Counts of one year, and what their shrubs were dosed with in draws of what is unknown."""

    year: int
    shrub: Ints
    flowers: Ints
    clusters: Ints
    dose: Floats
    receptive: Floats
    reach: Floats


@dataclass(frozen=True)
class _Drawn:
    """Draws of what the doses of past blooms rest on: genotypes, and catkins of one score."""

    own: Ints
    shy: Floats
    accepts: Floats


def _drawn(planting: Planting, stand: Stand, posterior: GenotypePosterior) -> _Drawn:
    rng = np.random.default_rng(31)
    own = posterior.draw(RETOLD, rng)[:, : len(stand.rows)]
    doubt = planting.value("pollen.catkins.spread").value
    return _Drawn(own, np.exp(doubt * rng.normal(size=own.shape)), posterior.alphabet.accepts[0])


def _years(planting: Planting, stand: Stand, posterior: GenotypePosterior) -> Iterator[_Year]:
    """Counts year by year, of shrubs that have a place."""
    counts = set_counts(planting)
    if not counts.year.size:
        return
    place = np.full(len(planting.shrubs), -1)
    place[stand.rows] = np.arange(len(stand.rows))
    years = np.unique(counts.year)
    supply = dict(zip(years.tolist(), catkin_supply(planting, years).T, strict=True))
    drawn = _drawn(planting, stand, posterior)
    for past in past_bloom(planting, years.tolist()):
        mine = np.flatnonzero((counts.year == past.year) & (place[counts.shrub] >= 0))
        if mine.size:
            at = place[counts.shrub[mine]]
            dosed = _dosed(stand, past, at, supply[past.year][stand.rows], drawn)
            yield _Year(past.year, at, counts.flowers[mine], counts.clusters[mine], *dosed)


def _dosed(
    stand: Stand, past: PastBloom, at: Ints, catkins: Floats, drawn: _Drawn
) -> tuple[Floats, Floats, Floats]:
    """Doses and stigmas of some shrubs in each draw, and what each donor would give if accepted."""
    weight = stand.weights_on(at)
    doses, stigmas, sheds = [], [], np.zeros((len(catkins), len(DAYS)))
    for k in range(RETOLD):
        shed, receptive = (curve[stand.rows] for curve in past.curves(DAYS, k))
        accepted = drawn.accepts[drawn.own[k, at, None], drawn.own[k, None, :]]
        doses.append((weight * accepted) @ (shed * (catkins * drawn.shy[k])[:, None]))
        stigmas.append(receptive[at])
        sheds += shed / RETOLD
    out = np.mean(stigmas, axis=0)
    daily = out / np.maximum(out.sum(axis=1, keepdims=True), 1e-9)
    return np.stack(doses), np.stack(stigmas), weight * catkins * (daily @ sheds.T)
