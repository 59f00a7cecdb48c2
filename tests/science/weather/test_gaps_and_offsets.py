"""Gaps filled or told, offsets learned or unknown, windows of frost dates, hours to days."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nuttery.science.weather import (
    FrostDates,
    daily_from_hourly,
    fill_gaps,
    frost_date_spread,
    frost_dates,
    station_offset,
)

NAN = np.nan
TEN_DAYS = np.datetime64("2026-04-01") + np.arange(10)


def test_three_missing_days_are_filled_and_flagged():
    low = np.array([0, NAN, NAN, NAN, 4, 5, 6, 7, 8, 9.0])
    filled = fill_gaps(TEN_DAYS, low, low + 10)
    assert filled.tmin.tolist() == list(range(10))
    assert filled.filled.tolist() == [False, True, True, True] + [False] * 6
    assert filled.gaps == ()
    filled.refuse_gaps()


def test_four_missing_days_stay_and_are_named():
    low = np.array([0, NAN, NAN, NAN, NAN, 5, 6, 7, 8, 9.0])
    filled = fill_gaps(TEN_DAYS, low, low + 10)
    assert np.isnan(filled.tmin[1:5]).all()
    assert not filled.filled.any()
    assert [(str(g), g.days) for g in filled.gaps] == [("2026-04-02 to 2026-04-05", 4)]
    with pytest.raises(ValueError, match="no readings on 2026-04-02 to 2026-04-05; expected none"):
        filled.refuse_gaps()
    filled.refuse_gaps(first="2026-04-06")


def test_days_left_out_of_the_file_are_gaps_too():
    keep = np.array([0, 1, 4, 9])
    filled = fill_gaps(TEN_DAYS[keep], keep.astype(float), keep + 10.0)
    assert filled.dates.size == 10
    assert filled.tmax[2:4].tolist() == [12, 13]
    assert [str(g) for g in filled.gaps] == ["2026-04-06 to 2026-04-09"]


def test_a_gap_at_either_end_has_one_neighbour_and_stays():
    low = np.array([NAN, 1, 2, 3, 4, 5, 6, 7, 8, NAN])
    filled = fill_gaps(TEN_DAYS, low, low + 10)
    assert [str(g) for g in filled.gaps] == ["2026-04-01", "2026-04-10"]


def test_days_outside_the_record_are_refused_by_name():
    filled = fill_gaps(TEN_DAYS, np.zeros(10), np.ones(10))
    with pytest.raises(ValueError, match="readings on 2026-03-30 to 2026-03-31, 2026-04-11;"):
        filled.refuse_gaps("2026-03-30", "2026-04-11")
    with pytest.raises(ValueError, match="found no days"):
        fill_gaps([], [], []).refuse_gaps()


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000), st.integers(0, 5))
def test_filling_keeps_readings_and_never_crosses_extremes(seed, longest):
    rng = np.random.default_rng(seed)
    days = np.datetime64("2026-01-01") + np.arange(60)
    low = rng.normal(0, 8, 60)
    high = low + rng.exponential(2, 60)
    low[rng.random(60) < 0.3], high[rng.random(60) < 0.3] = NAN, NAN
    filled = fill_gaps(days, low, high, longest=longest)
    seen = ~np.isnan(low) & ~filled.filled
    assert (filled.tmin[seen] == low[seen]).all()
    both = ~(np.isnan(filled.tmin) | np.isnan(filled.tmax))
    assert (filled.tmin[both] <= filled.tmax[both]).all()
    told = sum(g.days for g in filled.gaps)
    assert told == (~both).sum()


def test_an_offset_is_unknown_with_few_nights_and_says_so():
    offset = station_offset([0.0, 1.0, NAN, 3.0, 4.0], [-1.0, -1.0, -1.0, -1.0, -1.0])
    assert (offset.known, offset.n_records) == (False, 4)
    with pytest.raises(ValueError, match="found 4 nights read at both places, expected 5 or more"):
        offset.at_planting([0.0])


def test_offsets_hold_their_interval_as_often_as_they_say():
    rng = np.random.default_rng(2)
    held = []
    for _ in range(1000):
        station = rng.normal(0, 5, 8)
        offset = station_offset(station, station - 1.5 + rng.normal(0, 1.2, 8))
        held.append(offset.low <= -1.5 <= offset.high)
    assert 0.77 <= np.mean(held) <= 0.83


def test_an_offset_moves_a_night_and_widens_it():
    offset = station_offset(np.zeros(20), np.tile([-1.0, -3.0], 10))
    low, doubt = offset.at_planting([-4.0])
    assert low.tolist() == [-6.0]
    assert doubt[0] == pytest.approx(offset.night_sd * np.sqrt(1.05))


def frosts_of(days):
    """Frost dates of years from 1980 whose last spring frost is on the given days of the year."""
    years = np.arange(1980, 1980 + len(days))
    first = years.astype(str).astype("datetime64[D]")
    spring = [
        np.datetime64("NaT") if np.isnan(d) else f + int(d) - 1
        for f, d in zip(first, days, strict=True)
    ]
    whole = np.full(years.size, 212), np.full(years.size, 153)
    none = np.full(years.size, np.datetime64("NaT", "D"))
    return FrostDates(years, np.array(spring, "datetime64[D]"), none, 0.0, *whole)


def test_quantiles_come_from_the_window_and_the_trend_from_all_years():
    early = np.full(30, 140.0)
    late = 110.0 + np.arange(30)
    spread = frost_date_spread(frosts_of([*early, *late]))
    assert (spread.years[0], spread.years[-1], spread.n_records) == (2010, 2039, 30)
    assert (spread.low, spread.median, spread.high) == pytest.approx((112.9, 124.5, 136.1))
    assert spread.trend is not None
    assert (spread.trend.first_year, spread.trend.last_year) == (1980, 2039)
    assert "earlier over 1980-2039" in spread.trend.words


def test_a_trend_is_the_slope_of_least_squares():
    from scipy.stats import linregress, t

    days = 130 - 0.3 * np.arange(40) + np.random.default_rng(1).normal(0, 6, 40).round()
    trend = frost_date_spread(frosts_of(days.round())).trend
    line = linregress(np.arange(40), days.round())
    half = line.stderr * t.ppf(0.9, 38)
    ends = (10 * (line.slope - half), 10 * line.slope, 10 * (line.slope + half))
    assert (trend.low, trend.per_decade, trend.high) == pytest.approx(ends)


def test_years_without_frost_count_as_earlier_than_any_date():
    days = [NAN] * 4 + list(range(100, 106))
    spread = frost_date_spread(frosts_of(days))
    assert np.isnan(spread.low)
    assert spread.median == 100
    assert spread.chance_after(103) == pytest.approx(2.5 / 11)


def test_years_that_the_record_does_not_cover_do_not_count():
    days = np.arange("2000-01-01", "2012-04-01", dtype="datetime64[D]")
    season = np.cos(2 * np.pi * (days - days.astype("datetime64[Y]")).astype(int) / 365)
    spread = frost_date_spread(frost_dates(-10 * season, days, 0.0))
    assert spread.years[-1] == 2011
    with pytest.raises(ValueError, match="found 2 covered years in the 2 until 2011, expected 5"):
        frost_date_spread(frost_dates(-10 * season, days, 0.0), window=2)
    with pytest.raises(ValueError, match="found 'summer', expected one of spring, autumn"):
        frost_date_spread(frost_dates(-10 * season, days, 0.0), "summer")


def test_autumn_frosts_have_their_own_spread():
    days = np.arange("2000-01-01", "2020-01-01", dtype="datetime64[D]")
    season = np.cos(2 * np.pi * (days - days.astype("datetime64[Y]")).astype(int) / 365)
    spread = frost_date_spread(frost_dates(-10 * season, days, 0.0), "autumn")
    assert 270 < spread.median < 280
    assert spread.n_records == 20


def test_a_day_needs_enough_different_hours():
    times = np.datetime64("2026-04-01T00") + np.arange(48)
    keep = np.ones(48, bool)
    keep[2:7] = False
    daily = daily_from_hourly(times[keep], np.arange(48.0)[keep])
    assert daily.hours.tolist() == [19, 24]
    assert daily.enough.tolist() == [False, True]
    assert np.isnan(daily.tmin[0])
    assert daily.tmax[1] == 47


def test_several_readings_an_hour_count_as_one_hour():
    times = np.datetime64("2026-04-01T00:00", "m") + np.arange(0, 20 * 60, 10)
    daily = daily_from_hourly(times, np.where(np.arange(times.size) < 6, 60.0, 0.0))
    assert daily.hours.tolist() == [20]
    assert daily.tmean[0] == pytest.approx(3.0)


def test_days_between_without_hours_are_kept_as_days_without():
    times = np.concatenate(
        [
            np.datetime64(d) + np.arange(24)
            for d in (np.datetime64("2026-04-01T00"), np.datetime64("2026-04-03T00"))
        ]
    )
    daily = daily_from_hourly(times, np.zeros(48))
    assert daily.dates.size == 3
    assert daily.hours.tolist() == [24, 0, 24]
