import numpy as np
import pytest

from nuttery.reference import value
from nuttery.science.bloom import STAGES, Clock, bloom_windows, fit_clock, prior_clock, window_dates

DAYS = np.arange(1, 241)


def futures(n, seed):
    rng = np.random.default_rng(seed)
    noise = rng.normal(0, 3, (n, len(DAYS)))
    for k in range(1, len(DAYS)):
        noise[:, k] = 0.7 * (noise[:, k - 1] + noise[:, k])
    return -8 + 24 * np.sin(np.pi * (DAYS - 30) / 300) + rng.normal(0, 1.5, (n, 1)) + noise


def clocks(*stages):
    return {stage: prior_clock(stage) for stage in stages}


def forecast(stages=STAGES[:8], n=4, seen=None, n_futures=200, seed=1):
    rng = np.random.default_rng(seed)
    return window_dates(clocks(*stages), futures(n_futures, 2), np.arange(n), rng=rng, seen=seen)


def test_draws_over_one_future_hold_what_the_clock_predicts():
    temps = futures(1, 3)
    clock = prior_clock("leaf_11")
    alone = clock.predict(temps)
    many = window_dates(
        {"leaf_11": clock}, np.repeat(temps, 20_000, 0), [1], rng=np.random.default_rng(4)
    )
    found = [float(days[0, 0]) for days in many.interval()]
    # the clock's seven points are up to 0.4 day from the whole spread; 20,000 draws within 0.1
    assert found == pytest.approx([alone.median[0], alone.low[0], alone.high[0]], abs=0.5)


def test_stages_of_one_organ_come_in_order_in_every_future():
    dates = forecast()
    assert np.all(dates.of("catkin_60") <= dates.of("catkin_65"))
    assert np.all(dates.of("catkin_65") <= dates.of("catkin_69"))
    assert np.all(dates.of("bud_07") <= dates.of("leaf_11"))


def test_the_same_seed_gives_the_same_draws():
    assert np.array_equal(forecast(seed=5).draws, forecast(seed=5).draws)
    assert not np.array_equal(forecast(seed=5).draws, forecast(seed=6).draws)


def test_a_stage_past_the_days_given_has_no_date():
    dates = window_dates(
        clocks("roll_out_main"), futures(100, 1)[:, :150], [1], rng=np.random.default_rng(1)
    )
    assert np.isnan(dates.interval()[0]).all()
    assert np.all(dates.chance_by(150) == 0)


def test_the_chance_that_it_has_happened_rises_with_the_days():
    dates = forecast()
    chances = [dates.chance_by(day) for day in (60, 90, 120, 240)]
    assert np.all(np.diff(chances, axis=0) >= 0)
    assert np.all(chances[-1] > 0.99)
    median = dates.interval()[0]
    assert dates.chance_by(float(median[0, 3]))[0, 3] == pytest.approx(0.5, abs=0.05)


def test_a_note_of_this_season_bounds_its_stage_and_moves_the_next():
    plain = forecast(("catkin_60", "catkin_65"))
    seen = np.full((4, 2, 2), [-np.inf, np.inf])
    late = float(plain.interval()[2][0, 0])
    seen[0, 0] = [np.floor(late), np.inf]
    told = forecast(("catkin_60", "catkin_65"), seen=seen)
    assert told.of("catkin_60")[0].min() >= np.floor(late) + 0.5
    assert told.interval()[0][0, 1] > plain.interval()[0][0, 1]
    others = told.interval()[0][1:, 0] - plain.interval()[0][1:, 0]
    assert np.all(others > 0)
    assert np.all(others < told.interval()[0][0, 0] - plain.interval()[0][0, 0])


def test_a_note_no_future_agrees_with_still_holds():
    seen = np.full((4, 1, 2), [-np.inf, np.inf])
    seen[2, 0] = [10, 12]
    days = forecast(("leaf_11",), seen=seen).of("leaf_11")[2]
    assert days.min() >= 10.5
    assert days.max() <= 12.5


def test_a_look_is_worth_most_near_the_expected_day():
    dates = forecast(("leaf_11",))
    now = dates.of("leaf_11").std(axis=1, dtype=float)
    median = round(float(dates.interval()[0][0, 0]))
    early, near, late = dates.sd_after_look("leaf_11", [median - 60, median, median + 60])[0]
    assert near < 0.75 * now[0]
    assert early == pytest.approx(now[0], rel=0.02)
    assert late == pytest.approx(now[0], rel=0.02)


def test_a_look_at_a_normal_date_leaves_the_share_that_theory_says():
    # halves of a normal distribution have √(1 − 2/π) of its standard deviation
    sharp = Clock(base=0, start_doy=1, requirement=500, residual_sd=5, n_records=9, spread=1e-6)
    dates = window_dates(
        {"leaf_11": sharp}, np.full((4000, 200), 5.0), [1], rng=np.random.default_rng(1)
    )
    median = float(dates.interval()[0][0, 0])
    found = dates.sd_after_look("leaf_11", [median - 0.5])[0, 0]
    assert found == pytest.approx(5 * np.sqrt(1 - 2 / np.pi), rel=0.02)


def test_curves_of_shedding_and_stigmas_stay_between_0_and_1_and_keep_their_length():
    dates = forecast()
    windows = bloom_windows(dates, DAYS)
    for curve in (windows.shed, windows.receptive):
        assert curve.shape == (4, len(DAYS))
        assert curve.min() >= 0
        assert curve.max() <= 1
    out, withered = dates.of("pistillate_out"), dates.of("pistillate_withered")
    assert windows.receptive.sum(axis=1) == pytest.approx((withered - out).mean(axis=1), abs=0.2)
    begin, end = dates.of("catkin_60"), dates.of("catkin_69")
    assert windows.shed.sum(axis=1) == pytest.approx((end - begin).mean(axis=1) / 2, abs=0.2)


def test_every_stage_has_a_prior_in_the_order_of_the_season():
    heats = [value(f"bloom.{stage}.heat").value for stage in STAGES[:3]]
    assert heats == sorted(heats)
    for stage in STAGES:
        clock = prior_clock(stage)
        assert clock.is_prior
        assert clock.n_records == 0
        assert value(f"bloom.{stage}.heat").certainty in {"inferred", "assumed"}


def spring(seed, n_shrubs, n_notes):
    """One planting drawn from the prior, with weekly looks in past years, and a year to come."""
    rng = np.random.default_rng(seed)
    prior = prior_clock("leaf_11")
    weather = futures(12, seed)[:, :200]
    level = np.log(prior.requirement) + rng.normal(0, prior.level_sd)
    own = level + rng.normal(0, prior.spread, n_shrubs)
    # the truth is the prior's own kind of clock: start and base as believed, level unknown
    sums = np.cumsum(np.logaddexp(0, (weather - prior.base) / prior.softness), axis=1)
    sums = prior.softness * (sums - sums[:, [int(prior.start_doy) - 2]])
    shrub = np.repeat(np.arange(n_shrubs), n_notes + 1)
    year = np.tile(np.append(np.arange(n_notes) % 11, 11), n_shrubs)
    heat = np.exp(own[shrub])[:, None]
    alone = np.sqrt(prior.residual_sd**2 - prior.season_sd**2)
    error = rng.normal(0, prior.season_sd, 12)[year] + rng.normal(0, alone, len(shrub))
    day = np.argmax(sums[year] >= heat, axis=1) + 1 + error
    return weather, shrub, year, np.round(day), rng


@pytest.mark.parametrize("n_notes", [0, 1, 3, 10])
def test_intervals_hold_four_times_in_five(n_notes):
    held = []
    for seed in range(40):
        weather, shrub, year, day, rng = spring(100 + seed, 12, n_notes)
        clock, past = prior_clock("leaf_11"), year < 11
        if n_notes:
            before = day[past] - 1 - rng.integers(0, 7, past.sum())
            looks = np.clip(np.column_stack([before, before + 7]), 0, 199)
            clock = fit_clock(weather[year[past]], looks, shrub=shrub[past], prior=clock)
        dates = clock.predict(weather[year[~past]], shrub[~past])
        late = np.where(np.isnan(dates.high), np.inf, dates.high)
        held.append(np.mean((dates.low <= day[~past]) & (day[~past] <= late)))
    # 40 plantings, each with a level and seasons of its own: the mean itself wanders by 0.03
    assert np.mean(held) == pytest.approx(0.8, abs=0.08 if n_notes == 0 else 0.06)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"clocks": {}}, r"clocks: found 0 and 3 futures, expected at least one of each"),
        ({"seen": np.zeros((1, 1, 2))}, r"seen: found shape \(1, 1, 2\), expected \(2, 1, 2\)"),
        ({"seen": [[[90, 80]], [[0, 1]]]}, r"seen\[0, 0\]: found 90.0, expected at most"),
        ({"shrub": [1.5, 2]}, r"shrub\[0\]: found 1.5, expected a whole number"),
    ],
)
def test_bad_forecasts_are_named(change, told):
    good = {"clocks": clocks("leaf_11"), "season_temps": futures(3, 1), "shrub": [1, 2]}
    with pytest.raises(ValueError, match=told):
        window_dates(**(good | change), rng=np.random.default_rng(1))


def test_a_stage_not_asked_for_is_named():
    with pytest.raises(ValueError, match=r"found 'husk', expected one of leaf_11"):
        forecast(("leaf_11",)).of("husk")
    with pytest.raises(ValueError, match=r"found 'husk', expected one of catkin_60"):
        prior_clock("husk")
