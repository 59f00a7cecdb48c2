"""What the season plan says of pollen: hand pollen and donors, test crosses, and new shrubs."""

from collections.abc import Iterable, Iterator
from datetime import date, timedelta

import numpy as np

from nuttery.season.bloom import bloom
from nuttery.season.crosses import COUNT_ON, cross_plan, waiting
from nuttery.season.estimate import Sure, day_of, span_told
from nuttery.season.line import Line
from nuttery.season.places import empty_places
from nuttery.season.planting import Planting
from nuttery.season.pollen import PollenOutlook, pollen
from nuttery.season.words import first_of, plural

ONE_BY_ONE = 6
"""Short shrubs that get a line of their own; the rest share one."""
MANY = 3
"""Shrubs that must go short by one loss before it is worth a line."""
GUARDED = 3
"""Donors named at most."""
HELD_BACK = {
    "compatibility": "its neighbours' pollen is refused",
    "timing": "little pollen flies while its stigmas are out",
    "distance": "donors stand too far off",
    "catkins": "its donors bear too few catkins",
    "unknown": "whether it accepts its neighbours is not known yet",
}
"""Reasons of a shortage, as said of one shrub."""


CROSSES = 3
"""Test crosses asked for in one spring."""
BAGS_AHEAD = timedelta(days=28)
"""Crosses are told so long before the first bag must be on."""
PER_NEW = 4
"""Short shrubs for which one new shrub is proposed."""
MOST_NEW = 6


def lines(planting: Planting, until: date) -> Iterable[Line]:
    """Feed by hand and guard donors in bloom; test crosses before it; new shrubs in autumn."""
    yield from _count(planting, until)
    if planting.on.month in {7, 8}:
        return
    outlook = pollen(planting)
    if planting.on.month <= 6:
        yield from _short(planting, outlook, until)
        yield from _leant_on(planting, outlook, until)
        yield from _crosses(planting, until)
    else:
        yield from _plant(planting, outlook, until)


def _count(planting: Planting, until: date) -> Iterator[Line]:
    """Crosses made this spring and not yet counted."""
    first, last = (date(planting.on.year, *day) for day in COUNT_ON)
    made = [w for w in waiting(planting) if w[2].year == planting.on.year]
    if not made or planting.on > last or until < first:
        return
    told = "; ".join(f"{seed} × {pollen}" for seed, pollen, _ in made)
    yield Line(
        key="pollen:count",
        subject="pollen",
        act=f"Count the clusters under the bags of the test crosses: {told}",
        shrubs=_walked(planting, [seed for seed, _, _ in made]),
        first=max(first, planting.on),
        last=last,
        why=f"{len(made)} crosses made this spring are not counted; after July animals take nuts",
        sure="sure",
        waits="the crosses teach nothing",
        weight=float(len(made)),
    )


def _crosses(planting: Planting, until: date) -> Iterator[Line]:
    """Test crosses to bag before their stigmas show."""
    if planting.on.month > 4 or not bloom(planting).of("pistillate_out").median.size:
        return
    plan = cross_plan(planting, CROSSES)
    made = [c for c in plan.crosses if c.bag_by is not None and c.bag_by >= planting.on]
    if not made:
        return
    last = min(c.bag_by for c in made if c.bag_by is not None)
    if last - BAGS_AHEAD > until:
        return
    told = "; ".join(f"{c.seed} for pollen of {c.pollen}" for c in made)
    yield Line(
        key="pollen:crosses",
        subject="pollen",
        act=f"Bag flowers for {'a test cross' if len(made) == 1 else f'{len(made)} test crosses'}: "
        f"{told} (days and steps: nuttery pollen crosses)",
        shrubs=_walked(planting, [c.seed for c in made]),
        first=max(planting.on, last - BAGS_AHEAD),
        last=last,
        why=f"whether pollen is accepted is unsettled for {plan.pairs} pairs that matter, and a "
        f"guess is wrong {plan.unsettled:.0%} of the time; these crosses teach most about them",
        sure="likely",
        sure_why="by expected information; bags must be on before the stigmas show",
        waits="another year of guessing who feeds whom",
        weight=sum(c.gain for c in made),
    )


def _plant(planting: Planting, outlook: PollenOutlook, until: date) -> Iterator[Line]:
    """New shrubs for empty places, where too many go short."""
    short = outlook.short_rows
    free = empty_places(planting)
    if len(short) < MANY or not free:
        return
    number = min(len(free), MOST_NEW, max(1, round(len(short) / PER_NEW)))
    yield Line(
        key="pollen:plant",
        subject="pollen",
        act=f"Order or raise {number} seedling{'s' * (number > 1)} for empty places; where and of "
        f"which lot: nuttery pollen siting --places {number}",
        shrubs=tuple(outlook.tags[k] for k in np.sort(short)),
        first=planting.on,
        last=max(until, date(planting.on.year, 11, 15)),
        why=f"pollen runs short for {plural(len(short), 'shrub')} in the bloom of {outlook.year} "
        f"(mean {outlook.cover[short].mean():.0%} of their season), and there is room at "
        f"{plural(len(free), 'empty place')}",
        sure=_sure(outlook),
        sure_why=_sure_why(outlook),
        waits="a new donor needs five years and more to shed",
        weight=float((outlook.short - outlook.cover[short]).sum()),
        rests_on=_rests_on(planting, outlook),
    )


def _walked(planting: Planting, tags: list[str]) -> tuple[str, ...]:
    """Tags in walking order, each once."""
    return tuple(s.tag for s in planting.shrubs if s.tag in set(tags))


def _short(planting: Planting, outlook: PollenOutlook, until: date) -> Iterator[Line]:
    """A line for each of the shortest shrubs that hand pollen can still help, one for the rest."""
    told = 0
    more: list[tuple[int, tuple[date, date]]] = []
    for at, k in enumerate(outlook.short_rows.tolist()):
        window = _window(planting, outlook, at, until)
        if window is None:
            continue
        if told < ONE_BY_ONE:
            told += 1
            yield _one(planting, outlook, at, window)
        else:
            more.append((k, window))
    if more:
        yield _rest(planting, outlook, more)


def _window(
    planting: Planting, outlook: PollenOutlook, at: int, until: date
) -> tuple[date, date] | None:
    hand = outlook.by_hand
    if hand.donor[at] < 0 or day_of(outlook.year, float(hand.gather_last[at])) < planting.on:
        return None
    first, last = (day_of(outlook.year, float(d[at])) for d in (hand.first, hand.last))
    start, end = max(first, planting.on), min(last, until)
    return (start, last) if start <= end else None


def _one(planting: Planting, outlook: PollenOutlook, at: int, window: tuple[date, date]) -> Line:
    k, hand = int(outlook.short_rows[at]), outlook.by_hand
    donor = outlook.tags[hand.donor[at]]
    sheds = span_told(
        day_of(outlook.year, float(hand.gather_first[at])),
        day_of(outlook.year, float(hand.gather_last[at])),
    )
    return Line(
        key=f"pollen:short:{outlook.tags[k]}",
        subject="pollen",
        act=f"Bring pollen of {donor} by hand: gather its catkins while they shed ({sheds}), "
        "dust the open stigmas on a dry, still day",
        shrubs=(outlook.tags[k],),
        first=window[0],
        last=window[1],
        why=f"pollen is taken in {_cover(outlook, k)} of its season, below {outlook.short:.0%}; "
        f"{HELD_BACK[outlook.reason[k]]}; {_fed_by(outlook, k)}; "
        f"{donor} is accepted with a chance of {hand.chance[at]:.0%}",
        sure=_sure(outlook),
        sure_why=_sure_why(outlook),
        waits="fewer clusters set on it this year",
        weight=float(outlook.short - outlook.cover[k]),
        rests_on=_rests_on(planting, outlook),
    )


def _rest(
    planting: Planting, outlook: PollenOutlook, more: list[tuple[int, tuple[date, date]]]
) -> Line:
    rows = sorted(k for k, _ in more)
    reasons = [outlook.reason[k] for k in rows]
    chief = max(sorted(set(reasons)), key=reasons.count)
    words = {"catkins": "too few catkins", "unknown": "unknown genotypes"}.get(chief, chief)
    return Line(
        key="pollen:short:more",
        subject="pollen",
        act=f"{len(rows)} more shrubs are short; with time left, bring them pollen too "
        "(from whom: nuttery pollen)",
        shrubs=tuple(outlook.tags[k] for k in rows),
        first=min(first for _, (first, _) in more),
        last=max(last for _, (_, last) in more),
        why=f"pollen is taken in {outlook.cover[rows].min():.0%} to "
        f"{outlook.cover[rows].max():.0%} of their seasons; what holds most of them back is "
        f"{words} ({reasons.count(chief)} of {len(rows)})",
        sure=_sure(outlook),
        sure_why=_sure_why(outlook),
        waits="fewer clusters set on them this year",
        weight=float((outlook.short - outlook.cover[rows]).mean()),
        rests_on=_rests_on(planting, outlook),
    )


def _leant_on(planting: Planting, outlook: PollenOutlook, until: date) -> Iterator[Line]:
    """The donors whose loss would leave most shrubs short."""
    sheds = bloom(planting).of("catkin_69")
    over = dict(zip(bloom(planting).tags, sheds.high, strict=True))
    for k in np.argsort(-outlook.if_lost, kind="stable")[:GUARDED].tolist():
        lost, tag = int(outlook.if_lost[k]), outlook.tags[k]
        if lost < MANY or np.isnan(over[tag]):
            return
        last = day_of(outlook.year, float(over[tag]))
        if last < planting.on:
            continue
        yield Line(
            key=f"pollen:leans:{tag}",
            subject="pollen",
            act=f"Spare the catkin-bearing canes of this donor: {lost} shrubs lean on it",
            shrubs=(tag,),
            first=planting.on,
            last=min(until, last),
            why=f"without its pollen, {lost} more shrubs would fall below {outlook.short:.0%} "
            f"of their season: {first_of(outlook.without(k))}",
            sure=_sure(outlook),
            sure_why=_sure_why(outlook),
            waits="its catkins are gone for the year",
            weight=0.1 * lost,
            rests_on=_rests_on(planting, outlook),
        )


def _cover(outlook: PollenOutlook, k: int) -> str:
    return f"{outlook.cover[k]:.0%} ({outlook.low[k]:.0%}–{outlook.high[k]:.0%})"


def _fed_by(outlook: PollenOutlook, k: int) -> str:
    shares = zip(outlook.donors[k].tolist(), outlook.donor_share[k], strict=True)
    fed = [f"{outlook.tags[d]} ({share:.0%})" for d, share in shares if d >= 0]
    return f"fed chiefly by {', '.join(fed[:3])}" if fed else "no donor reaches it"


def _sure(outlook: PollenOutlook) -> Sure:
    tested = outlook.known_genotypes >= len(outlook.tags) / 4
    return "likely" if tested and outlook.half_dose.certainty == "learned" else "a guess"


def _sure_why(outlook: PollenOutlook) -> str:
    dose = (
        f"the dose from {outlook.half_dose.n_records} counts of set"
        if outlook.half_dose.certainty == "learned"
        else "the dose assumed"
    )
    evidence = f"{outlook.known_genotypes} tested genotypes and {outlook.crosses} test crosses"
    return f"{evidence}, else lineage; {dose}; {outlook.wind.drift_told()}"


def _rests_on(planting: Planting, outlook: PollenOutlook) -> tuple[tuple[str, str, str], ...]:
    half, drift = outlook.half_dose, planting.value("pollen.drift.power.exponent")
    span = f"{half.half_dose:.2g} ({half.low:.2g}–{half.high:.2g})"
    return (
        ("drift with distance", f"power {drift.value:g}", drift.certainty),
        ("half-dose, of a shrub with some catkins at 5 m", span, half.certainty),
    )
