import numpy as np
import pytest

from nuttery.science.bloom import Clock, fit_clock

DAYS = np.arange(1, 181)


def seasons(n, rng):
    """Springs of n years: a yearly wave, warm and cold years, and weather of some days' length."""
    noise = rng.normal(0, 3, (n, len(DAYS)))
    for k in range(1, len(DAYS)):
        noise[:, k] = 0.7 * (noise[:, k - 1] + noise[:, k])
    return -8 + 22 * np.sin(np.pi * (DAYS - 30) / 240) + rng.normal(0, 1.5, (n, 1)) + noise


def planting(
    n, n_shrubs, *, seed, base=4.0, start=32, heat=150.0, spread=0.12, error=2.5, years=20
):
    rng = np.random.default_rng(seed)
    temps = seasons(years, rng)[rng.integers(0, years, n)]
    shrub = rng.integers(0, n_shrubs, n)
    own = rng.normal(0, spread, n_shrubs)
    sums = np.cumsum(np.maximum(temps - base, 0) * (start <= DAYS), axis=1)
    first_day = DAYS[np.argmax(sums >= (heat * np.exp(own[shrub]))[:, None], axis=1)]
    return temps, np.round(first_day + rng.normal(0, error, n)), shrub, own


def weekly(day, rng):
    """The last look before a day and the first one after, a week apart."""
    before = day - 1 - rng.integers(0, 7, len(day))
    return np.column_stack([before, before + 7]).astype(float)


def test_an_exact_clock_without_error_is_found_again():
    temps, seen, _, _ = planting(300, 1, seed=1, spread=0.0, error=0.0)
    clock = fit_clock(temps, seen)
    assert clock.base == pytest.approx(4.0, abs=0.3)
    assert clock.predict(temps).median == pytest.approx(seen, abs=1.01)
    assert clock.residual_sd < 0.6


def test_base_requirement_and_error_are_found_from_dates_with_error():
    temps, seen, shrub, own = planting(1500, 60, seed=2)
    clock = fit_clock(temps, seen, shrub=shrub)
    assert clock.base == pytest.approx(4.0, abs=0.5)
    assert clock.requirement == pytest.approx(150, rel=0.1)
    assert clock.residual_sd == pytest.approx(2.5, abs=0.25)
    assert clock.spread == pytest.approx(0.12, abs=0.03)
    found = [np.log(clock.shrub_requirement(label)[0]) for label in range(60)]
    assert np.corrcoef(found, own)[0, 1] > 0.95


def test_weekly_looks_tell_nearly_as_much_as_exact_days():
    temps, seen, shrub, _ = planting(600, 40, seed=3)
    exact = fit_clock(temps, seen, shrub=shrub)
    looked = fit_clock(temps, weekly(seen, np.random.default_rng(4)), shrub=shrub)
    fresh = planting(200, 40, seed=3)[0]
    assert looked.predict(fresh).median == pytest.approx(exact.predict(fresh).median, abs=1.0)
    assert looked.residual_sd == pytest.approx(exact.residual_sd, abs=0.4)


def test_a_day_wide_window_is_an_exact_day():
    temps, seen, shrub, _ = planting(200, 20, seed=5)
    exact = fit_clock(temps, seen, shrub=shrub)
    window = fit_clock(temps, np.column_stack([seen - 1, seen]), shrub=shrub)
    apart = window.predict(temps, shrub).median - exact.predict(temps, shrub).median
    assert np.abs(apart).mean() < 0.4


def test_open_ends_move_the_date_to_their_side():
    temps, seen, _, _ = planting(60, 5, seed=6)
    open_side = np.full(60, np.inf)
    later = fit_clock(temps, np.column_stack([seen, open_side])).predict(temps[:5]).median
    earlier = fit_clock(temps, np.column_stack([-open_side, seen])).predict(temps[:5]).median
    exact = fit_clock(temps, seen).predict(temps[:5]).median
    assert np.all(earlier < exact)
    assert np.all(exact < later)


@pytest.mark.parametrize("n", [1, 2, 3])
@pytest.mark.parametrize("labelled", [True, False])
def test_a_few_notes_give_a_wide_but_finite_answer(n, labelled):
    temps, seen, shrub, _ = planting(n, 3, seed=7)
    clock = fit_clock(temps, seen, shrub=shrub if labelled else None)
    dates = clock.predict(temps)
    assert dates.median == pytest.approx(seen, abs=6)
    assert np.all(dates.high - dates.low > 3)
    assert clock.n_records == n


def odd_records(kind):
    temps, seen, shrub, _ = planting(20, 6, seed=8)
    open_side = np.full(20, np.inf)
    return {
        "alike": (np.repeat(temps[:1], 20, 0), np.full(20, seen[0]), shrub),
        "one shrub": (temps, seen, np.full(20, 3)),
        "never warm": (temps - 40, seen, shrub),
        "always warm": (temps + 25, seen, shrub),
        "no weather": (np.zeros_like(temps), seen, shrub),
        "not yet": (temps, np.column_stack([np.full(20, 50), open_side]), shrub),
        "already": (temps, np.column_stack([-open_side, seen]), shrub),
    }[kind]


@pytest.mark.parametrize(
    "kind",
    ["alike", "one shrub", "never warm", "always warm", "no weather", "not yet", "already"],
)
def test_odd_records_give_finite_clocks(kind):
    temps, seen, shrub = odd_records(kind)
    clock = fit_clock(temps, seen, shrub=shrub)
    numbers = [clock.base, clock.start_doy, clock.requirement, clock.residual_sd, clock.spread]
    assert np.all(np.isfinite(numbers))
    assert clock.requirement > 0
    assert np.all(np.isfinite(clock.shrub_requirement(int(shrub[0]))))
    assert clock.predict(temps, shrub).median.shape == (20,)


def test_days_before_the_year_may_be_given():
    temps, seen, shrub, _ = planting(200, 20, seed=9)
    autumn = np.full((200, 40), -15.0)
    clock = fit_clock(np.hstack([autumn, temps]), seen, shrub=shrub, first_doy=-39)
    same = fit_clock(temps, seen, shrub=shrub)
    long = clock.predict(np.hstack([autumn, temps]), shrub, first_doy=-39).median
    assert long == pytest.approx(same.predict(temps, shrub).median, abs=0.5)


def test_a_season_that_ends_too_early_has_no_date():
    clock = Clock(base=0.0, start_doy=1.0, requirement=100.0, residual_sd=2.0, n_records=0)
    dates = clock.predict(np.full((2, 9), 10.0))
    assert np.isnan(dates.median).all()
    dates = clock.predict(np.full((2, 11), 10.0))
    assert dates.median == pytest.approx([10.5, 10.5], abs=0.3)
    assert np.isnan(dates.high).all()


def test_a_label_never_seen_gets_the_spread_of_the_planting():
    temps, seen, shrub, _ = planting(600, 30, seed=10)
    clock = fit_clock(temps, seen, shrub=shrub)
    known, fresh = clock.predict(temps[:1], [0]), clock.predict(temps[:1], [999])
    assert (fresh.high - fresh.low)[0] > (known.high - known.low)[0]
    mean, sd = clock.shrub_requirement(999)
    assert sd / mean == pytest.approx(clock.spread, rel=0.1)


def test_more_notes_make_a_shrub_its_own():
    temps, seen, shrub, own = planting(400, 40, seed=11)
    late = int(np.argmax(own))
    spread = []
    for n in (0, 1, 3, 10):
        mine = np.flatnonzero(shrub == late)[:n]
        chosen = np.concatenate([np.flatnonzero(shrub != late), mine])
        clock = fit_clock(temps[chosen], seen[chosen], shrub=shrub[chosen])
        spread.append(clock.shrub_requirement(late))
    sds = [sd / mean for mean, sd in spread]
    assert sds == sorted(sds, reverse=True)
    assert sds[3] < sds[0] / 2
    assert spread[3][0] > spread[0][0]


def test_shrubs_are_pooled_towards_their_lot():
    rng = np.random.default_rng(12)
    temps, seen, shrub, _ = planting(400, 40, seed=12, spread=0.03)
    lot = shrub % 2
    seen = seen + 6 * lot + rng.normal(0, 0.1, 400)
    clock = fit_clock(temps, seen, shrub=shrub, lot=lot)
    early, late = (
        clock.predict(temps[:2], [900, 901], lot=[0, 1]).median
        - clock.predict(temps[:2], [0, 1]).median
    )
    assert abs(early) < 2
    assert abs(late) < 2
    assert clock.shrub_requirement(901, 1)[0] > 1.2 * clock.shrub_requirement(900, 0)[0]
    assert clock.lot_spread > 0.08


def test_intervals_hold_as_often_as_they_say_on_years_not_seen():
    temps, seen, shrub, _ = planting(1600, 40, seed=13, years=80)
    clock = fit_clock(temps[:800], seen[:800], shrub=shrub[:800])
    dates = clock.predict(temps[800:], shrub[800:])
    held = (dates.low <= seen[800:]) & (seen[800:] <= dates.high)
    assert held.mean() == pytest.approx(0.8, abs=0.05)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"seen": [100.0, np.nan]}, r"seen\[1\]: found nan, expected a day of year"),
        ({"seen": [100.0, np.inf]}, r"seen\[1\]: found inf, expected a day of year"),
        ({"seen": [100.0]}, r"found 1 notes, expected as many as season_temps has rows \(2\)"),
        ({"seen": [100.0, 400.0]}, r"seen\[1, 0\]: found 400.0, expected within the days given"),
        ({"seen": [[90.0, 95.0], [97.0, 96.0]]}, r"seen\[1, 0\]: found 97.0, expected at most"),
        ({"seen": [[90.0, 95.0], [-np.inf, np.inf]]}, r"seen\[1, 0\]: found -inf, .*one finite"),
        ({"seen": "soon"}, r"seen: found 'soon', expected days of year"),
        ({"season_temps": [[1.0, np.nan]] * 2}, r"season_temps\[0, 1\]: found nan"),
        (
            {"season_temps": np.zeros((0, 180)), "seen": []},
            r"found 0 notes, expected .*at least one",
        ),
        ({"shrub": [1]}, r"shrub: found length 1, expected 2"),
        ({"shrub": [1, 1], "lot": [1, 2]}, r"lot\[1\]: found 2, expected one lot"),
    ],
)
def test_bad_notes_are_named(change, told):
    good = {"season_temps": np.full((2, 180), 8.0), "seen": [90.0, 95.0]}
    arguments = good | change
    with pytest.raises(ValueError, match=told):
        fit_clock(arguments.pop("season_temps"), arguments.pop("seen"), **arguments)


def test_a_coverage_outside_its_range_is_named():
    clock = Clock(base=0.0, start_doy=1.0, requirement=100.0, residual_sd=2.0, n_records=0)
    with pytest.raises(ValueError, match=r"coverage: found 80, expected between 0 and 1"):
        clock.predict(np.full((1, 9), 10.0), coverage=80)
    with pytest.raises(ValueError, match=r"season_temps\[0, 3\]: found nan"):
        clock.predict([[1.0, 1.0, 1.0, np.nan]])
