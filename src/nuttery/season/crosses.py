"""Test crosses: which ones would teach most about who can feed whom, and when to make them."""

from dataclasses import dataclass
from datetime import date

import numpy as np

from nuttery.records import CrossCounted, CrossMade
from nuttery.science.arguments import Bools, Floats, Ints
from nuttery.science.pollen import NextCross, next_crosses
from nuttery.season.bloom import BloomOutlook, bloom
from nuttery.season.errors import WrongQuestion
from nuttery.season.estimate import Window, day_of, doy_of
from nuttery.season.planting import Planting
from nuttery.season.pollen_field import PollenField, pollen_field
from nuttery.season.watch import QUIET, Watch

MOST_ASKED = 8
TARGETS, CANDIDATES = 200, 100
"""Pairs of shrubs about which crosses are to teach, and crosses that are weighed up."""
PER_SHRUB = 6
"""Pairs kept for each receiver."""
SHEDS = 0.1
"""Share of its pollen in the air on some day from which a shrub is asked for pollen."""
SETTLED = 0.03
"""A pair of which one answer is less likely than so needs no test."""
COUNT_ON = (7, 10), (7, 31)
"""Days between which clusters under the bag are counted: grown, and not yet taken by animals."""
STEPS = (
    (
        "Bag: before the stigmas show, pinch every catkin off a twig of the seed parent that has "
        "a dozen or more pistillate buds, and tie a bag of cloth over it that lets no pollen "
        "through. Bag a second twig that gets no pollen, as a check."
    ),
    (
        "Gather: when the pollen parent sheds, lay its catkins on paper in a dry room over night "
        "and sieve off the pollen. Kept dry and cold in a closed jar it outlasts the bloom."
    ),
    (
        "Dust: when the stigmas are out, open the bag on a still day, dab pollen on every flower "
        "with a small clean brush of its own, and close it at once. Do it again some days later."
    ),
    "Unbag: when no catkin of the planting sheds any more. Leave a label.",
    (
        "Count: clusters in July, and those of the check. It took when clearly more set than on "
        "the check, three or more of a dozen flowers, say."
    ),
)
"""How to make one. Common practice; only the seed parent's own catkins are pinched off, as its
stigmas refuse its own pollen but catkins in the bag would crowd the flowers."""
WRITE_DOWN = (
    "cross made: shrub (seed parent), pollen from, flowers bagged",
    "cross counted: clusters set under the bag, and whether it took",
)


@dataclass(frozen=True)
class TestCross:
    """A cross worth making.

    Attributes
    ----------
    seed, pollen : tags of seed parent and pollen parent
    takes : probability that it takes
    gain : bits that it teaches about pairs that matter, on top of the crosses before it
    bag_by : day before which to bag the seed parent's twig; None when it is too late this spring
    gather, dust : when the pollen parent sheds, and when the seed parent's stigmas are out
    unbag : day after which no pollen flies
    count : first and last day on which to count what set
    """

    seed: str
    pollen: str
    takes: float
    gain: float
    bag_by: date | None
    gather: Window | None
    dust: Window | None
    unbag: date | None
    count: tuple[date, date]


@dataclass(frozen=True)
class CrossPlan:
    """Which test crosses to make next.

    Attributes
    ----------
    year : season whose bloom the days are of
    over : whether it is too late to bag for that bloom, so that the crosses are for the next one
    crosses : the best first
    waiting : crosses made that nobody has counted yet, as (seed, pollen, made)
    pairs : pairs of shrubs whose acceptance matters and is not settled
    unsettled : their mean chance of guessing wrong, today
    steps, write_down : how to make one, and what to note
    """

    year: int
    over: bool
    crosses: tuple[TestCross, ...]
    waiting: tuple[tuple[str, str, date], ...]
    pairs: int
    unsettled: float
    steps: tuple[str, ...] = STEPS
    write_down: tuple[str, ...] = WRITE_DOWN


def cross_plan(planting: Planting, wanted: int = 5, watch: Watch = QUIET) -> CrossPlan:
    """Return the test crosses that would teach most about pairs that matter for cover.

    Parameters
    ----------
    planting : the planting as of a day
    wanted : how many, 1 to 8
    watch : whom to tell how far it has come

    Raises
    ------
    WrongQuestion
        If so many are not answered.
    NotEnoughKnown
        If fewer than two shrubs have a place, or the weather allows no forecast of bloom.
    """
    if not 1 <= wanted <= MOST_ASKED:
        raise WrongQuestion(f"wanted: found {wanted}, expected 1 to {MOST_ASKED} crosses")
    return planting.remembered("crosses", lambda: _plan(planting, wanted, watch), wanted=wanted)


def _plan(planting: Planting, wanted: int, watch: Watch) -> CrossPlan:
    field, outlook = pollen_field(planting, watch), bloom(planting)
    watch.progress("weighing up crosses")
    every, weight, chance = _what_matters(field)
    pairs, weight, chance = every[:TARGETS], weight[:TARGETS], chance[:TARGETS]
    today = doy_of(planting.on, field.year)
    candidates = _can_be_made(every, *_still(field, outlook, today))
    over = not candidates
    if over:
        candidates = _can_be_made(every, *_still(field, outlook, -np.inf))
    matters = {(int(i), int(j)): float(w) for (i, j), w in zip(pairs, weight, strict=True)}
    best = next_crosses(field.posterior, candidates, wanted, matters=matters)
    unsure = np.minimum(chance, 1 - chance)
    return CrossPlan(
        year=field.year,
        over=over,
        crosses=tuple(_dated(field, outlook, cross, over=over) for cross in best),
        waiting=waiting(planting),
        pairs=int((unsure > SETTLED).sum()),
        unsettled=float(unsure.mean()) if unsure.size else 0.0,
    )


def _what_matters(field: PollenField) -> tuple[Ints, Floats, Floats]:
    """Unsettled pairs whose acceptance would move a cover: pairs, that rise, and the chance.

    Those that would move one most come first.

    The rise is the slope of the seed parent's cover by dose, at its expected dose, times the dose
    that the donor would give if accepted. A pair whose answer hangs on an order of dominance that
    is not known is left out: what a result would mean for it is not known either.
    """
    here, n = field.mean, len(field.tags)
    total = np.maximum(here.receptive.sum(axis=1), 1e-9)
    slope = (here.receptive * field.half.half_dose / (here.dose + field.half.half_dose) ** 2).T
    found: list[tuple[float, float, int, int]] = []
    for i in np.flatnonzero(here.receptive.sum(axis=1) > 0).tolist():
        one = slice(i, i + 1)
        reach = here.drift.weight(one, slice(0, n))[0][0] * here.catkins
        rise = reach * (here.shed @ slope[:, i]) / total[i]
        chance = field.accepted(i)
        told = np.isclose(chance, field.accepted_at_most(i))
        open_ = rise * told * (np.minimum(chance, 1 - chance) > SETTLED)
        best = np.argsort(-open_ * chance * (1 - chance), kind="stable")[:PER_SHRUB]
        found += [(float(rise[j]), float(chance[j]), i, int(j)) for j in best if open_[j] > 0]
    found.sort(key=lambda told: (-told[0] * told[1] * (1 - told[1]), told[2:]))
    return (
        np.array([told[2:] for told in found], dtype=np.int64).reshape(-1, 2),
        np.array([told[0] for told in found]),
        np.array([told[1] for told in found]),
    )


def _still(field: PollenField, outlook: BloomOutlook, today: float) -> tuple[Bools, Bools]:
    """Whether each shrub can still be bagged before its stigmas show, and whether it sheds yet."""
    bagged = outlook.of("pistillate_out").low[field.rows] >= today
    shed = field.mean.shed[:, field.days >= today]
    return bagged, shed.max(axis=1, initial=0.0) > SHEDS


def _can_be_made(pairs: Ints, bagged: Bools, sheds: Bools) -> list[tuple[int, int]]:
    """Crosses of these pairs whose one can be bagged and whose other sheds, the worthiest first."""
    able = pairs[bagged[pairs[:, 0]] & sheds[pairs[:, 1]]]
    return [(int(i), int(j)) for i, j in able[:CANDIDATES]]


def _dated(field: PollenField, outlook: BloomOutlook, cross: NextCross, *, over: bool) -> TestCross:
    seed, pollen = (int(field.rows[k]) for k in (cross.seed, cross.pollen))
    gather, dust = outlook.window("catkin_60", pollen), outlook.window("pistillate_out", seed)
    last = np.nanmax(outlook.of("catkin_69").high[field.rows], initial=1.0)
    year = field.year + over
    return TestCross(
        seed=field.tags[cross.seed],
        pollen=field.tags[cross.pollen],
        takes=cross.takes,
        gain=cross.gain,
        bag_by=None if over or dust is None else dust.low,
        gather=None if over else gather,
        dust=None if over else dust,
        unbag=None if over else day_of(field.year, float(last)),
        count=(date(year, *COUNT_ON[0]), date(year, *COUNT_ON[1])),
    )


def waiting(planting: Planting) -> tuple[tuple[str, str, date], ...]:
    """Return crosses of this year and the last that nobody has counted: seed, pollen, day."""
    counted = {note.cross for note in planting.notes(CrossCounted)}
    since = date(planting.on.year - 1, 1, 1)
    return tuple(
        (str(note.shrub), note.pollen_from, note.seen)
        for note in planting.notes(CrossMade, since=since)
        if note.id not in counted
    )
