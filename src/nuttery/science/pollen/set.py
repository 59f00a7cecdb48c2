"""From dose to set: the half-dose from a planting's own counts of clusters."""

from dataclasses import dataclass, replace
from statistics import NormalDist
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from nuttery.reference import value
from nuttery.science.arguments import (
    Floats,
    Ints,
    float_array,
    int_array,
    refuse_where,
    same_length,
)
from nuttery.science.errors import BadArgumentError
from nuttery.science.pollen.cover import mean_over_receptive
from nuttery.science.pollen.kernels import Kernel
from nuttery.science.pollen.set_fit import CHANCES, SPREADS, SetPrior, SetRecords, set_chain

ENOUGH = 12  # records, below which the assumption stands
GRID = 61
ASSUMED_FACTOR = 10.0
GRID_ENDS = 1000.0
GROUPINGS = ("shrub", "lot", "year")


@dataclass(frozen=True)
class HalfDose:
    """Dose at which half of the stigmas are met, and how sure that is.

    Attributes
    ----------
    half_dose, low, high : in the unit of the doses
    ceiling : share of clusters that set when pollen is plentiful
    spread : how much more records differ than chance alone would have it, 0..1
    n_records : records it rests on
    certainty : "learned" from set counts, or "assumed" before there are enough
    """

    half_dose: float
    low: float
    high: float
    ceiling: float
    spread: float
    n_records: int
    certainty: Literal["learned", "assumed"]


def assumed_half_dose(kernel: Kernel, catkins: float = 1.0) -> HalfDose:
    """Half-dose before a planting has counts of its own: a labelled assumption.

    Parameters
    ----------
    kernel : weight by distance
    catkins : of an ordinary donor, in the unit of `pollen_cover`

    Returns
    -------
    HalfDose, `certainty` "assumed", with an interval of a tenth to ten times

    Raises
    ------
    BadArgumentError
        If catkins are not above 0.

    Notes
    -----
    Source: our assumption: one accepted ordinary donor in full shed at the farthest distance
        that planting rules allow (20 m) meets half of the stigmas on a day. Assumed.
    Valid:  ranking shrubs of one planting; not for a yield.

    Examples
    --------
    >>> from nuttery.science.pollen import PowerKernel
    >>> round(assumed_half_dose(PowerKernel()).half_dose, 3)
    0.119
    """
    ordinary = float(float_array("catkins", catkins, ndim=0, low=1e-12))
    distance = np.array([[value("pollen.half_dose.distance").value]])
    half = ordinary * float(kernel(distance)[0, 0])
    ceiling = value("pollen.set.ceiling").value
    low, high = half / ASSUMED_FACTOR, half * ASSUMED_FACTOR
    return HalfDose(half, low, high, ceiling, np.nan, 0, "assumed")


def fit_half_dose(
    dose: ArrayLike,
    receptive: ArrayLike,
    clusters: ArrayLike,
    took: ArrayLike,
    *,
    before: HalfDose,
    shrub: ArrayLike | None = None,
    lot: ArrayLike | None = None,
    year: ArrayLike | None = None,
    coverage: float = 0.8,
    rng: np.random.Generator | None = None,
) -> HalfDose:
    """Half-dose from a planting's own counts of female clusters that set.

    Parameters
    ----------
    dose : (m, days) dose of each counted shrub and year, from `pollen_cover`; or (draws, m, days),
        draws of it where genotypes, dates or catkins are not known
    receptive : as dose, in 0..1
    clusters : (m,) clusters looked at
    took : (m,) of them that set
    before : what to answer while there are too few records, and the belief that counts then move
    shrub, lot, year : (m,) labels; if left out, each record is of a shrub of its own, all of one
        lot and of one year
    coverage : share of the belief within low..high
    rng : source of randomness, the same each time if left out

    Returns
    -------
    HalfDose; `before`, with its number of records, below 12 records

    Raises
    ------
    BadArgumentError
        If lengths differ, or counts are impossible.

    Notes
    -----
    Source: ours. took ~ beta-binomial(clusters, ceiling · expected cover), the mean over draws and
        receptive days of d/(d + half_dose), d the dose times what shrub, lot and year add to it.
        Half-dose log-normal as `before` has it, ceiling ± 0.15. Expected covers are drawn
        together towards their mean by an unknown part, as doses reckoned with error differ more
        between shrubs than true ones do in set (regression calibration, Carroll et al. 2006,
        Measurement Error in Nonlinear Models, ch. 4). The sampler is `set_chain`'s.
    Valid:  draws of the dose made without these counts.
    Limits: where all shrubs are fed alike, counts tell half-dose and ceiling only together; what
        `before` says of the ceiling then parts them, and the interval is wide.

    Examples
    --------
    >>> from nuttery.science.pollen import PowerKernel
    >>> fit_half_dose(np.ones((1, 2)), np.ones((1, 2)), [10], [4],
    ...               before=assumed_half_dose(PowerKernel())).certainty
    'assumed'
    """
    doses, out = _drawn(dose, receptive)
    seen = int_array("clusters", clusters, ndim=1, low=1)
    sets = int_array("took", took, ndim=1, low=0)
    m = same_length(dose=doses[0], receptive=out[0], clusters=seen, took=sets)
    labels = _labels(m, shrub=shrub, lot=lot, year=year)
    share = float(float_array("coverage", coverage, ndim=0, low=0.01, high=0.999))
    refuse_where("took", sets, sets > seen, "at most the clusters looked at")
    useful = (doses * out).sum(axis=(0, 2)) > 0
    if useful.sum() < ENOUGH:
        return replace(before, n_records=m)
    told = _records(doses[:, useful], out[:, useful], seen[useful], sets[useful])
    groups = [np.unique(row, return_inverse=True)[1] for row in labels[:, useful]]
    kept = set_chain(
        replace(told, groups=np.stack(groups)),
        _prior(before),
        np.random.default_rng(0) if rng is None else rng,
    )
    low, middle, high = np.exp(np.quantile(kept[:, 0], [(1 - share) / 2, 0.5, (1 + share) / 2]))
    return HalfDose(
        half_dose=float(middle),
        low=float(low),
        high=float(high),
        ceiling=float(kept[:, 1].mean()),
        spread=float(kept[:, 2].mean()),
        n_records=int(useful.sum()),
        certainty="learned",
    )


def _labels(m: int, **given: ArrayLike | None) -> Ints:
    """Labels of shrub, lot and year, (3, m)."""
    found = []
    for name, label in given.items():
        if label is None:
            found.append(np.arange(m) if name == "shrub" else np.zeros(m, dtype=np.int64))
        else:
            found.append(int_array(name, label, ndim=1))
            same_length(took=np.empty(m), **{name: found[-1]})
    return np.stack(found)


def _drawn(dose: ArrayLike, receptive: ArrayLike) -> tuple[Floats, Floats]:
    """Draws of doses and of stigmas, one draw if there are no more."""
    doses, out = (
        float_array("dose", dose, low=0),
        float_array("receptive", receptive, low=0, high=1),
    )
    if doses.ndim not in {2, 3} or doses.shape != out.shape:
        raise BadArgumentError(
            f"receptive: found shape {out.shape}, expected that of dose, {doses.shape}, "
            "which is (records, days) or (draws, records, days)"
        )
    return (doses, out) if doses.ndim == 3 else (doses[None], out[None])


def _records(doses: Floats, out: Floats, clusters: Ints, took: Ints) -> SetRecords:
    """Expected cover by half-dose, and likelihood of each count by spread and chance."""
    middle = np.log(np.median((doses * out).sum(axis=(0, 2)) / out.sum(axis=(0, 2))))
    logs = middle + np.linspace(-1, 1, GRID) * np.log(GRID_ENDS)
    halves = np.exp(logs)
    cover = [np.nanmean(mean_over_receptive(doses / (doses + h), out), axis=0) for h in halves]
    angle = np.linspace(0, np.pi / 2, CHANCES)
    chance = np.clip(np.sin(angle) ** 2, 1e-6, 1 - 1e-6)
    counts = (took[:, None, None], clusters[:, None, None])
    return SetRecords(
        cover=np.stack(cover, axis=1),
        log_likelihood=log_beta_binomial(*counts, chance, SPREADS[:, None]),
        groups=np.zeros((0, len(took)), dtype=np.int64),
        first=float(logs[0]),
        step=float(logs[1] - logs[0]),
    )


def _prior(before: HalfDose) -> SetPrior:
    """What is believed before any count."""
    return SetPrior(
        log_half=float(np.log(before.half_dose)),
        log_half_sd=float(np.log(before.high / before.low) / (2 * NormalDist().inv_cdf(0.9))),
        ceiling=before.ceiling,
        group_sd=np.array([value(f"pollen.set.{group}_sd").value for group in GROUPINGS]),
    )


def log_beta_binomial(took: Ints, clusters: Ints, chance: Floats, spread: Floats | float) -> Floats:
    """Log probability of counts that vary more than chance alone.

    Parameters
    ----------
    took, clusters : counts
    chance : mean share, within 0..1
    spread : correlation between clusters of one shrub, within 0..1

    Returns
    -------
    broadcast shape of the arguments

    Notes
    -----
    Source: beta-binomial distribution, a = p(1 − ρ)/ρ, b = (1 − p)(1 − ρ)/ρ (Skellam 1948).
    Valid:  0 < p < 1, 0 < ρ < 1.

    Examples
    --------
    >>> round(float(np.exp(log_beta_binomial(np.array(1), np.array(2), np.array(0.5), 1 / 3))), 4)
    0.3333
    """
    from scipy.special import betaln, gammaln

    scale = (1 - spread) / spread
    a, b = chance * scale, (1 - chance) * scale
    ways = gammaln(clusters + 1) - gammaln(took + 1) - gammaln(clusters - took + 1)
    result: Floats = ways + betaln(took + a, clusters - took + b) - betaln(a, b)
    return result
