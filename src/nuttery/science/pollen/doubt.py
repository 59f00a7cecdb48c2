"""Cover with an interval, when nobody knows on which days each shrub will bloom."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nuttery.science.arguments import Floats, float_array
from nuttery.science.errors import BadArgumentError
from nuttery.science.pollen.cover import checked_half_dose, checked_inputs, mean_over_receptive
from nuttery.science.pollen.dose import Compatibility, Drift, season_dose
from nuttery.science.pollen.kernels import Kernel, WindRose

HELD = 3e7  # numbers held at a time


@dataclass(frozen=True)
class CoverInterval:
    """Cover over many draws of the bloom.

    Attributes
    ----------
    median, low, high : (n,) NaN where no draw has receptive stigmas
    draws : (draws, n) cover in each draw, NaN where never receptive in it
    """

    median: Floats
    low: Floats
    high: Floats
    draws: Floats


def cover_interval(
    xy: ArrayLike,
    shed: ArrayLike,
    receptive: ArrayLike,
    compatibility: Compatibility,
    catkins: ArrayLike,
    *,
    kernel: Kernel,
    half_dose: float,
    coverage: float = 0.8,
    wind: WindRose | None = None,
) -> CoverInterval:
    """Cover of each shrub over draws of its own and its donors' bloom.

    Parameters
    ----------
    xy : (n, 2) m
    shed, receptive : (draws, n, days) in 0..1, one whole season of the planting a draw
    compatibility, catkins, kernel, half_dose, wind : as in `pollen_cover`
    coverage : share of draws within low..high

    Returns
    -------
    CoverInterval

    Raises
    ------
    BadArgumentError
        With the argument, the index, the value found and what was expected.

    Notes
    -----
    Source: quantiles of `pollen_cover` over the draws.
    Valid:  carries doubt about dates only; doubt about genotypes is averaged in `compatibility`.

    Examples
    --------
    >>> shed = np.array([[[1.0, 0.0], [1.0, 0.0]], [[0.0, 1.0], [0.0, 1.0]]])
    >>> out = np.array([[[1.0, 0.0], [1.0, 0.0]], [[1.0, 0.0], [1.0, 0.0]]])
    >>> cover_interval([[0, 0], [0, 9]], shed, out, np.ones((2, 2)), [1, 1],
    ...                kernel=np.ones_like, half_dose=1.0).median
    array([0.25, 0.25])
    """
    flying = float_array("shed", shed, ndim=3, low=0, high=1)
    out = float_array("receptive", receptive, ndim=3, low=0, high=1)
    share = float(float_array("coverage", coverage, ndim=0, low=0, high=1))
    half = checked_half_dose(half_dose)
    if flying.shape != out.shape or not len(flying):
        raise BadArgumentError(
            f"receptive: found shape {out.shape}, expected that of shed, {flying.shape}, "
            "and at least one draw"
        )
    given = checked_inputs(xy, flying[0], out[0], compatibility, catkins)
    drift = Drift(given.xy, given.compatibility, kernel, wind)
    draws, n, days = flying.shape
    chunk = max(1, int(HELD / max(n * days, 1)))
    parts = []
    for at in range(0, draws, chunk):
        now = flying[at : at + chunk]
        supply = (now * given.catkins[:, None]).transpose(1, 0, 2).reshape(n, -1)
        dose = season_dose(drift, supply).reshape(n, len(now), days).transpose(1, 0, 2)
        parts.append(mean_over_receptive(dose / (dose + half), out[at : at + chunk]))
    covers = np.concatenate(parts)
    low, median, high = _quantiles(covers, [(1 - share) / 2, 0.5, (1 + share) / 2])
    return CoverInterval(median, low, high, covers)


def _quantiles(covers: Floats, at: list[float]) -> Floats:
    """Quantiles over draws, gaps left out; NaN for a shrub that has nothing else."""
    result = np.full((len(at), covers.shape[1]), np.nan)
    some = ~np.isnan(covers).all(axis=0)
    result[:, some] = np.nanquantile(covers[:, some], at, axis=0)
    return result
