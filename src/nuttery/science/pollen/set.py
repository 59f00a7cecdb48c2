"""From dose to set: the half-dose from a planting's own counts, and what set tells of genotypes."""

from collections.abc import Sequence
from dataclasses import dataclass
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
from nuttery.science.pollen.inference import GenotypePosterior
from nuttery.science.pollen.kernels import Kernel

ENOUGH = 12  # records, below which the assumption stands
GRID = 61
CEILINGS = np.linspace(0.05, 1.0, 20)
SPREADS = np.array([0.05, 0.1, 0.2, 0.3])  # never less: doses are not known exactly
ASSUMED_FACTOR = 10.0
GRID_ENDS = 100.0
CEILING_SD = 0.15  # of the ceiling as believed before any count


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
    coverage: float = 0.8,
) -> HalfDose:
    """Half-dose from a planting's own counts of female clusters that set.

    Parameters
    ----------
    dose : (m, days) dose of each counted shrub and year, from `pollen_cover`
    receptive : (m, days) in 0..1
    clusters : (m,) clusters looked at
    took : (m,) of them that set
    before : what to answer while there are too few records
    coverage : share of the belief within low..high

    Returns
    -------
    HalfDose; `before`, with its number of records, below 12 records

    Raises
    ------
    BadArgumentError
        If lengths differ, or counts are impossible.

    Notes
    -----
    Source: took ~ beta-binomial(clusters, ceiling · mean of dose/(dose + half_dose) over receptive
        days); Bayes on a grid of a hundredth to a hundred times the median dose, from `before`:
        its half-dose, log-normal within its interval of four in five, its ceiling ± 0.15.
    Valid:  doses without much error. Where all shrubs are fed alike, counts tell half-dose and
        ceiling only together; what `before` says of the ceiling then parts them.

    Examples
    --------
    >>> from nuttery.science.pollen import PowerKernel
    >>> fit_half_dose(np.ones((1, 2)), np.ones((1, 2)), [10], [4],
    ...               before=assumed_half_dose(PowerKernel())).certainty
    'assumed'
    """
    doses = float_array("dose", dose, ndim=2, low=0)
    out = float_array("receptive", receptive, ndim=2, low=0, high=1)
    seen = int_array("clusters", clusters, ndim=1, low=1)
    sets = int_array("took", took, ndim=1, low=0)
    m = same_length(dose=doses, receptive=out, clusters=seen, took=sets)
    share = float(float_array("coverage", coverage, ndim=0, low=0.01, high=0.999))
    refuse_where("took", sets, sets > seen, "at most the clusters looked at")
    useful = (out.sum(axis=1) > 0) & ((doses * out).sum(axis=1) > 0)
    if useful.sum() < ENOUGH:
        return HalfDose(
            before.half_dose,
            before.low,
            before.high,
            before.ceiling,
            before.spread,
            m,
            before.certainty,
        )
    middle = np.median((doses * out).sum(axis=1)[useful] / out.sum(axis=1)[useful])
    halves = np.geomspace(middle / GRID_ENDS, middle * GRID_ENDS, GRID)
    cover = np.stack([mean_over_receptive(doses / (doses + h), out)[useful] for h in halves])
    log = np.stack([_log_likelihood(c, seen[useful], sets[useful]) for c in cover])
    belief = _belief(log + _log_prior(halves, before))
    low, middle, high = _quantiles(halves, belief.sum(axis=(1, 2)), share)
    return HalfDose(
        half_dose=middle,
        low=low,
        high=high,
        ceiling=float(belief.sum(axis=(0, 2)) @ CEILINGS),
        spread=float(belief.sum(axis=(0, 1)) @ SPREADS),
        n_records=int(useful.sum()),
        certainty="learned",
    )


def _log_likelihood(cover: Floats, clusters: Ints, took: Ints) -> Floats:
    """Log-likelihood at one half-dose, by ceiling and spread."""
    chance = np.clip(CEILINGS[:, None, None] * cover, 1e-6, 1 - 1e-6)
    table: Floats = log_beta_binomial(took, clusters, chance, SPREADS[None, :, None]).sum(axis=-1)
    return table


def _log_prior(halves: Floats, before: HalfDose) -> Floats:
    """What is believed before any count, by half-dose and ceiling."""
    from scipy.special import ndtri

    decades = np.log(before.high / before.low) / (2 * ndtri(0.9))
    half = -0.5 * (np.log(halves / before.half_dose) / decades) ** 2
    ceiling = -0.5 * ((CEILINGS - before.ceiling) / CEILING_SD) ** 2
    log: Floats = half[:, None, None] + ceiling[None, :, None]
    return log


def _belief(log: Floats) -> Floats:
    weight = np.exp(log - log.max())
    belief: Floats = weight / weight.sum()
    return belief


def _quantiles(halves: Floats, belief: Floats, share: float) -> tuple[float, float, float]:
    """Quantiles of the half-dose, between the points of the grid."""
    below = np.cumsum(belief) - belief / 2
    at = np.interp([(1 - share) / 2, 0.5, (1 + share) / 2], below, np.log(halves))
    low, middle, high = np.exp(at).tolist()
    return low, middle, high


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


def natural_set_hints(
    posterior: GenotypePosterior,
    shrub: Sequence[int],
    reach: ArrayLike,
    clusters: ArrayLike,
    took: ArrayLike,
    *,
    half_dose: float,
    ceiling: float,
    spread: float = 0.1,
) -> dict[int, Floats]:
    """What natural set says of the genotypes of the shrubs it was counted on.

    Parameters
    ----------
    posterior : genotypes as known without these counts
    shrub : (m,) shrub of each record (a year of one shrub)
    reach : (m, n) mean daily dose that each donor would give if accepted
    clusters, took : (m,) clusters looked at, and of them that set
    half_dose, ceiling, spread : as in `HalfDose`; the larger the spread, the weaker the evidence

    Returns
    -------
    {shrub: (pairs,) likelihood}, to be given to `infer_genotypes` as `hints`

    Raises
    ------
    BadArgumentError
        If lengths differ or a value is impossible.

    Notes
    -----
    Source: ours: dose expected for each genotype of the shrub, donors at their own chances;
        beta-binomial likelihood of the counts.
    Valid:  weak evidence. Donors are taken as they stood without the counts, so nothing is
        learned of them here. Where an order of dominance is unknown, its lowest answer is used.

    Examples
    --------
    >>> from nuttery.science.pollen import Hierarchy, infer_genotypes
    >>> post = infer_genotypes([-1, -1], [-1, -1], alleles=[1, 2], frequencies=[0.5, 0.5],
    ...                        hierarchy=Hierarchy({1: 2, 2: 1}), known={1: (1, 1)})
    >>> hint = natural_set_hints(post, [0], [[0.0, 1.0]], [20], [12], half_dose=0.5, ceiling=0.9)
    >>> bool(hint[0][2] > hint[0][0])
    True
    """
    n, pairs = posterior.probability.shape
    index = int_array("shrub", shrub, ndim=1, low=0, high=n - 1)
    doses = float_array("reach", reach, ndim=2, low=0)
    seen = int_array("clusters", clusters, ndim=1, low=0)
    sets = int_array("took", took, ndim=1, low=0)
    same_length(shrub=index, reach=doses, clusters=seen, took=sets)
    refuse_where("took", sets, sets > seen, "at most the clusters looked at")
    if doses.shape[1:] != (n,):
        raise BadArgumentError(f"reach: found shape {doses.shape}, expected ({len(index)}, {n})")
    top = float(float_array("ceiling", ceiling, ndim=0, low=0, high=1))
    apart = float(float_array("spread", spread, ndim=0, low=1e-6, high=1 - 1e-6))
    half = float(float_array("half_dose", half_dose, ndim=0, low=1e-300))
    accepted = posterior.alphabet.accepts[0] @ posterior.probability.T
    told: dict[int, Floats] = {}
    for i, dose, looked, took_here in zip(index, doses, seen, sets, strict=True):
        expected = accepted @ np.where(np.arange(n) == i, 0.0, dose)
        chance = np.clip(top * expected / (expected + half), 1e-4, 1 - 1e-4)
        log = log_beta_binomial(took_here, looked, chance, apart)
        told[int(i)] = told.get(int(i), np.zeros(pairs)) + log
    return {i: np.exp(log - log.max()) for i, log in told.items()}
