"""Loop over the nights of many courses and shrubs, compiled."""

import numpy as np
from numba import njit

from nuttery.science.arguments import Floats, Ints


@njit(cache=True)
def worst_score(score: Floats, edges: Ints) -> Floats:
    """Highest score (bands, draws, days) within each shrub's bands, (draws, n); −inf if none."""
    bands, draws, _ = score.shape
    shrubs = edges.shape[2]
    worst = np.full((draws, shrubs), -np.inf)
    for draw in range(draws):
        for shrub in range(shrubs):
            top = -np.inf
            for band in range(bands):
                for day in range(edges[band, draw, shrub], edges[band + 1, draw, shrub]):
                    top = max(top, score[band, draw, day])
            worst[draw, shrub] = top
    return worst
