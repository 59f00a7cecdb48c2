"""What earlier seasons taught of each shrub: the clock of every stage, and how its nuts ripen."""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from nuttery.science.arguments import Floats, Ints
from nuttery.science.bloom import (
    Clock,
    Ripening,
    fit_clock,
    prior_clock,
    shrub_habits,
)
from nuttery.season.planting import Planting
from nuttery.season.ripening import earlier_tests, learn_ripening
from nuttery.season.sightings import BLOOM_STAGES, Sightings, neighbours
from nuttery.season.weather import Record, daily_means, record, season_year

BLOOM_DAYS = 210
"""Days of a year that bloom and leaf-out need, from 1 January to the end of July."""
ENOUGH = 1500
"""Looks from which base, start and spreads of a clock are learned; further shrubs then only learn
their own habit. At this number the shared values are as sure as the seasons behind them allow."""


@dataclass(frozen=True)
class Learned:
    """Clocks and ripening as earlier seasons taught them.

    Attributes
    ----------
    clocks : stage → clock, for the stages of flower and leaf
    ripening : of the nuts
    label : (n,) number of each shrub's genotype: layers share their original's habits
    lot : (n,) number of each shrub's seed lot
    """

    clocks: Mapping[str, Clock]
    ripening: Ripening
    label: Ints
    lot: Ints


@dataclass(frozen=True)
class KeptClock:
    """A clock as plain arrays, so that it can be kept with the register.

    Attributes
    ----------
    told : the plain numbers of the clock and of each of its others
    labels, habits : (s,) shrubs, and (clocks, s, 2) mean and variance of their logarithms
    lots, lot_habits : the same of seed lots
    theta_sd : how unsure base and start are
    """

    told: tuple[dict[str, float], ...]
    labels: Ints
    habits: Floats
    lots: Ints
    lot_habits: Floats
    theta_sd: tuple[float, float]


def genotypes(planting: Planting) -> tuple[Ints, Ints]:
    """Number of each shrub's genotype, and of its seed lot; shrubs of no lot are one lot."""
    originals: dict[str, int] = {}
    lots: dict[str, int] = {}
    lot_of: dict[int, int] = {}
    label = []
    for shrub in planting.shrubs:
        own = originals.setdefault(_original(planting, shrub.tag), len(originals))
        label.append(own)
        lot_of.setdefault(own, lots.setdefault(shrub.seed_lot or "", len(lots)))
    return np.array(label, dtype=np.int64), np.array([lot_of[k] for k in label], dtype=np.int64)


def _original(planting: Planting, tag: str) -> str:
    """Tag of the seedling that a shrub is a layer of, through layers of layers."""
    seen = {tag}
    while (shrub := planting.by_tag.get(tag)) is not None and shrub.copy_of not in {None, *seen}:
        tag = str(shrub.copy_of)
        seen.add(tag)
    return tag


def learned(planting: Planting, seen: Sightings) -> Learned:
    """Return the clock of every stage and the ripening, learned from the seasons before this one.

    They are kept by the notes and the weather that they rest on: a note of this season changes
    neither, so that it is answered at once.

    Raises
    ------
    NotEnoughKnown
        If there is no weather at all.
    """
    known, year = record(planting), season_year(planting.on)
    label, lot = genotypes(planting)
    priors = {stage: _prior(planting, stage) for stage in BLOOM_STAGES}
    basis = _Basis(seen, known, year, label, lot)
    mark = basis.mark(repr(priors))

    def taught() -> dict[str, KeptClock]:
        return {stage: _kept(_learn(stage, basis, priors[stage])) for stage in BLOOM_STAGES}

    kept = planting.remembered_by("clocks", mark, taught)
    clocks = {stage: _clock(one) for stage, one in kept.items()}
    tests = earlier_tests(
        seen,
        known,
        year,
        leaf=clocks["leaf_11"],
        who=(label, lot),
        latest=planting.value("ripening.latest").value,
    )
    ripening = planting.remembered_by("ripening", tests.mark, lambda: learn_ripening(tests))
    return Learned(clocks, ripening, label, lot)


def _prior(planting: Planting, stage: str) -> Clock:
    """The shipped belief about a stage, with what the grower has set in its stead."""
    return replace(
        prior_clock(stage),
        base=planting.value("bloom.base").value,
        start_doy=planting.value("bloom.start").value,
        requirement=planting.value(f"bloom.{stage}.heat").value,
        spread=planting.value(f"bloom.{stage}.spread").value,
        residual_sd=planting.value("bloom.residual_sd").value,
    )


class _Basis:
    """Notes and weather of the seasons before this one."""

    def __init__(self, seen: Sightings, known: Record, year: int, label: Ints, lot: Ints) -> None:
        whole = np.array(known.whole_years(BLOOM_DAYS), dtype=np.int64)
        use = np.isin(seen.years, whole) & (seen.years < year)
        self.years = seen.years[use]
        self.temps = daily_means(known, self.years, BLOOM_DAYS)
        self.seen, self.own = seen.seen[:, use], seen.own[:, use]
        self.label, self.lot = label, lot

    def mark(self, more: str) -> str:
        """A name that changes with anything that the clocks rest on."""
        digest = hashlib.sha256(more.encode())
        for part in (self.years, self.temps, self.seen, self.own, self.label, self.lot):
            digest.update(np.ascontiguousarray(part).tobytes())
        return digest.hexdigest()

    def rows(self, stage: str) -> tuple[Ints, Ints, Floats]:
        """Shrub, row of the season's weather and bounds of every look that bears on a stage."""
        bounds = self.seen[:, :, BLOOM_STAGES.index(stage)]
        low = np.where(bounds[..., 0] < 1, -np.inf, bounds[..., 0])
        high = np.where(bounds[..., 1] > BLOOM_DAYS, np.inf, bounds[..., 1])
        told = (low < BLOOM_DAYS) & (high > 1) & (np.isfinite(low) | np.isfinite(high))
        shrub, season = np.nonzero(told)
        return shrub, season, np.column_stack([low[told], high[told]])


def _learn(stage: str, basis: _Basis, prior: Clock) -> Clock:
    """Clock of one stage; the shipped belief where nobody ever looked for it."""
    if not basis.own[:, :, BLOOM_STAGES.index(stage)].any():
        return prior
    shrub, season, seen = basis.rows(stage)
    if not len(shrub):
        return prior
    label, lot = basis.label[shrub], basis.lot[shrub]
    some = _some(label)
    clock = fit_clock(
        basis.temps[season[some]], seen[some], shrub=label[some], lot=lot[some], prior=prior
    )
    if some.all():
        return clock
    return shrub_habits(clock, basis.temps, season, seen, shrub=label, lot=lot)


def _some(label: Ints) -> NDArray[np.bool_]:
    """Notes of whole shrubs, drawn at random but always the same ones, about `ENOUGH` of them."""
    labels, counts = np.unique(label, return_counts=True)
    order = np.random.default_rng(11).permutation(len(labels))
    chosen = order[: int(np.searchsorted(np.cumsum(counts[order]), ENOUGH)) + 1]
    return np.isin(label, labels[chosen])


def between(clocks: Mapping[str, Clock]) -> dict[str, tuple[str, str, float]]:
    """Stages that nobody noted but whose neighbours are learned: before, after, and the share.

    The share is the place between the two in the heat that the priors give.
    """
    found = {}
    for stage, clock in clocks.items():
        around = neighbours(stage)
        if around is None or not clock.is_prior or any(clocks[s].is_prior for s in around):
            continue
        low, middle, high = (prior_clock(s).requirement for s in (around[0], stage, around[1]))
        found[stage] = (*around, (middle - low) / (high - low))
    return found


_PLAIN = tuple(
    f.name for f in fields(Clock) if f.name not in {"shrubs", "lots", "others", "theta_sd"}
)


def _kept(clock: Clock) -> KeptClock:
    every = (clock, *clock.others)
    return KeptClock(
        told=tuple({name: getattr(one, name) for name in _PLAIN} for one in every),
        labels=np.array(list(clock.shrubs), dtype=np.int64),
        habits=np.array([list(one.shrubs.values()) for one in every], dtype=np.float64),
        lots=np.array(list(clock.lots), dtype=np.int64),
        lot_habits=np.array([list(one.lots.values()) for one in every], dtype=np.float64),
        theta_sd=clock.theta_sd,
    )


def _clock(kept: KeptClock) -> Clock:
    every = [
        Clock(
            **told,  # type: ignore[arg-type]
            shrubs=_table(kept.labels, habits),
            lots=_table(kept.lots, lots),
        )
        for told, habits, lots in zip(kept.told, kept.habits, kept.lot_habits, strict=True)
    ]
    return replace(every[0], others=tuple(every[1:]), theta_sd=kept.theta_sd)


def _table(labels: Ints, habits: Floats) -> dict[int, tuple[float, float]]:
    pairs = ((float(a), float(b)) for a, b in habits.reshape(-1, 2).tolist())
    return dict(zip(labels.tolist(), pairs, strict=True))
