"""Made weather looks like the record that it was fitted on, or like the stated climate."""

import numpy as np
import pytest

from nuttery.science.weather import MonthlyClimate, WeatherMaker


@pytest.fixture(scope="module")
def record():
    """Thirty years drawn another way: chain of wet days, then maximum and range one by one."""
    rng = np.random.default_rng(5)
    days = np.arange("1991-01-01", "2021-01-01", dtype="datetime64[D]")
    season = -np.cos(2 * np.pi * ((days - days.astype("datetime64[Y]")).astype(int) - 15) / 365.25)
    wet = np.zeros(days.size, bool)
    anomaly, width = np.zeros((2, days.size))
    draw, noise = rng.random(days.size), rng.standard_normal((2, days.size))
    for i in range(1, days.size):
        wet[i] = draw[i] < (0.5 if wet[i - 1] else 0.22) + 0.05 * season[i]
        anomaly[i] = 0.7 * anomaly[i - 1] + 0.71 * noise[0, i]
        width[i] = 0.3 * width[i - 1] + 0.2 * anomaly[i] + 0.9 * noise[1, i]
    high = 8 + 16 * season + (5.5 - 1.5 * season) * anomaly - 2 * wet + 1.5 * width
    low = high - np.maximum(0.3, 10 + 2 * season - 4 * wet + 3 * width)
    rain = np.where(wet, rng.gamma(0.7, 7 + 3 * season), 0.0)
    return days, low, high, rain


@pytest.fixture(scope="module")
def made(record):
    return WeatherMaker.fit(*record).make(300, np.random.default_rng(3))


def month_of(days):
    return days.astype("datetime64[M]").astype(int) % 12


def by_month(statistic, days, values):
    return np.array([statistic(values[month_of(days) == m]) for m in range(12)])


def anomaly(days, values):
    return values - by_month(np.mean, days, values)[month_of(days)]


def lag_1(days, values):
    rest, month = anomaly(days, values), month_of(days)[1:]
    pairs = [(rest[1:][month == m], rest[:-1][month == m]) for m in range(12)]
    return np.array([np.corrcoef(a, b)[0, 1] for a, b in pairs])


@pytest.mark.parametrize("column", [1, 2])
def test_monthly_means_spreads_and_memory_are_kept(record, made, column):
    days, values = record[0], record[column]
    again = (made.tmin, made.tmax)[column - 1]
    mean = by_month(np.mean, days, values)
    assert by_month(np.mean, made.dates, again) == pytest.approx(mean, abs=0.5)
    spread = by_month(np.std, days, values)
    assert by_month(np.std, made.dates, again) == pytest.approx(spread, rel=0.04)
    assert lag_1(made.dates, again) == pytest.approx(lag_1(days, values), abs=0.06)


def test_wet_days_and_their_runs_are_kept(record, made):
    days, wet, again = record[0], record[3] > 0, made.rain > 0
    share = by_month(np.mean, days, wet)
    assert by_month(np.mean, made.dates, again) == pytest.approx(share, abs=0.02)
    after = [w[1:][w[:-1]].mean() for w in (wet, again)]
    assert after[1] == pytest.approx(after[0], abs=0.02)


def test_rain_sums_and_spreads_are_kept(record, made):
    days, rain = record[0], record[3]
    mean = by_month(np.mean, days, rain)
    assert by_month(np.mean, made.dates, made.rain) == pytest.approx(mean, rel=0.08)
    assert made.rain.std() == pytest.approx(rain.std(), rel=0.05)


def test_minimum_maximum_and_rain_go_together_as_in_the_record(record, made):
    days, low, high, rain = record
    pair = np.corrcoef(anomaly(days, low), anomaly(days, high))[0, 1]
    again = np.corrcoef(anomaly(made.dates, made.tmin), anomaly(made.dates, made.tmax))[0, 1]
    assert again == pytest.approx(pair, abs=0.02)
    for values, made_values in ((low, made.tmin), (high, made.tmax)):
        gap = [
            anomaly(d, v)[r > 0].mean() - anomaly(d, v)[r == 0].mean()
            for d, v, r in ((days, values, rain), (made.dates, made_values, made.rain))
        ]
        assert gap[1] == pytest.approx(gap[0], abs=0.25)


def test_the_minimum_is_never_above_the_maximum(made):
    assert (made.tmin <= made.tmax).all()
    assert (made.rain >= 0).all()


def test_years_are_whole_calendar_years(made):
    assert made.dates[0] == np.datetime64("2001-01-01")
    assert made.dates[-1] == np.datetime64("2300-12-31")
    assert (np.diff(made.dates).astype(int) == 1).all()


def test_the_same_seed_makes_the_same_weather(record):
    maker = WeatherMaker.fit(*record)
    first, second = (maker.make(3, np.random.default_rng(8)) for _ in range(2))
    assert first.tmin.tobytes() == second.tmin.tobytes()
    assert first.rain.tobytes() == second.rain.tobytes()


def test_missing_days_are_left_out_of_the_fit(record):
    days, low, high, rain = (a.copy() for a in record)
    low[100:140] = np.nan
    keep = np.ones(days.size, bool)
    keep[100:140] = False
    with_gap = WeatherMaker.fit(days, low, high, rain).monthly
    without = WeatherMaker.fit(*(a[keep] for a in record)).monthly
    assert with_gap.mean.tolist() == without.mean.tolist()
    assert with_gap.memory.tolist() == without.memory.tolist()


@pytest.fixture(scope="module")
def stated():
    return MonthlyClimate.stated(
        tmin=[-17, -15, -8, -1, 5, 11, 14, 13, 8, 2, -5, -13],
        tmax=[-5, -2, 4, 12, 19, 24, 27, 26, 21, 13, 4, -3],
        spread=[6, 6, 5, 5, 4.5, 4, 3, 3, 4, 4.5, 5, 6],
        wet_share=0.3,
        rain=[25, 20, 40, 60, 80, 110, 105, 105, 95, 70, 45, 30],
    )


def test_a_stated_climate_comes_out_as_stated(stated):
    made = WeatherMaker(stated).make(400, np.random.default_rng(1))
    low = by_month(np.mean, made.dates, made.tmin)
    assert low == pytest.approx(stated.mean - stated.range / 2, abs=0.6)
    assert by_month(np.mean, made.dates, made.rain > 0) == pytest.approx(0.3, abs=0.015)
    yearly = made.rain.sum() / 400
    assert yearly == pytest.approx(785, rel=0.03)


def test_futures_go_on_from_the_day_before_and_forget_it(stated):
    days = np.arange("2026-04-01", "2026-05-01", dtype="datetime64[D]")
    maker = WeatherMaker(stated)
    warm = maker.futures(days, 2000, np.random.default_rng(1), after=(12.0, 26.0, 0.0))
    any_ = maker.futures(days, 2000, np.random.default_rng(2))
    assert warm.tmax.shape == (2000, 30)
    gap = warm.tmax.mean(axis=0) - any_.tmax.mean(axis=0)
    assert gap[0] > 4
    assert abs(gap[20:].mean()) < 0.2 * gap[0]
    with pytest.raises(ValueError, match=r"found minimum 9.0 above maximum 3.0"):
        maker.futures(days, 1, np.random.default_rng(1), after=(9.0, 3.0, 0.0))


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"tmin": [30.0] * 12}, r"tmin\[0\]: found 30.0, expected less than tmax"),
        ({"spread": -1}, "spread: found -1.0, expected 0 to inf"),
        ({"rain": [1, 2]}, r"rain: found shape \(2,\), expected 12 months"),
        ({"wet_narrowing": 22}, r"tmax\[0\]: found 20.0, expected a range above"),
        ({"memory": 1.0}, "memory: found 1.0, expected 0 to 0.95"),
    ],
)
def test_an_impossible_climate_is_refused(change, told):
    plain = {"tmin": [5.0] * 12, "tmax": [20.0] * 12, "spread": 4, "wet_share": 0.3, "rain": 50}
    with pytest.raises(ValueError, match=told):
        MonthlyClimate.stated(**(plain | change))


def test_too_few_years_or_courses_are_refused(stated):
    maker, rng = WeatherMaker(stated), np.random.default_rng(1)
    with pytest.raises(ValueError, match="n_years: found 0, expected 1 or more"):
        maker.make(0, rng)
    with pytest.raises(ValueError, match="draws: found 0, expected 1 or more"):
        maker.futures(["2026-04-01"], 0, rng)
    assert maker.futures([], 3, rng).tmin.shape == (3, 0)
