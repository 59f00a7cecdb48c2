import dataclasses
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest

from nuttery.store import KeptWeather, NotKnown, WeatherRefused

NAN = np.nan


@dataclass
class Record:
    time: Any
    resolution: str = "daily"
    utc_offset: float | None = -6.0
    latitude: float | None = 46.0
    longitude: float | None = -91.0
    elevation: float | None = None
    tmin: Any = None
    tmax: Any = None
    temp: Any = None
    rh: Any = None
    wind_speed: Any = None
    wind_from: Any = None
    rain: Any = None


def days(first, tmin, tmax=None, rain=None, **more):
    time = np.datetime64(first) + np.arange(len(tmin))
    tmax = np.asarray(tmin, float) + 10 if tmax is None else np.asarray(tmax, float)
    rain = np.zeros(len(tmin)) if rain is None else np.asarray(rain, float)
    return Record(time, tmin=np.asarray(tmin, float), tmax=tmax, rain=rain, **more)


def hours(first, temp, **more):
    time = np.datetime64(first, "m") + np.arange(len(temp)) * 60
    gap = np.full(len(temp), NAN)
    return Record(time, "hourly", temp=np.asarray(temp, float), rh=gap, wind_speed=gap,
                  wind_from=gap, rain=gap, **more)  # fmt: skip


@pytest.fixture
def keep(planted, book):
    def keep_it(record, source="station", **more):
        return planted.keep_weather(record, planting=book.planting, source=source, **more)

    return keep_it


def test_a_record_is_read_back_as_it_was_kept(planted, book, keep):
    record = days("2026-01-01", [-20.25, NAN, -3.5], rain=[0.0, 1.2, NAN])
    assert keep(record) == KeptWeather(added=3, already=0)
    back = planted.daily(book.planting)
    assert back.time.dtype == np.dtype("datetime64[D]")
    for name in ("time", "tmin", "tmax", "rain"):
        np.testing.assert_array_equal(getattr(back, name), getattr(record, name))
    assert back.sources == ("station",)
    np.testing.assert_array_equal(back.source["tmin"], [0, -1, 0])
    assert back.utc_offset == -6.0


def test_a_day_without_a_row_is_missing(planted, book, keep):
    keep(days("2026-01-01", [1.0]))
    keep(days("2026-01-04", [4.0]))
    np.testing.assert_array_equal(planted.daily(book.planting).tmin, [1, NAN, NAN, 4])


def test_the_same_record_twice_is_one(planted, book, keep):
    keep(days("2026-01-01", [1, 2, 3]))
    before = planted.version(book.planting)
    assert keep(days("2026-01-01", [1, 2, 3])) == KeptWeather(added=0, already=3)
    none = [NAN] * 3
    assert keep(days("2026-01-01", [1, NAN, 3], tmax=none, rain=none)).already == 2
    assert planted.version(book.planting) == before


def test_a_longer_record_adds_what_is_new_and_what_was_missing(planted, book, keep):
    keep(days("2026-01-01", [1, NAN, 3]))
    before = planted.version(book.planting)
    assert keep(days("2026-01-01", [NAN, 2, 3, 4], tmax=[11, NAN, 13, 14])) == KeptWeather(2, 2)
    np.testing.assert_array_equal(planted.daily(book.planting).tmin, [1, 2, 3, 4])
    assert planted.version(book.planting) == before + 1


def test_a_value_that_differs_is_refused_whole(planted, book, keep):
    keep(days("2026-01-01", [1, 2]))
    refused = r"tmin of 2026-01-02: found 2.5, expected 2 as it is kept"
    with pytest.raises(WeatherRefused, match=refused):
        keep(days("2026-01-01", [1, 2.5, 3], tmax=[11, 12, 13]))
    np.testing.assert_array_equal(planted.daily(book.planting).tmin, [1, 2])


def test_a_value_is_written_over_when_asked(planted, book, keep):
    keep(days("2026-01-01", [1, 2]))
    again = days("2026-01-01", [1, 2.5, 3], tmax=[11, 12, 13])
    assert keep(again, replace=True) == KeptWeather(added=1, already=1, changed=1)
    np.testing.assert_array_equal(planted.daily(book.planting).tmin, [1, 2.5, 3])


def test_each_value_comes_from_the_most_trusted_source_that_has_it(planted, book, keep):
    keep(days("2026-01-01", [1, NAN, 3]), "far", trust=2)
    keep(days("2026-01-02", [20, 30, 40], latitude=46.1), "near", trust=1)
    merged = planted.daily(book.planting)
    assert merged.sources == ("near", "far")
    np.testing.assert_array_equal(merged.tmin, [1, 20, 30, 40])
    np.testing.assert_array_equal(merged.source["tmin"], [1, 0, 0, 0])
    np.testing.assert_array_equal(planted.daily(book.planting, "far").tmin, [1, NAN, 3])


def test_a_new_source_is_trusted_last_unless_told(planted, book, keep):
    keep(days("2026-01-01", [1]), "first")
    keep(days("2026-01-01", [2]), "second")
    assert [s.name for s in planted.weather_sources(book.planting)] == ["first", "second"]
    keep(days("2026-01-01", [2]), "second", trust=0)
    assert planted.daily(book.planting).tmin == 2
    assert planted.daily(book.planting).source["tmin"] == 0


def test_hours_of_two_clocks_meet_on_the_clock_of_the_trusted_one(planted, book, keep):
    keep(hours("2026-01-01T00:00", [1, NAN, 3]), "local")
    keep(hours("2026-01-01T06:00", [10, 20, 30, 40], utc_offset=0.0), "utc")
    merged = planted.hourly(book.planting)
    assert merged.time[0] == np.datetime64("2026-01-01T00", "h")
    np.testing.assert_array_equal(merged.temp, [1, 20, 3, 40])
    assert merged.utc_offset == -6.0


def test_no_weather_is_empty_weather(planted, book):
    daily = planted.daily(book.planting)
    assert daily.time.size == daily.tmin.size == 0
    assert daily.sources == ()


def test_weather_is_closed_to_writing(planted, book, keep):
    keep(days("2026-01-01", [1.0]))
    with pytest.raises(ValueError, match="read-only"):
        planted.daily(book.planting).tmin[0] = 5


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"resolution": "weekly"}, "found 'weekly', expected daily or hourly"),
        ({"time": np.array(["2026-01-01", "2026-01-01"], "M8[D]")}, r"time\[1\]: found 2026-01-01"),
        (
            {"time": np.array(["2026-01-01", "NaT"], "M8[D]")},
            r"time\[1\]: found NaT, expected a time",
        ),
        ({"time": np.array(["2026-01-01T00", "2026-01-02T05"], "M8[h]")}, "expected a full day"),
        ({"tmax": np.array([1.0])}, r"tmax: found shape \(1,\), expected \(2,\)"),
        ({"rain": np.array([0.0, np.inf])}, r"rain\[1\]: found inf, expected a number or NaN"),
    ],
)
def test_a_record_that_contradicts_itself_is_refused(planted, book, keep, change, told):
    with pytest.raises(WeatherRefused, match=told):
        keep(dataclasses.replace(days("2026-01-01", [1, 2]), **change))
    assert planted.weather_sources(book.planting) == ()


def test_a_station_in_another_place_is_another_source(keep):
    keep(days("2026-01-01", [1.0]))
    with pytest.raises(WeatherRefused, match="latitude: found 40°, expected 46° as 'station' has"):
        keep(days("2026-01-02", [1.0], latitude=40.0))


def test_an_unknown_source_is_told_with_those_that_there_are(planted, book, keep):
    keep(days("2026-01-01", [1.0]))
    with pytest.raises(
        NotKnown, match="found 'statoin', expected one of the planting's: 'station'"
    ):
        planted.daily(book.planting, "statoin")
