"""What a stool bears by its canes, and what canes too many on it cost.

crop = Σ bearing · canes − cost · max(0, canes − start): where crowding starts is one of a list of
counts, each with its probability; bearing and cost are normal given the start, the cost not below
nothing.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import linalg, special

from nuttery.science.arguments import Floats, float_array, int_array
from nuttery.science.canes.bearing import Bearing


@dataclass(frozen=True)
class CropOfStool:
    """What a stool bears by its canes: bearing by age and the cost of crowding.

    Attributes
    ----------
    bearing : of a cane that is not crowded
    starts : (g,) float, counts of canes above which crowding may start
    share : (g,) float, probability of each
    means : (g, A + 1) float, kg: bearing by age, and last the cost of a cane, given each start
    covariances : (g, A + 1, A + 1) float, kg²; those of a normal that is cut off at a cost of 0
    """

    bearing: Bearing
    starts: Floats
    share: Floats
    means: Floats
    covariances: Floats

    @property
    def cost(self) -> Floats:
        """Kg that each cane above the start is expected to cost, given each start, (g,)."""
        sd = np.sqrt(self.covariances[:, -1, -1])
        return mean_above_zero(self.means[:, -1], sd)

    def charge(self, canes: ArrayLike) -> Floats:
        """Crop that crowding is expected to take of a stool.

        Parameters
        ----------
        canes : (...) float, canes kept on each stool

        Returns
        -------
        (...) float, kg

        Notes
        -----
        Source: mean over the starts of crowding and the cost given each.
        Valid:  counts like those of the records; above them it runs straight on.

        Examples
        --------
        >>> from nuttery.science.canes.bearing import known_bearing
        >>> known_crowding(known_bearing([0, 0, 1.5]), 6, 0.5).charge([5, 8])
        array([0., 1.])
        """
        kept = float_array("canes", canes, low=0.0)
        over = np.maximum(0.0, kept[..., None] - self.starts)
        return np.asarray(over @ (self.share * self.cost))

    def best_count(self, max_age: int, most: float) -> tuple[float, float, float]:
        """Canes on a stool, as many of each age up to the limit, that bear the most.

        Parameters
        ----------
        max_age : int, age at which a cane goes
        most : float, canes above which nothing is known; no more are wanted

        Returns
        -------
        best, low, high : float, whole canes; low and high are those of the middle 80 % of what
        bearing and crowding may be

        Raises
        ------
        BadArgumentError
            If the age is below 2 or fewer than one cane is allowed.

        Notes
        -----
        Source: a stool in a steady state has as many canes of each age (design of this project);
                the count is where one more costs as much as an average cane bears.
        Valid:  counts up to `most`.
        Limits: size of nuts, light and work are not weighed.

        Examples
        --------
        >>> from nuttery.science.canes.bearing import known_bearing
        >>> known_crowding(known_bearing([0, 0, 1.5, 1.5]), 6, 2.0).best_count(3, most=12)
        (6.0, 6.0, 6.0)
        """
        oldest = int(int_array("max_age", max_age, ndim=0, low=2))
        counts = np.arange(1.0, float(float_array("most", most, ndim=0, low=1.0)) + 1)
        curves, starts, costs = self.draw(np.random.default_rng(0), 400)
        each = curves[:, 1:oldest].mean(axis=1) if oldest > 2 else curves[:, 1]
        over = np.maximum(0.0, counts - starts[:, None])
        crop = each[:, None] * counts - costs[:, None] * over
        low, high = np.quantile(counts[crop.argmax(axis=1)], [0.1, 0.9], method="nearest")
        return float(counts[crop.mean(axis=0).argmax()]), float(low), float(high)

    def draw(self, rng: np.random.Generator, draws: int) -> tuple[Floats, Floats, Floats]:
        """Curves, starts of crowding and costs as likely together as the records make them.

        Parameters
        ----------
        rng : numpy Generator
        draws : int

        Returns
        -------
        curves : (draws, A) float, kg, none negative
        starts : (draws,) float, canes
        costs : (draws,) float, kg, none negative

        Notes
        -----
        Source: the start by its probability, the cost from its normal cut off at 0, the curve from
                its normal given the cost; the mean of the years' factors moves both alike.
        Valid:  a curve well above zero; near it the cut-off lifts the mean a little.

        Examples
        --------
        >>> from nuttery.science.canes.bearing import known_bearing
        >>> sure = known_crowding(known_bearing([0, 0, 1.5]), 6, 0.5)
        >>> [part.round(3).tolist() for part in sure.draw(np.random.default_rng(1), 1)]
        [[[0.0, 0.0, 1.5]], [6.0], [0.5]]
        """
        which = rng.choice(len(self.starts), size=draws, p=self.share)
        if self.bearing.assumed:
            return self.bearing.draw(rng, draws), self.starts[which], self.cost[which]
        ages = self.means.shape[1] - 1
        curves, costs = np.empty((draws, ages)), np.empty(draws)
        for g in np.unique(which).tolist():
            mine = np.flatnonzero(which == g)
            mean, spread = self.means[g], self.covariances[g]
            sd = np.sqrt(spread[-1, -1])
            low = special.ndtr(-mean[-1] / sd)
            costs[mine] = mean[-1] + sd * special.ndtri(low + (1 - low) * rng.random(len(mine)))
            pull = spread[:-1, -1] / spread[-1, -1]
            left = spread[:-1, :-1] - np.outer(pull, spread[:-1, -1])
            root = linalg.cholesky(left + 1e-15 * np.eye(ages), lower=True)
            shift = (costs[mine] - mean[-1])[:, None] * pull
            curves[mine] = mean[:-1] + shift + rng.standard_normal((len(mine), ages)) @ root.T
        years = self._years(rng, draws)
        return np.maximum(0.0, curves * years[:, None]), self.starts[which], costs * years

    def _years(self, rng: np.random.Generator, draws: int) -> Floats:
        """Factor of all years to come against those on record."""
        sd = np.sqrt(self.bearing.of_years())
        return np.asarray(np.maximum(0.0, 1 + sd * rng.standard_normal(draws)))


def known_crowding(bearing: Bearing, start: float, cost: float) -> CropOfStool:
    """Crowding taken as it is, without doubt: for what-ifs, tests and assumptions.

    Parameters
    ----------
    bearing : of a cane that is not crowded
    start : float, canes on a stool above which each costs crop
    cost : float, kg lost for each

    Returns
    -------
    CropOfStool

    Raises
    ------
    BadArgumentError
        If start or cost is negative or missing.

    Notes
    -----
    Source: the caller.
    Valid:  any values that are not negative.

    Examples
    --------
    >>> from nuttery.science.canes.bearing import known_bearing
    >>> known_crowding(known_bearing([0, 0, 1.5]), 6, 0.5).cost
    array([0.5])
    """
    begins = float(float_array("start", start, ndim=0, low=0.0))
    each = float(float_array("cost", cost, ndim=0, low=0.0))
    means = np.append(bearing.mean, each)[None]
    covariance = linalg.block_diag(bearing.covariance(), np.full((1, 1), 1e-24))[None]
    return CropOfStool(bearing, np.array([begins]), np.ones(1), means, covariance)


def mean_above_zero(mean: Floats, sd: Floats) -> Floats:
    """Mean of a normal that is cut off below zero.

    Parameters
    ----------
    mean, sd : (...) float, of the whole normal

    Returns
    -------
    (...) float

    Notes
    -----
    Source: mean of a truncated normal, mean + sd · φ(mean/sd)/Φ(mean/sd); exact.
    Valid:  sd above zero; far below zero the ratio is taken from logarithms.

    Examples
    --------
    >>> mean_above_zero(np.array([0.0, 5.0]), np.array([1.0, 1.0])).round(6)
    array([0.797885, 5.000001])
    """
    at = mean / sd
    ratio = np.exp(-(at**2) / 2 - special.log_ndtr(at)) / np.sqrt(2 * np.pi)
    return np.asarray(mean + sd * ratio)
