"""Pollen that each shrub can give: its catkins, less what frost took."""

from dataclasses import dataclass
from datetime import date

import numpy as np

from nuttery.records import CatkinsScored, FrostHarm
from nuttery.science.arguments import Floats, Ints
from nuttery.science.weather import Threshold
from nuttery.season.bloom_draws import COURSES, SeasonDraws
from nuttery.season.frost import band_days
from nuttery.season.frost_harm import thresholds
from nuttery.season.planting import Planting
from nuttery.season.weather import futures

SHEDDING = ("catkin", 60)
"""Organ and first stage of the frost band of shedding catkins."""


def catkin_supply(planting: Planting, years: Ints) -> Floats:
    """Living catkins of each shrub in each bloom, as a multiple of a shrub with some.

    A shrub that was not scored before a bloom is taken as it was scored at other times, and one
    never scored as the planting's mean. Frost harm counts as noted; where it was noted on others
    only, a shrub is taken to have had the planting's mean.

    Parameters
    ----------
    planting : the planting as of a day
    years : (y,) years of bloom, any order

    Returns
    -------
    (n, y) by shrub in walking order
    """
    place = {shrub.tag: k for k, shrub in enumerate(planting.shrubs)}
    column = {int(year): k for k, year in enumerate(years)}
    scored, sums, count = _scored(planting, place, column)
    usual = np.divide(sums, count, out=np.full(len(place), np.nan), where=count > 0)
    mean = float(np.nanmean(usual)) if np.isfinite(usual).any() else 1.0
    filled = np.where(np.isnan(usual), mean, usual)
    supply = np.where(np.isnan(scored), filled[:, None], scored)
    return np.asarray(supply * (1 - _frosted(planting, place, column)))


def _scored(
    planting: Planting, place: dict[str, int], column: dict[int, int]
) -> tuple[Floats, Floats, Floats]:
    """Catkins before each bloom asked for; sums and numbers of all scores of each shrub."""
    notes = [n for n in planting.notes(CatkinsScored) if n.shrub in place]
    worth = _worth(planting, notes)
    found = np.full((len(place), len(column)), np.nan)
    sums, count = np.zeros(len(place)), np.zeros(len(place))
    for note in notes:
        catkins = worth(note)
        if catkins is None:
            continue
        row, bloom = place[str(note.shrub)], note.seen.year + (note.seen.month >= 7)
        sums[row] += catkins
        count[row] += 1
        if bloom in column:
            found[row, column[bloom]] = catkins
    return found, sums, count


class _worth:  # noqa: N801 - reads as a function where it is used
    """Catkins of a note; counts are set against the planting's own counts of shrubs with some."""

    def __init__(self, planting: Planting, notes: list[CatkinsScored]) -> None:
        self.scores = {
            "none": 0.0,
            "few": planting.value("pollen.catkins.few").value,
            "some": 1.0,
            "many": planting.value("pollen.catkins.many").value,
        }
        counts = [n.catkins for n in notes if n.catkins]
        both = [n.catkins for n in notes if n.catkins and n.score == "some"]
        self.one = float(np.median(both or counts)) if counts else 1.0

    def __call__(self, note: CatkinsScored) -> float | None:
        """Multiple of a shrub with some, or nothing where only buds were counted."""
        if note.catkins is not None:
            return note.catkins / self.one
        return None if note.score is None else self.scores[note.score]


def _frosted(planting: Planting, place: dict[str, int], column: dict[int, int]) -> Floats:
    """Share of catkins killed by frost, by shrub and bloom."""
    noted = np.full((len(place), len(column)), np.nan)
    first = min(column, default=planting.on.year)
    for note in planting.notes(FrostHarm, since=date(first, 1, 1)):
        if note.organ == "catkin" and note.shrub in place and note.seen.year in column:
            at = place[note.shrub], column[note.seen.year]
            noted[at] = np.nanmax([noted[at], note.harmed])
    mean = np.nan_to_num(noted).mean(axis=0) if len(place) else np.zeros(len(column))
    return np.where(np.isnan(noted), mean, noted)


@dataclass(frozen=True)
class FrostAhead:
    """Nights still to come that may kill shedding catkins, one column a course of the weather.

    Attributes
    ----------
    begin, end : (n, courses) days of year between which each shrub's catkins shed
    days, nights : (d,) days of year still to come, and (courses, d) their minima, °C
    threshold : at which half are lost, and how sure that is
    """

    begin: Floats
    end: Floats
    days: Ints
    nights: Floats
    threshold: Threshold

    def left(self, course: int, doubt: float) -> Floats:
        """Share of each shrub's catkins that outlast a course, (n,).

        `doubt` moves the threshold by so many of its standard deviations.
        """
        from scipy.special import ndtr

        after, before = self.begin[:, course, None], self.end[:, course, None]
        open_ = (self.days >= after) & (self.days < before)
        coldest = np.where(open_, self.nights[course], np.inf).min(axis=1, initial=np.inf)
        killing = self.threshold.killing + self.threshold.spread * doubt
        return np.asarray(1 - ndtr((killing - coldest) / max(self.threshold.width, 1e-9)))


def frost_ahead(planting: Planting, dates: SeasonDraws) -> FrostAhead:
    """Return what frost may still do to shedding catkins; what it did stands in notes of harm."""
    courses = futures(planting, draws=COURSES)
    begin, end = band_days(dates, SHEDDING)
    days = np.arange(courses.known_days + 1, courses.tmin.shape[1] + 1)
    band = next(t for t in thresholds(planting) if (t.organ, t.first_bbch) == SHEDDING)
    return FrostAhead(begin, end, days, courses.tmin[:, courses.known_days :], band)
