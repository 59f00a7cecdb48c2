"""Looks at some shrubs tell of the season that all of them share."""

import numpy as np
import pytest

from nuttery.science.bloom import Clock, window_dates

DAYS = np.arange(1, 201)
WARM = -5 + 22 * np.sin(np.pi * (DAYS - 30) / 300)
N, LOOKED = 24, 16
CLOCK = Clock(
    base=3.0, start_doy=32.0, requirement=150.0, residual_sd=3.6, n_records=40, softness=0.0,
    spread=0.08, season_sd=3.0, level_sd=0.05,
)  # fmt: skip
SUMS = np.cumsum(np.maximum(WARM - 3.0, 0) * (DAYS >= 32))
OPEN = [-np.inf, np.inf]


def season(rng):
    """True days of one season: level, season's error, habits and errors as the clock has them."""
    level = np.log(CLOCK.requirement) + rng.normal(0, CLOCK.level_sd)
    heat = np.exp(level + rng.normal(0, CLOCK.spread, N))
    own = np.sqrt(CLOCK.residual_sd**2 - CLOCK.season_sd**2)
    days = np.interp(heat, SUMS, DAYS + 0.5) + rng.normal(0, CLOCK.season_sd)
    return days + rng.normal(0, own, N)


def looks(days, first, last):
    """Weekly looks at the first shrubs up to a day, none at the others."""
    seen = np.full((len(days), 1, 2), OPEN)
    for k, day in enumerate(days[:LOOKED]):
        on = np.arange(first + k % 7, last + 1.0, 7)
        no, yes = on[on + 0.5 < day], on[on + 0.5 >= day]
        seen[k, 0] = [no.max(initial=-np.inf), yes.min(initial=np.inf)]
    return seen


def forecast(seen, seed=1, *, stages=("leaf_11",), n=N, futures=200):
    clocks = dict.fromkeys(stages, CLOCK)
    temps, rng = np.tile(WARM, (futures, 1)), np.random.default_rng(seed)
    return window_dates(clocks, temps, np.arange(n), rng=rng, seen=seen)


@pytest.fixture(scope="module")
def seasons():
    """(true days, told without looks, told with them) of many seasons."""
    found = []
    for seed in range(40):
        days = season(np.random.default_rng(seed))
        seen = looks(days, 80, round(float(np.median(days)) + seed % 9))
        found.append((days, forecast(None, seed), forecast(seen, seed)))
    return found


def errors(seasons, place, rows):
    return np.array([told[place].interval()[0][rows, 0] - told[0][rows] for told in seasons])


def held(seasons, place, rows):
    inside = []
    for told in seasons:
        _, low, high = told[place].interval()
        inside.append((low[rows, 0] <= told[0][rows]) & (told[0][rows] <= high[rows, 0]))
    return float(np.mean(inside))


def test_shrubs_nobody_looked_at_are_told_better_for_the_looks_at_others(seasons):
    others = slice(LOOKED, N)
    before, after = (np.abs(errors(seasons, place, others)).mean() for place in (1, 2))
    assert after < 0.8 * before


def test_their_intervals_are_narrower_and_still_hold(seasons):
    others = slice(LOOKED, N)
    widths = [
        np.mean([np.subtract(*told[place].interval()[:0:-1])[others] for told in seasons])
        for place in (1, 2)
    ]
    assert widths[1] < 0.8 * widths[0]
    assert held(seasons, 2, others) == pytest.approx(0.8, abs=0.06)


def test_intervals_of_the_shrubs_looked_at_hold(seasons):
    assert held(seasons, 2, slice(0, LOOKED)) == pytest.approx(0.8, abs=0.06)


def test_a_look_narrows_a_date_as_was_foretold():
    plain = forecast(None, n=1, futures=3000)
    days = plain.of("leaf_11")[0].astype(float)
    on = round(float(np.median(days)) - 2)
    foretold = float(plain.sd_after_look("leaf_11", [on])[0, 0])
    share = np.mean(days <= on + 0.5)
    sds = [
        float(forecast(np.array([[told]]), n=1, futures=3000).of("leaf_11")[0].std(dtype=float))
        for told in ([-np.inf, on], [on, np.inf])
    ]
    assert share * sds[0] + (1 - share) * sds[1] == pytest.approx(foretold, rel=0.05)


def test_a_late_stage_moves_the_stages_to_come_of_all_shrubs():
    names = ("bud_07", "leaf_11")
    plain = forecast(None, stages=names)
    late = np.full((N, 2, 2), OPEN)
    day = np.round(plain.interval()[0][0, 0]) + 6
    late[:LOOKED, 0] = [day - 4, day + 3]
    moved = forecast(late, stages=names).interval()[0] - plain.interval()[0]
    assert np.all(moved[LOOKED:, 0] > 2)
    assert np.all(moved[LOOKED:, 1] > 0.5)
    assert moved[LOOKED:, 1].mean() < moved[LOOKED:, 0].mean()


def test_one_slip_of_the_pen_does_not_move_the_season():
    seen = np.full((N, 1, 2), OPEN)
    middle = np.round(forecast(None).interval()[0][0, 0])
    seen[:LOOKED, 0] = [middle - 4, middle + 3]
    right = forecast(seen).interval()[0][LOOKED:].mean()
    seen[0, 0] = [middle - 60, middle - 55]
    assert forecast(seen).interval()[0][LOOKED:].mean() == pytest.approx(right, abs=1.0)
