"""Whose flowers and leaves to look at next: the looks that would sharpen the calendar most."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from nuttery.science.arguments import Floats
from nuttery.season.bloom_draws import SeasonDraws, season_draws
from nuttery.season.estimate import day_of, day_told, doy_of, span_told
from nuttery.season.line import Line
from nuttery.season.planting import Planting
from nuttery.season.words import plural

AT_ONCE = 24
"""Shrubs that one line names at most: about an hour's walk with a look at each."""
LEAST_GAIN = 0.5
"""Days by which a look must narrow a shrub's date (standard deviation) to be asked for."""
ASKED = {
    "pistillate_out": ("red stigmas", "Look for red stigmas: out, or not yet"),
    "catkin_60": ("first pollen", "Tap the catkins: pollen yet, or not"),
    "leaf_11": ("first leaves", "Look for first leaves unfolded, or not yet"),
}
"""Stages that are asked for, as told to a person."""


@dataclass(frozen=True)
class LooksWorth:
    """What one look at a stage would teach, shrub by shrub.

    Attributes
    ----------
    stage : its name
    days : (d,) days of year on which one may look
    sd : (n,) days, standard deviation of the date as known now; NaN where not expected
    sd_after : (n, d) the same as expected after a look on each day
    best : (n,) index of the day that teaches most
    """

    stage: str
    days: Floats
    sd: Floats
    sd_after: Floats
    best: np.ndarray

    @property
    def gain(self) -> Floats:
        """Days by which the best look narrows each shrub's date, (n,); 0 where there is nothing."""
        after = self.sd_after[np.arange(len(self.sd)), self.best]
        found: Floats = np.nan_to_num(self.sd - after)
        return found


def _worth(draws: SeasonDraws, stage: str, until: date) -> LooksWorth:
    first, last = (doy_of(day, draws.year) for day in (draws.on, until))
    days = np.arange(first, max(first, last) + 1)
    after = draws.dates.sd_after_look(stage, days)
    dates = draws.of(stage).astype(np.float64)
    with np.errstate(invalid="ignore"):
        now = np.where(np.isnan(after[:, 0]), np.nan, _spread(dates))
    best = np.argmin(np.nan_to_num(after, nan=np.inf), axis=1)
    return LooksWorth(stage, days.astype(np.float64), now, after, best)


def _spread(dates: Floats) -> Floats:
    """Standard deviation over the courses in which a stage comes."""
    comes = np.isfinite(dates)
    count = np.maximum(comes.sum(axis=1), 1)
    mean = np.where(comes, dates, 0).sum(axis=1) / count
    away = np.where(comes, (dates - mean[:, None]) ** 2, 0)
    spread: Floats = np.sqrt(away.sum(axis=1) / count)
    return spread


def lines(planting: Planting, until: date) -> Iterable[Line]:
    """Ask for the looks at stigmas, catkins and leaves that would teach most, a line a stage."""
    draws = season_draws(planting)
    if doy_of(until, draws.year) < 1:
        return
    for stage in ASKED:
        worth = _worth(draws, stage, until)
        order = np.argsort(-worth.gain, kind="stable")
        chosen = np.sort(order[: min(AT_ONCE, int((worth.gain >= LEAST_GAIN).sum()))])
        if chosen.size:
            yield _line(planting, draws, worth, chosen)


def _line(planting: Planting, draws: SeasonDraws, worth: LooksWorth, chosen: np.ndarray) -> Line:
    seen, ask = ASKED[worth.stage]
    dates, place = draws.of(worth.stage)[chosen], draws.stages.index(worth.stage)
    early, late = np.quantile(dates[np.isfinite(dates)], [0.1, 0.9])
    best = np.quantile(worth.days[worth.best[chosen]], [0.0, 0.9])
    first, last = (day_of(draws.year, float(day)) for day in best)
    never = int((draws.looks[chosen, place] == 0).sum())
    others = int((worth.gain >= LEAST_GAIN).sum()) - len(chosen)
    sd, after = worth.sd[chosen].mean(), (worth.sd - worth.gain)[chosen].mean()
    why = (
        f"{seen} is forecast for {span_told(day_of(draws.year, early), day_of(draws.year, late))} "
        f"here; one look each narrows their dates from ±{sd:.1f} to ±{after:.1f} days"
    )
    why += f"; {never} of them never had such a look" if never else ""
    why += f"; {plural(others, 'further shrub')} would teach less" if others else ""
    return Line(
        key=f"bloom:{worth.stage}",
        subject="bloom",
        act=f"{ask}; best about {day_told(first)}",
        shrubs=tuple(planting.shrubs[k].tag for k in chosen),
        first=max(planting.on, first - timedelta(days=1)),
        last=max(last, first) + timedelta(days=3),
        why=why.replace("stigmas is", "stigmas are").replace("leaves is", "leaves are"),
        sure="likely" if draws.basis[place] == "learned" else "a guess",
        sure_why=_rests_on(draws, place, chosen),
        waits="their dates of pollen and frost risk stay that wide, this year and the next",
        weight=float(worth.gain[chosen].sum()),
    )


def _rests_on(draws: SeasonDraws, place: int, chosen: np.ndarray) -> str:
    if draws.basis[place] != "learned":
        return "nobody looked for this stage before; the dates rest on shipped priors"
    looks = int(draws.looks[:, place].sum())
    return (
        f"learned from {looks} looks at this planting, {draws.looks[chosen, place].sum()} at these"
    )
