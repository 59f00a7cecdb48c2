"""Intervals of the calendar against the truth of made plantings and made springs."""

from datetime import date, timedelta
from statistics import NormalDist

import numpy as np
import pytest

from nuttery.demo.climate import ELEVATION, LATITUDE, LONGITUDE, station_record
from nuttery.demo.habits import STAGES
from nuttery.demo.make import StationRecord
from nuttery.demo.pen import Pen
from nuttery.demo.truth import make_truth
from nuttery.records import PlantingDescribed, RollOut, ShrubPlanted, StageSeen
from nuttery.season.bloom import bloom
from nuttery.season.planting import open_planting
from nuttery.season.weather import Record, courses
from nuttery.store import Register

SEASONS_LOOKED = (0, 1, 3, 10)
YEAR = 2026
NAMES = {
    ("pistillate flower", 60): "pistillate_out",
    ("catkin", 60): "catkin_60",
    ("catkin", 65): "catkin_65",
    ("catkin", 69): "catkin_69",
    ("leaf bud", 7): "bud_07",
    ("leaf bud", 11): "leaf_11",
    ("pistillate flower", 69): "pistillate_withered",
}


def watched(k, year):
    """Shrub k is looked at in the last 0, 1, 3 or 10 seasons; every other one also this season."""
    return YEAR - SEASONS_LOOKED[k % 4] <= year < YEAR or (year == YEAR and (k // 4) % 2 == 0)


def weekly_looks(truth, season, k, pen, rng):
    """Every week: not yet, not yet, reached. In autumn four nuts pressed."""
    tag, first = truth.layout.tags[k], int(rng.integers(0, 7))
    new_year = date(season.year, 1, 1)
    for s, (organ, stage) in enumerate(STAGES):
        for day in range(66 + first, 185, 7):
            if np.isnan(season.stage_doy[k, s]):
                break
            reached = bool(season.stage_doy[k, s] < day + 0.5)
            when = new_year + timedelta(days=day - 1)
            yield pen.write(StageSeen, when, tag, organ=organ, stage=stage, reached=reached)
            if reached:
                break
    if not np.isnan(season.ripe_doy[k]):
        ripe = NormalDist(float(season.ripe_doy[k]), float(truth.habits.ripe_spread[k]))
        for day in range(222 + first, 300, 7):
            if 0.02 < (share := ripe.cdf(day + 0.5)) < 0.98:
                rolled = int(rng.binomial(4, share))
                when = new_year + timedelta(days=day - 1)
                yield pen.write(RollOut, when, tag, tried=4, rolled=rolled)


def planted(truth, pen):
    layout = truth.layout
    yield pen.write(
        PlantingDescribed, date(2013, 4, 20), name="Made", latitude=LATITUDE, longitude=LONGITUDE,
        elevation=ELEVATION, time_zone="America/Chicago", units="metric", invented=True,
    )  # fmt: skip
    for k, tag in enumerate(layout.tags):
        day = date(int(layout.planted[k]), 5, 10)
        yield pen.write(ShrubPlanted, day, tag, seed_lot=str(layout.lot[k]), x=0.0, y=float(k))


def made(where, seed):
    truth, pen, rng = make_truth(48, 12, seed), Pen(seed), np.random.default_rng(seed)
    notes = list(planted(truth, pen))
    for season in truth.seasons:
        for k in range(48):
            if watched(k, season.year):
                notes += weekly_looks(truth, season, k, pen, rng)
    weather = truth.weather
    with Register.create(where) as register:
        register.keep(sorted(notes, key=lambda note: note.seen))
        record = StationRecord(weather.dates, weather.tmin, weather.tmax, weather.rain)
        register.keep_weather(record, planting=pen.planting, source="made", trust=1)
    return truth


def held(truth, outlook):
    """For each shrub and stage that came: seasons looked at, whether also now, whether held."""
    season = truth.seasons[truth.column(YEAR)]
    rows = [truth.layout.tags.index(tag) for tag in outlook.tags]
    days = {NAMES[stage]: season.stage_doy[rows, s] for s, stage in enumerate(STAGES)}
    for name, true in (days | {"roll_out_main": season.ripe_doy[rows]}).items():
        forecast = outlook.of(name)
        low, high = forecast.low, np.nan_to_num(forecast.high, nan=330.0)
        for k in np.flatnonzero(~np.isnan(true)):
            inside = low[k] <= true[k] <= high[k]
            yield SEASONS_LOOKED[rows[k] % 4], (rows[k] // 4) % 2 == 0, inside


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    """(day, seasons looked at, looked at now, held) of every stage and shrub of two plantings."""
    found = []
    for seed in (11, 12):
        where = tmp_path_factory.mktemp("made") / f"{seed}.db"
        truth = made(where, seed)
        for on in (date(YEAR, 4, 12), date(YEAR, 5, 5), date(YEAR, 6, 10)):
            outlook = bloom(open_planting(where, on=on))
            found += [(on, *one) for one in held(truth, outlook)]
    return found


@pytest.mark.parametrize("looked", SEASONS_LOOKED)
def test_intervals_hold_as_often_as_they_say_whatever_the_number_of_notes(told, looked):
    hits = [yes for _, seasons, _, yes in told if seasons == looked]
    assert len(hits) > 350
    assert np.mean(hits) == pytest.approx(0.8, abs=0.07)


def test_intervals_hold_as_often_as_they_say_on_the_whole(told):
    assert np.mean([yes for *_, yes in told]) == pytest.approx(0.8, abs=0.05)


def test_intervals_of_shrubs_not_looked_at_this_season_hold_with_the_looks_at_others(told):
    hits = [yes for on, _, now, yes in told if not now and on.month > 4]
    assert np.mean(hits) == pytest.approx(0.8, abs=0.07)


def heat_day(means, heat):
    sums = np.cumsum(np.maximum(means[:, 31:] - 1.5, 0), axis=1)
    return np.array([np.searchsorted(one, heat) for one in sums]) + 32


@pytest.mark.parametrize("month", [2, 4])
def test_courses_of_the_weather_hold_what_made_springs_bring(month):
    shares = []
    for seed in range(8):
        whole = station_record(2006, YEAR, np.random.default_rng(100 + seed))
        for year in range(2016, YEAR + 1):
            told = whole.dates <= np.datetime64(date(year, month, 5))
            parts = (whole.dates, whole.tmin, whole.tmax, whole.rain, np.zeros(told.size, bool))
            known = Record(*(part[told] for part in parts), ())
            found = courses(known, year, 100, np.random.default_rng(1)).mean
            mine = whole.dates.astype("datetime64[Y]") == np.datetime64(str(year))
            true = ((whole.tmin + whole.tmax) / 2)[mine][:320]
            for heat in (80, 245):
                days, came = heat_day(found, heat), heat_day(true[None], heat)[0]
                shares.append(np.mean(days < came) + np.mean(days == came) / 2)
    inside = (np.array(shares) > 0.1) & (np.array(shares) < 0.9)
    assert inside.mean() == pytest.approx(0.8, abs=0.07)
