"""Sunrise and sunset against the Solar Position Algorithm, the Naval Observatory and astral.

NREL Solar Position Algorithm (Reda & Andreas 2004) for Golden, Colorado; US Naval Observatory
tables for 39° N 105° W, both in mountain standard time; astral 3.2, an independent program.
"""

from datetime import UTC, date, timedelta

import numpy as np
import pytest

from nuttery.science.weather import sun_times

MINUTE = 1 / 60


def hours(clock):
    parts = [int(p) for p in clock.split(":")]
    return sum(p / 60**i for i, p in enumerate(parts))


@pytest.mark.parametrize(
    ("day", "rise", "fall"),
    [("2015-01-02", "07:21:55", "16:47:43"), ("2015-08-02", "05:00:27", "19:13:58")],
)
def test_golden_within_2_minutes_of_the_solar_position_algorithm(day, rise, fall):
    found = sun_times(39.742476, -105.1786, [day], utc_offset=-7)
    assert found.sunrise == pytest.approx([hours(rise)], abs=2 * MINUTE)
    assert found.sunset == pytest.approx([hours(fall)], abs=2 * MINUTE)


@pytest.mark.parametrize(
    ("day", "rise", "fall"),
    [
        ("2015-01-02", "07:19", "16:49"),
        ("2015-04-02", "05:43", "18:24"),
        ("2015-08-02", "05:01", "19:10"),
        ("2015-12-02", "07:01", "16:38"),
    ],
)
def test_39_north_105_west_within_2_minutes_of_the_naval_observatory(day, rise, fall):
    found = sun_times(39.0, -105.0, [day], utc_offset=-7)
    assert found.sunrise == pytest.approx([hours(rise)], abs=2 * MINUTE)
    assert found.sunset == pytest.approx([hours(fall)], abs=2 * MINUTE)


@pytest.mark.parametrize(("latitude", "longitude"), [(46.1, -91.2), (-33.0, 150.0), (0.0, 0.0)])
def test_times_of_a_year_are_those_of_astral(latitude, longitude):
    from astral import Observer
    from astral.sun import noon, sunrise, sunset

    days = [date(2025, 1, 1) + timedelta(int(d)) for d in range(0, 365, 7)]
    found = sun_times(latitude, longitude, days)
    place = Observer(latitude, longitude)
    for ours, theirs in ((found.sunrise, sunrise), (found.noon, noon), (found.sunset, sunset)):
        times = [theirs(place, d, tzinfo=UTC) for d in days]
        clock = np.array([t.hour + t.minute / 60 + t.second / 3600 for t in times])
        gap = (ours - clock + 12) % 24 - 12
        assert np.abs(gap).max() < 3.1 * MINUTE


def test_a_polar_day_is_refused_with_its_date():
    with pytest.raises(ValueError, match=r"dates\[0\]: found 2025-06-21 at latitude 70°"):
        sun_times(70.0, 20.0, ["2025-06-21"], utc_offset=1)
    with pytest.raises(ValueError, match="utc_offset: found 100, expected -15 to 15"):
        sun_times(40.0, 20.0, ["2025-06-21"], utc_offset=100)
