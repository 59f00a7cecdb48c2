"""A thermal clock: the heat a stage needs, shrub by shrub, and the dates that follow from it."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike

from nuttery.science.arguments import Floats, Ints, int_array
from nuttery.science.bloom.heat import heat_sums, mixed_quantile, reached
from nuttery.science.errors import BadArgumentError
from nuttery.science.weather.believable import air_temps

_POINTS, _WEIGHTS = np.polynomial.hermite_e.hermegauss(7)
_WEIGHTS = _WEIGHTS / _WEIGHTS.sum()


@dataclass(frozen=True)
class Dates:
    """Days of year, each `(m,)`, NaN where the days given do not reach it.

    Attributes
    ----------
    median, low, high : (m,) float, day of year; day 103 is centred on 103.0
    """

    median: Floats
    low: Floats
    high: Floats


@dataclass(frozen=True)
class Clock:
    """How much heat a stage needs in a planting, and each shrub's own habit.

    The requirement of a shrub is log-normal; `shrubs` and `lots` hold mean and variance of its
    logarithm. The error of a date (weather that a heat sum cannot tell, the eye of the observer) is
    normal, or Student's t where `tail` gives its degrees of freedom.

    Attributes
    ----------
    base : °C
    start_doy : day of year from which heat counts
    requirement : degree-days, median over the planting's shrubs
    residual_sd : days
    n_records : notes that it rests on
    softness : °C by which the threshold at the base is rounded off, 0 for a sharp one
    spread, lot_spread : standard deviation of the logarithm of the requirement, over the shrubs of
        a lot and over lots
    season_sd : days, the part of `residual_sd` that all shrubs share in a season
    level_sd : how unsure the planting's own logarithm is
    tail : 0 or even degrees of freedom of the error
    is_prior : True while no note has been taken into account
    shrubs, lots : label → (mean, variance) of the logarithm
    theta_sd : how unsure base (°C) and start (days) are
    others : clocks that the notes allow beside this one, all equally likely

    Examples
    --------
    >>> clock = Clock(base=3.0, start_doy=32.0, requirement=120.0, residual_sd=3.0, n_records=0)
    >>> days = clock.predict(np.full((1, 200), 6.0)).median
    >>> days.round(1)
    array([71.6])
    """

    base: float
    start_doy: float
    requirement: float
    residual_sd: float
    n_records: int
    softness: float = 0.0
    spread: float = 0.1
    lot_spread: float = 0.0
    season_sd: float = 0.0
    level_sd: float = 0.0
    tail: int = 0
    is_prior: bool = False
    shrubs: Mapping[int, tuple[float, float]] = field(default_factory=dict, repr=False)
    lots: Mapping[int, tuple[float, float]] = field(default_factory=dict, repr=False)
    theta_sd: tuple[float, float] = (0.0, 0.0)
    others: tuple["Clock", ...] = field(default=(), repr=False)

    @property
    def scale(self) -> float:
        """Scale of the error, days: its standard deviation where it is normal."""
        return self.residual_sd * (np.sqrt((self.tail - 2) / self.tail) if self.tail else 1.0)

    def log_requirement(
        self, label: int | None = None, lot: int | None = None
    ) -> tuple[float, float]:
        """Mean and variance of the logarithm of a shrub's requirement.

        Parameters
        ----------
        label : the shrub, or None for any shrub of the planting
        lot : the seed lot of a shrub that has no notes

        Notes
        -----
        Source: posterior of a nested random-intercept model.
        Valid:  any label; one never seen gets its lot's spread, else the planting's.
        """
        if label is not None and label in self.shrubs:
            return self.shrubs[label]
        if lot is not None and lot in self.lots:
            mean, variance = self.lots[lot]
            return mean, variance + self.spread**2
        across = self.spread**2 + self.lot_spread**2 + self.level_sd**2
        return float(np.log(self.requirement)), across

    def shrub_requirement(self, label: int | None, lot: int | None = None) -> tuple[float, float]:
        """Heat that one shrub needs.

        Parameters
        ----------
        label : the shrub
        lot : the seed lot of a shrub that has no notes

        Returns
        -------
        mean and standard deviation, degree-days

        Notes
        -----
        Source: moments of the log-normal.
        Valid:  any label; one never seen gets the planting's spread.
        """
        mean, variance = self.log_requirement(label, lot)
        middle = float(np.exp(mean + variance / 2))
        return middle, middle * float(np.sqrt(np.expm1(variance)))

    def log_requirements(
        self, n: int, shrub: ArrayLike | None = None, lot: ArrayLike | None = None
    ) -> Floats:
        """Mean and variance of the logarithms of the requirements of records.

        Parameters
        ----------
        n : number of records
        shrub, lot : (n,) int labels, or None for any shrub of the planting

        Returns
        -------
        (n, 2) float

        Raises
        ------
        BadArgumentError
            For labels that are not one for each record.

        Notes
        -----
        Source: `log_requirement`, once for each pair of labels.
        Valid:  any labels.
        """
        found: Floats = np.tile(self.log_requirement(), (n, 1))
        for name, labels, table, more in (
            ("lot", lot, self.lots, self.spread**2),
            ("shrub", shrub, self.shrubs, 0.0),
        ):
            if labels is not None:
                rows, known = _looked_up(table, label_array(name, labels, n))
                found[rows] = known + np.array([0.0, more])
        return found

    def predict(
        self,
        season_temps: ArrayLike,
        shrub: ArrayLike | None = None,
        *,
        first_doy: int = 1,
        coverage: float = 0.8,
        lot: ArrayLike | None = None,
    ) -> Dates:
        """Dates on which a stage comes, with an interval.

        Parameters
        ----------
        season_temps : (m, n_days) float, daily mean °C
        shrub : (m,) int labels, or None for any shrub of the planting
        first_doy : day of year of column 0; 0 is 31 December
        coverage : share of dates that the interval should hold
        lot : (m,) int labels of seed lots, used for shrubs without notes of their own

        Returns
        -------
        Dates
            `(m,)` each; NaN where the days given do not reach that date. A label never seen gets
            the planting's spread.

        Raises
        ------
        BadArgumentError
            For gaps, wrong shapes or a coverage outside 0 to 1.

        Notes
        -----
        Source: the shrub's log-normal requirement carried through the heat sum at 7 points
                (Gauss–Hermite), each with the error of the date about it, and the same for the
                `others`.
        Valid:  as far as the days given; dates past them are NaN.
        """
        temps = season_table(season_temps)
        if not 0 < coverage < 1:
            raise BadArgumentError(f"coverage: found {coverage}, expected between 0 and 1")
        clocks = (self, *self.others)
        days = np.hstack([c.point_days(temps, shrub, first_doy=first_doy, lot=lot) for c in clocks])
        scales = np.repeat([c.scale for c in clocks], len(_POINTS))
        weights = np.tile(_WEIGHTS / len(clocks), len(clocks))
        last = first_doy + temps.shape[1] - 0.5

        def quantile(share: float) -> Floats:
            day = mixed_quantile(days, scales, weights, self.tail, share)
            return np.where(day > last, np.nan, day)

        return Dates(quantile(0.5), quantile(0.5 - coverage / 2), quantile(0.5 + coverage / 2))

    def point_days(
        self,
        temps: Floats,
        shrub: ArrayLike | None = None,
        *,
        first_doy: int = 1,
        lot: ArrayLike | None = None,
    ) -> Floats:
        """Days on which 7 points of each requirement are reached.

        Parameters
        ----------
        temps : (m, n_days) float, daily mean °C
        shrub, lot : (m,) int labels, or None for any shrub of the planting
        first_doy : day of year of column 0

        Returns
        -------
        (m, 7) float, day of year

        Notes
        -----
        Source: Gauss–Hermite points of the log-normal requirement.
        Valid:  past the days given the season goes on at its last pace, so that a date near the
                end is judged by both its sides.
        """
        logs = self.log_requirements(len(temps), shrub, lot)
        sums = heat_sums(temps, first_doy, self.base, self.softness, self.start_doy)
        rows, spread = np.arange(len(temps)), np.sqrt(logs[:, 1])
        levels = [logs[:, 0] + z * spread for z in _POINTS]
        days = [reached(sums, rows, first_doy, level, onward=True)[0] for level in levels]
        return np.column_stack(days)


def season_table(season_temps: ArrayLike) -> Floats:
    """Seasons' temperatures as a contiguous table, refused where there is a gap."""
    return np.ascontiguousarray(air_temps("season_temps", season_temps, ndim=2))


def labels_of(name: str, labels: ArrayLike | None, n: int) -> list[int | None]:
    """Label of each of `n` records, None for each where no labels are given.

    Raises
    ------
    BadArgumentError
        For labels that are not whole numbers, or not one for each record.
    """
    if labels is None:
        return [None] * n
    return [int(label) for label in label_array(name, labels, n)]


def label_array(name: str, labels: ArrayLike, n: int) -> Ints:
    """Labels of `n` records as whole numbers.

    Raises
    ------
    BadArgumentError
        For labels that are not whole numbers, or not one for each record.
    """
    array = int_array(name, labels, ndim=1)
    if len(array) != n:
        raise BadArgumentError(f"{name}: found length {len(array)}, expected {n} as season_temps")
    return array


def _looked_up(table: Mapping[int, tuple[float, float]], labels: Ints) -> tuple[Ints, Floats]:
    """Records whose label is in a table, and their entries, (k, 2)."""
    keys = np.fromiter(table, dtype=np.int64, count=len(table))
    values = np.array(list(table.values()), dtype=np.float64).reshape(-1, 2)
    order = np.argsort(keys)
    place = np.searchsorted(keys[order], labels)
    rows = np.flatnonzero(place < len(keys))
    rows = rows[keys[order][place[rows]] == labels[rows]]
    return rows, values[order][place[rows]]
