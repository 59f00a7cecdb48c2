"""Drying curves fitted to a lot's own weighings, and the hours still to go."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import fdtrc, stdtrit

from nuttery.science.arguments import Floats, float_array, refuse_where, same_length
from nuttery.science.crop.estimate import checked_coverage
from nuttery.science.crop.moisture import wet_basis_array, wet_to_dry_basis
from nuttery.science.errors import BadArgumentError

Status = Literal["reached already", "dries to it", "unreachable in this air"]
Model = Literal["newton", "page"]


@dataclass(frozen=True)
class DryingTime:
    """Hours from the first weighing to a moisture, with the interval; inf where never."""

    median: float
    low: float
    high: float
    status: Status

    def __float__(self) -> float:
        """Return the median, in hours."""
        return self.median


@dataclass(frozen=True)
class DryingCurve:
    """A fitted curve: moisture M falls as (M − Me) / (M0 − Me) = exp(−k tⁿ), dry basis.

    `n` is 1 for Newton's curve. `covariance` belongs to (M0, log time scale, log n, Me) with
    zeros for what was not fitted; `time_scale` is k^(−1/n), the hours to a ratio of 1/e.
    """

    model: Model
    start: float
    time_scale: float
    n: float
    equilibrium: float
    equilibrium_fitted: bool
    covariance: Floats
    residual_sd: float
    n_records: int
    degrees: int

    @property
    def k(self) -> float:
        """Rate constant, per hour to the power n."""
        return float(self.time_scale**-self.n)

    def moisture(self, hours: ArrayLike) -> Floats:
        """Dry-basis moisture at hours after the first weighing.

        Parameters
        ----------
        hours : any shape, 0 or more

        Returns
        -------
        float of the same shape, fraction of the dry mass

        Raises
        ------
        BadArgumentError
            For a gap or a negative time.

        Notes
        -----
        Source: the fitted curve (Page 1949, or Newton's with n = 1).
        Valid:  as `hours_to`.

        Examples
        --------
        >>> hours = np.array([0.0, 6.0, 12.0, 24.0, 36.0])
        >>> lot = 750 * (1.05 + (1 / 3 - 0.05) * np.exp(-0.0566 * hours))
        >>> fit_drying(hours, lot, 750.0, 0.05).moisture([0.0, 12.0]).round(3)
        array([0.333, 0.194])
        """
        t = float_array("hours", hours, low=0)
        return _curve(self._parameters, t)

    @property
    def _parameters(self) -> Floats:
        logs = np.log([self.time_scale, self.n])
        return np.array([self.start, *logs, self.equilibrium])

    def hours_to(self, wet_basis: float, *, coverage: float = 0.8) -> DryingTime:
        """Hours from the first weighing until the lot is down to a moisture.

        Parameters
        ----------
        wet_basis : target, fraction of all mass
        coverage : probability that the interval aims at

        Returns
        -------
        DryingTime
            0 if the lot was as dry at the first weighing; inf and "unreachable in this air" if
            the air's equilibrium is at or above the target; `high` inf where that is in doubt.

        Raises
        ------
        BadArgumentError
            If the target is not a wet-basis fraction.

        Notes
        -----
        Source: the fitted curve turned round; interval by the delta method on log hours.
        Valid:  the same air, depth and stirring as during the weighings.
        Limits: beyond the last weighing it is an extrapolation; weigh again.

        Examples
        --------
        >>> hours = np.array([0.0, 6.0, 12.0, 24.0, 36.0])
        >>> lot = 750 * (1.05 + (1 / 3 - 0.05) * np.exp(-0.0566 * hours))
        >>> round(fit_drying(hours, lot, 750.0, 0.05).hours_to(0.08).median, 1)
        36.0
        """
        target = float(wet_to_dry_basis(float(wet_basis_array("wet_basis", wet_basis))))
        checked_coverage(coverage)
        if target >= self.start:
            return DryingTime(0.0, 0.0, 0.0, "reached already")
        if target <= self.equilibrium:
            return DryingTime(np.inf, np.inf, np.inf, "unreachable in this air")
        return self._interval(target, float(stdtrit(self.degrees, 0.5 + coverage / 2)))

    def _interval(self, target: float, t: float) -> DryingTime:
        ratio = (target - self.equilibrium) / (self.start - self.equilibrium)
        depth = -np.log(ratio)
        hours = self.time_scale * depth ** (1 / self.n)
        gradient = np.array(
            [
                1 / (self.n * depth * (self.start - self.equilibrium)),
                1.0,
                -np.log(depth) / self.n,
                (1 / (target - self.equilibrium) - 1 / (self.start - self.equilibrium))
                / (self.n * depth),
            ]
        )
        half = t * np.sqrt(max(0.0, gradient @ self.covariance @ gradient))
        doubtful = target <= self.equilibrium + t * np.sqrt(self.covariance[3, 3])
        high = np.inf if doubtful else hours * np.exp(half)
        return DryingTime(float(hours), float(hours * np.exp(-half)), float(high), "dries to it")


def _curve(parameters: Floats, hours: Floats) -> Floats:
    start, log_scale, log_n, equilibrium = parameters
    power = (hours / np.exp(log_scale)) ** np.exp(log_n)
    return np.asarray(equilibrium + (start - equilibrium) * np.exp(-power))


def _least_squares(
    hours: Floats, moisture: Floats, free: Floats, equilibrium: float
) -> tuple[Floats, Floats, float]:
    """Best parameters, Jacobian of the free ones and sum of squares; `free` masks the four."""
    from scipy.optimize import least_squares

    base = np.array([moisture[0], np.log(max(hours[-1], 1e-9) / 2), 0.0, equilibrium])
    reach = np.log(hours[hours > 0].min()) - 5, np.log(hours.max()) + 7
    top = float(moisture.max())
    lowest = np.array([moisture.min() * 0.5, reach[0], np.log(0.2), 0.0])
    highest = np.array([2 * top, reach[1], np.log(5.0), top])
    which = free.astype(bool)

    def whole(theta: Floats) -> Floats:
        full = base.copy()
        full[which] = theta
        return full

    def misfit(theta: Floats) -> Floats:
        return _curve(whole(theta), hours) - moisture

    guess = np.clip(base[which], lowest[which] + 1e-12, highest[which] - 1e-12)
    bounds = (lowest[which], highest[which])
    fit = least_squares(
        misfit, guess, bounds=bounds, x_scale="jac", ftol=1e-14, xtol=1e-14, gtol=1e-14
    )
    return whole(fit.x), np.asarray(fit.jac), float(2 * fit.cost)


def _fit_model(
    model: Model, hours: Floats, moisture: Floats, equilibrium: float | None
) -> DryingCurve:
    free = np.array([1.0, 1.0, model == "page", equilibrium is None])
    first_guess = 0.8 * float(moisture.min()) if equilibrium is None else equilibrium
    found, jacobian, squares = _least_squares(hours, moisture, free, first_guess)
    fitted = int(free.sum())
    degrees = hours.size - fitted
    variance = squares / degrees if degrees > 0 else np.nan
    covariance = np.zeros((4, 4))
    where = np.ix_(free.astype(bool), free.astype(bool))
    covariance[where] = variance * np.linalg.pinv(jacobian.T @ jacobian)
    return DryingCurve(
        model=model,
        start=float(found[0]),
        time_scale=float(np.exp(found[1])),
        n=float(np.exp(found[2])),
        equilibrium=float(found[3]),
        equilibrium_fitted=equilibrium is None,
        covariance=covariance,
        residual_sd=float(np.sqrt(variance)),
        n_records=hours.size,
        degrees=degrees,
    )


def _bends(newton: DryingCurve, page: DryingCurve) -> bool:
    """Whether Page's extra parameter earns its place, by the F test of nested curves at 5 %."""
    left = page.residual_sd**2 * page.degrees
    gained = newton.residual_sd**2 * newton.degrees - left
    noise_floor = page.n_records * (1e-9 * page.start) ** 2
    ratio = gained / ((left + noise_floor) / page.degrees)
    return bool(ratio > 0 and fdtrc(1, page.degrees, ratio) < 0.05)


def _checked_weighings(hours: ArrayLike, mass: ArrayLike, dry_mass: float) -> tuple[Floats, Floats]:
    t = float_array("hours", hours, ndim=1)
    m = float_array("mass", mass, ndim=1)
    same_length(hours=t, mass=m)
    dry = float_array("dry_mass", dry_mass, ndim=0)
    refuse_where("dry_mass", dry, dry <= 0, "more than 0")
    refuse_where("mass", m, m < dry, f"at least the dry mass, {float(dry):g}")
    later = np.append(False, np.diff(t) <= 0)
    refuse_where("hours", t, later, "later than the weighing before")
    return t - t[:1], m / dry - 1


def fit_drying(
    hours: ArrayLike, mass: ArrayLike, dry_mass: float, equilibrium: float | None = None
) -> DryingCurve:
    """Drying curve of a lot: Newton's, or Page's where the weighings carry the better fit.

    Parameters
    ----------
    hours : (n,) float, hours of the weighings, rising; the first one is the start
    mass : (n,) float, mass of the lot, water included
    dry_mass : float, mass of its dry matter, same unit
    equilibrium : dry-basis moisture that this air would leave in the nuts; None to estimate it

    Returns
    -------
    DryingCurve

    Raises
    ------
    BadArgumentError
        If there are too few weighings for the curve, they are not in order, a mass lies below
        the dry mass, the lot does not dry, or the equilibrium lies above the lot.

    Notes
    -----
    Source: Newton (Lewis 1921, J. Ind. Eng. Chem. 13:427) and Page 1949 (MSc thesis, Purdue),
            as used for hazelnuts in thin layers; moisture ratio in dry basis. The choice is by
            the F test of nested curves at 5 %.
    Valid:  steady air. At least 3 weighings, 4 if the equilibrium is to be estimated; Page's
            curve is tried from one weighing more.
    Limits: no published hazelnut constants in shell were found, so nothing is borrowed. Keep the
            air at or below the reference room's ceiling; look for mould.

    Examples
    --------
    >>> hours = np.array([0.0, 4.0, 10.0, 20.0, 30.0, 44.0])
    >>> lot = 700 * (1.06 + 0.30 * np.exp(-0.09 * hours**0.8))
    >>> curve = fit_drying(hours, lot, 700.0, equilibrium=0.06)
    >>> curve.model, round(curve.k, 3), round(curve.n, 2)
    ('page', 0.09, 0.8)
    """
    t, moisture = _checked_weighings(hours, mass, dry_mass)
    least = 3 if equilibrium is not None else 4
    if t.size < least:
        raise BadArgumentError(f"hours: found {t.size} weighings, expected at least {least}")
    if moisture[-1] >= moisture[0]:
        raise BadArgumentError(
            f"mass[{t.size - 1}]: found no drying since the first weighing "
            f"(dry-basis moisture {moisture[0]:g} → {moisture[-1]:g}), expected a loss"
        )
    if equilibrium is not None and not 0 <= equilibrium < moisture[0]:
        raise BadArgumentError(
            f"equilibrium: found {equilibrium:g}, expected 0 to below {moisture[0]:g}, "
            "the first weighing (dry basis)"
        )
    newton = _fit_model("newton", t, moisture, equilibrium)
    if t.size == least:
        return newton
    page = _fit_model("page", t, moisture, equilibrium)
    return page if _bends(newton, page) else newton
