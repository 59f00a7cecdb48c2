"""Yearly crops as a sum over columns, times (1 + effect of the shrub + effect of the year)."""

from dataclasses import dataclass

import numpy as np
from scipy import linalg

from nuttery.science.arguments import Floats, Ints

NO_EFFECT = 1e-9  # variance of an effect with one level, which the level of the curve holds
LEAST_WEIGHT = 0.05  # of the mean crop; a stool that should bear nothing is not known exactly


@dataclass(frozen=True)
class Told:
    """What records tell of the columns once shrubs and years are taken out.

    Attributes
    ----------
    left : (p, p) float, precision
    right : (p,) float, precision times the estimate
    square : float, weighted square of the crops
    log_determinant : float, of the crops' covariance without the columns
    """

    left: Floats
    right: Floats
    square: float
    log_determinant: float


@dataclass(frozen=True)
class CropEffects:
    """Records of crops, ready to tell of the columns under any variances.

    Attributes
    ----------
    columns : (m, p) float
    crops : (m,) float, kg
    shrubs, years : (m,) int, all from 0 up; shrubs in order
    expected : (m,) float, kg expected so far: it scales the effects, and noise grows with it
    """

    columns: Floats
    crops: Floats
    shrubs: Ints
    years: Ints
    expected: Floats

    @staticmethod
    def of(
        columns: Floats, crops: Floats, groups: tuple[Ints, Ints], expected: Floats
    ) -> "CropEffects":
        """Records, shrub by shrub, with the crop expected so far, never nothing."""
        least = np.maximum(expected, LEAST_WEIGHT * crops.mean())
        by = np.argsort(groups[0], kind="stable")
        return CropEffects(columns[by], crops[by], groups[0][by], groups[1][by], least[by])

    def told(self, shrub: float, year: float, noise: float) -> Told:
        """What the records tell under variances of shrubs, years and noise (kg²)."""
        shrub = shrub if self.shrubs.any() else NO_EFFECT
        z, p = self.expected, self.columns.shape[1]
        w = self.crops.mean() / z / noise
        x = np.hstack(
            [self.columns, z[:, None] * _contrasts(int(self.years.max()) + 1)[self.years]]
        )
        own = np.bincount(self.shrubs, w * z**2) + 1 / shrub
        firsts = np.searchsorted(self.shrubs, np.arange(len(own)))
        cross = np.add.reduceat((w * z)[:, None] * x, firsts, axis=0)
        of_shrub = np.bincount(self.shrubs, w * z * self.crops)
        left = x.T @ (w[:, None] * x) - cross.T @ (cross / own[:, None])
        right = x.T @ (w * self.crops) - cross.T @ (of_shrub / own)
        core = left[p:, p:] + np.eye(x.shape[1] - p) / year
        back = linalg.solve(core, np.column_stack([left[p:, :p], right[p:]]), assume_a="pos")
        known = np.log(own).sum() + len(own) * np.log(shrub) + len(core) * np.log(year)
        return Told(
            left=left[:p, :p] - left[:p, p:] @ back[:, :p],
            right=right[:p] - left[:p, p:] @ back[:, p],
            square=float(w @ self.crops**2 - of_shrub @ (of_shrub / own) - right[p:] @ back[:, p]),
            log_determinant=float(known + np.linalg.slogdet(core)[1] - np.log(w).sum()),
        )


def _contrasts(years: int) -> Floats:
    """Effects of the years about their mean: (years, years - 1), orthonormal.

    With a free mean the curve could sink, and bend less, while all the years rise.
    """
    matrix: Floats = linalg.helmert(years).T if years > 1 else np.zeros((1, 0))
    return matrix
