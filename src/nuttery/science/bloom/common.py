"""What the shrubs of a planting share in a season, learned from this season's looks.

Two things move all shrubs together: the season's own error (weather that a heat sum cannot tell),
and the planting's level where earlier notes leave it open. A look at some shrubs therefore tells of
those that nobody looked at.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from nuttery.reference import value
from nuttery.science.arguments import Floats, Ints
from nuttery.science.bloom.clock import Clock
from nuttery.science.bloom.heat import heat_sums, reached

LEVELS = np.linspace(-3.0, 3.0, 15)
"""Grid of the planting's level, in units of its doubt."""
SEASONS = np.linspace(-4.0, 4.0, 49)
"""Grid of the season's error, in units of its standard deviation."""
_ENOUGH = 150  # shrubs looked at that decide; more change the season's error by less than 0.1 day
_STRAY = 1e-3  # chance that a look tells nothing of the shrub: a slip of the tag or of the pen
_TURNS = 10  # between the stages; those not looked at do not take part
_LEAST_OWN = 0.09  # days², of a note's own error


@dataclass(frozen=True)
class StageModel:
    """The clocks of one stage, laid out by clock and shrub.

    Attributes
    ----------
    clocks : the clock and its others
    mean, own : (clocks, n) middle of the logarithm of the requirement, and standard deviation of
        the shrub's own part of it
    share : (clocks, n) by how much a shrub follows the planting's level: 1 where it has no notes
    level : (clocks,) doubt of the planting's level
    season, scale : (clocks,) days, error that all share in a season, and scale of a shrub's own
    sums : (clocks, n_days) degree-days over the middle of the courses
    first_doy : day of year of column 0
    """

    clocks: tuple[Clock, ...]
    mean: Floats
    own: Floats
    share: Floats
    level: Floats
    season: Floats
    scale: Floats
    sums: Floats
    first_doy: int

    @property
    def tail(self) -> int:
        """Degrees of freedom of the own error, 0 where it is normal."""
        return self.clocks[0].tail

    def log_mass(
        self, level: Floats, season: Floats, kind: Ints, *, who: Ints, low: Floats, high: Floats
    ) -> Floats:
        """Logarithm of the chance of notes, given what is shared.

        Parameters
        ----------
        level, season : (m, s) what is shared, in units of their doubts
        kind : (m,) which clock
        who : (m,) which shrub
        low, high : (m,) bounds of the note

        Returns
        -------
        (m, s) float

        Notes
        -----
        Source: normal approximation of a shrub's own habit and error, in days.
        Valid:  `level` the same over each row.
        """
        log_heat = self.mean[kind, who] + self.share[kind, who] * self.level[kind] * level[:, 0]
        days, stretch = reached(self.sums, kind, self.first_doy, log_heat, onward=True)
        sd = np.hypot(self.scale[kind], self.own[kind, who] * stretch)[:, None]
        middle = days[:, None] + self.season[kind][:, None] * season
        return _log_between((low[:, None] - middle) / sd, (high[:, None] - middle) / sd)


def _log_between(low: Floats, high: Floats) -> Floats:
    from scipy.special import ndtr

    mass: Floats = np.log(np.maximum(ndtr(high) - ndtr(low), 0.0) + _STRAY)
    return mass


def laid_out(
    clock: Clock, temps: Floats, labels: Ints, lot: Ints | None, first_doy: int
) -> StageModel:
    """Return a stage's clocks laid out over the shrubs.

    Parameters
    ----------
    clock : with its others
    temps : (n_futures, n_days) °C
    labels : (n,) of shrubs
    lot : (n,) of seed lots, or none
    first_doy : day of year of column 0

    Notes
    -----
    Source: a shrub whose own notes leave variance v of its logarithm follows the planting's level,
            of variance V, by the share q with V q² + τ² q = v (nested random-intercept model, τ²
            the variance over shrubs); without notes q = 1.
    Valid:  any clock.
    """
    clocks = (clock, *clock.others)
    logs = np.stack([one.log_requirements(len(labels), labels, lot) for one in clocks])
    doubt = np.array([one.level_sd for one in clocks])
    spread2 = np.array([one.spread for one in clocks])[:, None] ** 2
    level2, variance = doubt[:, None] ** 2, logs[..., 1]
    root = np.sqrt(spread2**2 + 4 * level2 * variance)
    share = np.clip(2 * variance / np.maximum(spread2 + root, 1e-12), 0.0, 1.0)
    own = np.sqrt(np.maximum(variance - level2 * share**2, 0.0))
    season = np.array([one.season_sd for one in clocks])
    rest = np.array([max(one.residual_sd**2 - one.season_sd**2, _LEAST_OWN) for one in clocks])
    narrowed = np.array([one.scale / one.residual_sd for one in clocks])
    middle = np.ascontiguousarray(temps.mean(axis=0, keepdims=True))
    sums = [heat_sums(middle, first_doy, one.base, one.softness, one.start_doy) for one in clocks]
    return StageModel(
        clocks,
        np.ascontiguousarray(logs[..., 0]),
        own,
        share,
        doubt,
        season,
        narrowed * np.sqrt(rest),
        np.vstack(sums),
        first_doy,
    )


@dataclass(frozen=True)
class Common:
    """Draws of what is shared: one value a stage and future, the same for all shrubs.

    Attributes
    ----------
    level, season : (n_stages, n_futures) in units of their doubts
    kind : (n_stages, n_futures) which of a stage's clocks
    """

    level: Floats
    season: Floats
    kind: Ints


@dataclass(frozen=True)
class Strata:
    """Normal scores of two things by stage and future.

    Attributes
    ----------
    scores : (n_stages, 2, n_futures), one in each stratum
    common : (2, n_futures) what the stages have in common
    """

    scores: Floats
    common: Floats


def strata(n_stages: int, n_futures: int, rng: np.random.Generator) -> Strata:
    """Scores of two things by stage and future, one in each stratum.

    Notes
    -----
    Source: ranks of normal numbers of which `bloom.stage_correlation` is common to the stages.
    Valid:  any numbers.
    """
    from scipy.special import ndtri

    shared = value("bloom.stage_correlation").value
    common = rng.standard_normal((2, n_futures))
    own = rng.standard_normal((n_stages, 2, n_futures))
    z = np.sqrt(shared) * common + np.sqrt(1 - shared) * own
    return Strata(ndtri((z.argsort(axis=2).argsort(axis=2) + 0.5) / n_futures), common)


def common_draws(
    models: Sequence[StageModel], bounds: Floats | None, n_futures: int, rng: np.random.Generator
) -> Common:
    """Draw what is shared as this season's looks leave it.

    Parameters
    ----------
    models : of the stages
    bounds : (n, n_stages, 2) day of year between which each came, ±inf where open; or none
    n_futures : draws wanted
    rng : source of the draws

    Notes
    -----
    Source: Gibbs sampling over the stages; each stage's season error and level on a grid, its clock
            summed out; `bloom.stage_correlation` of both is common to the stages.
    Valid:  any looks; the shrubs' own habits are integrated by a normal in days.
    Limits: the looks at one shrub are taken as independent over its stages here.
    """
    score = strata(len(models), n_futures, rng).scores
    level, season = score[:, 0].copy(), score[:, 1].copy()
    kind = np.stack([np.arange(n_futures) % len(m.clocks) for m in models]).astype(np.int64)
    told = {} if bounds is None else _tables(models, bounds)
    if not told:
        return Common(level, season, kind)
    centre = rng.standard_normal((2, n_futures))
    for turn in range(_TURNS):
        for j, table in told.items():
            level[j], season[j], cell = _on_grid(table, centre, rng)
            if turn == _TURNS - 1:
                kind[j] = _kinds(table, cell, rng)
        centre = _centre(np.stack([level[list(told)], season[list(told)]]), rng)
    shared = value("bloom.stage_correlation").value
    for j in set(range(len(models))) - set(told):
        level[j], season[j] = np.sqrt(shared) * centre + np.sqrt(1 - shared) * rng.standard_normal(
            (2, n_futures)
        )
    return Common(level, season, kind)


def _tables(models: Sequence[StageModel], bounds: Floats) -> dict[int, Floats]:
    """Log-likelihood of each stage's looks by clock, level and season; stages with looks only."""
    found = {}
    for j, model in enumerate(models):
        low, high = bounds[:, j].T
        who = np.flatnonzero(np.isfinite(low) | np.isfinite(high))
        if who.size:
            some = who[np.unique(np.linspace(0, who.size - 1, min(_ENOUGH, who.size)).astype(int))]
            found[j] = _table(model, some, low[some], high[some])
    return found


def _table(model: StageModel, who: Ints, low: Floats, high: Floats) -> Floats:
    table = np.empty((len(model.clocks), LEVELS.size, SEASONS.size))
    season = np.broadcast_to(SEASONS, (who.size, SEASONS.size))
    for k in range(len(model.clocks)):
        kind = np.full(who.size, k)
        for g, one in enumerate(LEVELS):
            level = np.full((who.size, 1), one)
            each = model.log_mass(level, season, kind, who=who, low=low, high=high)
            table[k, g] = each.sum(axis=0)
    return table


def _on_grid(
    table: Floats, centre: Floats, rng: np.random.Generator
) -> tuple[Floats, Floats, Ints]:
    """Level and season of every future given what the stages have in common, and their cells."""
    shared, n = value("bloom.stage_correlation").value, centre.shape[1]
    top = table.max()
    told = np.log(np.exp(table - top).mean(axis=0) + 1e-300)
    away = [
        -0.5 * (grid - np.sqrt(shared) * one[:, None]) ** 2 / (1 - shared)
        for grid, one in zip((LEVELS, SEASONS), centre, strict=True)
    ]
    log = (told + away[0][:, :, None] + away[1][:, None, :]).reshape(n, -1)
    edges = np.cumsum(np.exp(log - log.max(axis=1, keepdims=True)), axis=1)
    cell = (edges < edges[:, -1:] * rng.random((n, 1))).sum(axis=1)
    step = SEASONS[1] - SEASONS[0]
    season = SEASONS[cell % SEASONS.size] + step * (rng.random(n) - 0.5)
    return LEVELS[cell // SEASONS.size], season, cell


def _kinds(table: Floats, cell: Ints, rng: np.random.Generator) -> Ints:
    """Clock of every future, by how likely each makes the looks."""
    log = table.reshape(len(table), -1)[:, cell]
    edges = np.cumsum(np.exp(log - log.max(axis=0)), axis=0)
    return np.asarray((edges < edges[-1] * rng.random(len(cell))).sum(axis=0), dtype=np.int64)


def _centre(scores: Floats, rng: np.random.Generator) -> Floats:
    """What the stages have in common given theirs, (2, n_futures)."""
    shared, n_stages = value("bloom.stage_correlation").value, scores.shape[1]
    precision = 1 + n_stages * shared / (1 - shared)
    mean = np.sqrt(shared) / (1 - shared) * scores.sum(axis=1) / precision
    drawn: Floats = mean + rng.standard_normal(mean.shape) / np.sqrt(precision)
    return drawn


def log_told(models: Sequence[StageModel], common: Common, bounds: Floats) -> Floats:
    """Logarithm of the chance of each shrub's looks in every future, (n, n_futures).

    Notes
    -----
    Source: `StageModel.log_mass` at the drawn values, summed over stages.
    Valid:  as `common_draws`. A shrub's own looks have already moved the shared values; futures are
            weighed by its inverse when they are held to those looks, so that they count once.
    """
    n, n_futures = len(bounds), common.level.shape[1]
    total = np.zeros((n, n_futures))
    for j, model in enumerate(models):
        low, high = bounds[:, j].T
        who = np.flatnonzero(np.isfinite(low) | np.isfinite(high))
        rows = np.repeat(who, n_futures)
        level, season, kind = (
            np.tile(part[j], who.size) for part in (common.level, common.season, common.kind)
        )
        mass = model.log_mass(
            level[:, None], season[:, None], kind, who=rows, low=low[rows], high=high[rows]
        )
        total[who] += mass.reshape(who.size, n_futures)
    return total
