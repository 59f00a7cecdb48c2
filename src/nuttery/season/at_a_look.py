"""The whole planting at a look: every shrub put into one of a few classes by what is asked."""

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from nuttery.records import told
from nuttery.science.arguments import Floats, Ints
from nuttery.season.bloom import BloomOutlook, bloom
from nuttery.season.crops import crops
from nuttery.season.errors import NotEnoughKnown, WrongQuestion
from nuttery.season.estimate import day_of, day_told, span_told
from nuttery.season.planting import Planting
from nuttery.season.pollen import pollen
from nuttery.season.stools import stools

CROP_YEARS = 3
"""Years with a picking whose mean is shown."""


@dataclass(frozen=True)
class Look:
    """Every shrub's class by what is asked, in walking order.

    Attributes
    ----------
    asked, title : what is asked
    tags : (n,)
    x, y : (n,) metres; NaN without a place
    place : (n,) class of each shrub
    classes : their words
    shade : (k,) 0 to 1, how far along the classes; None for "nothing known"
    words : (n,) what is told of each shrub
    told : what it rests on
    """

    asked: str
    title: str
    tags: tuple[str, ...]
    x: Floats
    y: Floats
    place: Ints
    classes: tuple[str, ...]
    shade: tuple[float | None, ...]
    words: tuple[str, ...]
    told: str

    @property
    def counts(self) -> tuple[int, ...]:
        """Shrubs of each class."""
        return tuple(np.bincount(self.place, minlength=len(self.classes)).tolist())


@dataclass(frozen=True)
class _Sorted:
    """Shrubs sorted into classes."""

    place: Ints
    classes: tuple[str, ...]
    shade: tuple[float | None, ...]
    words: Sequence[str]
    told: str


def look(planting: Planting, asked: str) -> Look:
    """Return every shrub's class by what is asked.

    Parameters
    ----------
    planting : the planting as of a day
    asked : one of `ASKED`

    Raises
    ------
    WrongQuestion
        If it is none of them.
    NotEnoughKnown
        If the record does not hold what it takes.
    """
    if asked not in ASKED:
        raise WrongQuestion(f"show: found {asked!r}, expected one of {', '.join(ASKED)}")
    title, sort = ASKED[asked]
    found, shrubs = sort(planting), planting.shrubs
    return Look(
        asked=asked,
        title=title,
        tags=tuple(s.tag for s in shrubs),
        x=np.array([np.nan if s.x is None else s.x for s in shrubs]),
        y=np.array([np.nan if s.y is None else s.y for s in shrubs]),
        place=found.place,
        classes=found.classes,
        shade=found.shade,
        words=tuple(found.words),
        told=found.told,
    )


def _ramp(count: int) -> tuple[float | None, ...]:
    """Even steps from dark to light, and none for the last class: nothing known."""
    return (*np.linspace(0.05, 1.0, count).tolist(), None)


def _binned(values: Floats, edges: Sequence[float]) -> Ints:
    """Class of each value between edges; the class after the last for what is not known."""
    place = np.digitize(values, edges)
    place[np.isnan(values)] = len(edges) + 1
    return place


def _all_rows(planting: Planting, tags: Sequence[str], values: Floats) -> Floats:
    """Values of some shrubs among all, NaN for the rest."""
    at = {s.tag: k for k, s in enumerate(planting.shrubs)}
    found = np.full(len(at), np.nan)
    found[[at[tag] for tag in tags]] = values
    return found


def _by_pollen(planting: Planting) -> _Sorted:
    outlook = pollen(planting)
    cover = _all_rows(planting, outlook.tags, outlook.cover)
    short = outlook.short
    edges = sorted({short / 2, short, (short + 1) / 2})
    names = (
        f"far too short: pollen taken on under {edges[0]:.0%} of the receptive season",
        f"short: {edges[0]:.0%} to {edges[1]:.0%}",
        f"enough: {edges[1]:.0%} to {edges[2]:.0%}",
        f"plenty: {edges[2]:.0%} and more",
        "no stigmas expected, or no place told",
    )
    low, high = (_all_rows(planting, outlook.tags, v) for v in (outlook.low, outlook.high))
    words = [
        "nothing to reckon with"
        if np.isnan(c)
        else f"pollen taken on {c:.0%} ({a:.0%}–{b:.0%}) of its season"
        for c, a, b in zip(cover, low, high, strict=True)
    ]
    basis = (
        f"Season {outlook.year}; {outlook.known_genotypes} tested genotypes and "
        f"{outlook.crosses} test crosses behind it. The mark for short is {short:.0%}."
    )
    return _Sorted(_binned(cover, edges), names, _ramp(4), words, basis)


def _by_age(planting: Planting) -> _Sorted:
    known = stools(planting)
    overdue = int(planting.value("canes.overdue").value)
    ages = np.arange(known.counts.shape[1])
    standing = known.counts[:, 2:].sum(axis=1)
    mean = (known.counts[:, 2:] * ages[2:]).sum(axis=1) / np.maximum(standing, 1)
    mean = np.where(standing > 0, mean, np.nan)
    old = known.counts[:, overdue:].sum(axis=1)
    value = _all_rows(planting, known.tags, mean)
    over = _all_rows(planting, known.tags, old.astype(np.float64))
    number = _all_rows(planting, known.tags, known.counts.sum(axis=1).astype(np.float64))
    edges = (4.0, 6.0, 8.0, float(overdue))
    names = (
        "young: canes of under 4 years on average",
        "4 to 6 years",
        "6 to 8 years",
        f"8 to {overdue} years",
        f"overdue: {overdue} years and more on average",
        "never counted, or only suckers",
    )
    words = [
        "never counted"
        if np.isnan(n)
        else f"{n:.0f} canes and suckers, mean age {'–' if np.isnan(m) else f'{m:.1f}'}, "
        f"{o:.0f} of {overdue} or older"
        for m, o, n in zip(value, over, number, strict=True)
    ]
    told_by = f"Winter before the summer of {known.winter}; canes of two years and older."
    return _Sorted(_binned(value, edges), names, _ramp(5), words, told_by)


def _by_bloom(planting: Planting) -> _Sorted:
    outlook = bloom(planting)
    past = {s: outlook.of(s).chance_past for s in _OPEN_AND_OVER}
    sheds = past["catkin_60"] - past["catkin_69"] >= 0.5
    open_ = past["pistillate_out"] - past["pistillate_withered"] >= 0.5
    begun = np.maximum(past["catkin_60"], past["pistillate_out"]) >= 0.5
    none = np.isnan(outlook.of("pistillate_out").median) & np.isnan(outlook.of("catkin_60").median)
    over = begun & ~sheds & ~open_
    place = np.select([none, sheds & open_, open_, sheds, over], [5, 2, 1, 3, 4], default=0)
    names = (
        "not yet in flower",
        "stigmas out",
        "stigmas out and catkins shedding",
        "catkins shedding",
        "over, or between the two",
        "no flowers expected",
    )
    words = [_bloom_words(outlook, k) for k in range(len(outlook.tags))]
    return _Sorted(place, names, _ramp(5), words, f"As likely as not or more, {planting.on}.")


_OPEN_AND_OVER = ("catkin_60", "catkin_69", "pistillate_out", "pistillate_withered")


def _bloom_words(outlook: BloomOutlook, k: int) -> str:
    parts = []
    for name, stage in (("stigmas out", "pistillate_out"), ("first pollen", "catkin_60")):
        window = outlook.window(stage, k)
        if window is not None:
            parts.append(f"{name} {window.told()}")
    return "; ".join(parts) or "no flowers expected"


def _by_ripening(planting: Planting) -> _Sorted:
    outlook = bloom(planting)
    ripe = outlook.of("roll_out_main")
    known = ripe.median[~np.isnan(ripe.median)]
    low, high = np.quantile(known, [0.05, 0.95]) if known.size else (240.0, 260.0)
    edges = np.unique(np.linspace(low, max(high, low + 4), 6)[1:-1].round()).tolist()
    days = [day_of(outlook.year, day) for day in edges]
    names = (
        f"before {day_told(days[0])}",
        *(span_told(a, b) for a, b in itertools.pairwise(days)),
        f"from {day_told(days[-1])} on",
        "no nuts expected",
    )
    windows = [outlook.window("roll_out_main", k) for k in range(len(outlook.tags))]
    words = [f"half roll out {w.told()}" if w else "no nuts expected" for w in windows]
    told_by = f"Day on which half of the nuts roll out, {outlook.year}; {ripe.basis}."
    return _Sorted(_binned(ripe.median, edges), names, _ramp(len(edges) + 1), words, told_by)


def _by_crop(planting: Planting) -> _Sorted:
    found, units = crops(planting), planting.about.units
    years = np.unique(found.year)[-CROP_YEARS:]
    kg, count = (np.zeros(len(planting.shrubs)) for _ in range(2))
    lately = np.isin(found.year, years)
    np.add.at(kg, found.shrub[lately], found.kg[lately])
    np.add.at(count, found.shrub[lately], 1.0)
    mean = np.divide(kg, count, out=np.full_like(kg, np.nan), where=count > 0)
    some = mean[~np.isnan(mean)]
    if not some.size:
        raise NotEnoughKnown("no picking is on record yet; weigh one: nuttery note picking")
    edges = np.unique(np.quantile(some, [0.2, 0.4, 0.6, 0.8])).tolist()
    marks = [told(edge, "mass", units) for edge in edges]
    names = (
        f"under {marks[0]} a year",
        *(f"{a} to {b}" for a, b in itertools.pairwise(marks)),
        f"{marks[-1]} and more",
        "not weighed in these years",
    )
    words = [
        "not weighed" if np.isnan(m) else f"{told(m, 'mass', units)} a year, {c:.0f} years weighed"
        for m, c in zip(mean, count, strict=True)
    ]
    told_by = (
        f"In shell, mean of {', '.join(map(str, years))}; a fifth of the shrubs in each class."
    )
    return _Sorted(_binned(mean, edges), names, _ramp(len(edges) + 1), words, told_by)


def _by_visit(planting: Planting) -> _Sorted:
    last = [max(s.last_seen.values(), default=None) for s in planting.shrubs]
    days = np.array([np.nan if day is None else (planting.on - day).days for day in last])
    names = (
        "within a week",
        "within a month",
        "within half a year",
        "within a year",
        "longer ago",
        "never noted",
    )
    words = [
        "never noted" if day is None else f"last noted {day_told(day)} {day.year}" for day in last
    ]
    place = _binned(days, [7.5, 31.5, 183.5, 366.5])
    return _Sorted(place, names, _ramp(5), words, f"Day of the last note, as of {planting.on}.")


ASKED: dict[str, tuple[str, Callable[[Planting], _Sorted]]] = {
    "pollen": ("Short of pollen", _by_pollen),
    "canes": ("Ages of the canes", _by_age),
    "bloom": ("In flower now", _by_bloom),
    "ripe": ("Ripe when", _by_ripening),
    "crop": ("Crop of late years", _by_crop),
    "visited": ("Last visited", _by_visit),
}
"""What may be asked, its title, and how shrubs are sorted by it."""
