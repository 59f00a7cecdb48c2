"""What natural set tells of the genotypes of the shrubs it was counted on."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from nuttery.science.arguments import Floats, float_array, int_array, refuse_where, same_length
from nuttery.science.errors import BadArgumentError
from nuttery.science.pollen.inference import GenotypePosterior
from nuttery.science.pollen.set import log_beta_binomial


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
