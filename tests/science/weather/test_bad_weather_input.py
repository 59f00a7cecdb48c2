"""Every public function of the weather room tells what it found and what it expected."""

import numpy as np
import pytest

from nuttery.science import weather

TWO = ["2026-03-01", "2026-03-02"]
GAP = ["2026-03-01", "2026-03-03"]
days, heat, fit = weather.growing_degree_days, weather.growing_degree_hours, weather.fit_climate
hourly, daily = weather.hourly_from_daily, weather.daily_from_hourly


HOURLY = (
    weather.chill_hours,
    weather.utah_units,
    weather.chill_portions,
    weather.growing_degree_hours,
)


@pytest.mark.parametrize("function", HOURLY)
def test_a_gap_among_hours_is_refused_with_its_index(function):
    with pytest.raises(ValueError, match=r"temps\[2\]: found nan, expected a number"):
        function([1.0, 2.0, np.nan])
    with pytest.raises(ValueError, match=r"temps: found shape \(1, 2\), expected 1 axes"):
        function([[1.0, 2.0]])
    assert function([]).shape == (0,)


@pytest.mark.parametrize("function", HOURLY)
@pytest.mark.parametrize("impossible", [400.0, -300.0, 60.1, -90.1, np.inf, -np.inf])
def test_a_temperature_never_read_on_earth_is_refused_with_its_index(function, impossible):
    expected = "a finite number" if np.isinf(impossible) else "-90 to 60"
    with pytest.raises(ValueError, match=rf"temps\[1\]: found {impossible}, expected {expected}"):
        function([1.0, impossible])
    assert function([-90.0, 60.0]).shape == (2,)


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (lambda: weather.chill_hours([1.0], low=8), r"found 8 with high 7.2, expected low at most"),
        (lambda: weather.utah_units([1], classes="kelvin"), "found 'kelvin', expected one of cel"),
        (lambda: heat([1.0], base=30), "found 30, 25, 36, expected rising"),
        (lambda: heat([1.0], method="x"), "found 'x', expected one of asym"),
        (lambda: days([5], [3], 5), r"tmin\[0\]: found 5.0, expected at most"),
        (lambda: days([1, np.nan], [3, 3], 5), r"tmin\[1\]: found nan"),
        (lambda: days([1], [3, 3], 5), r"found shape \(2,\), expected \(1,\)"),
        (lambda: days([1], [3], 5, 5), "found 5, expected more than base 5"),
        (lambda: days([1], [3], 5, method="s"), "found 's', expected one of"),
        (
            lambda: days([1], [3], 5, 9, "average", cutoff="vertical"),
            "found 'vertical', expected 'horizontal' with average",
        ),
        (lambda: hourly([5], [3], TWO[:1], 46), r"tmin\[0\]: found 5.0, expected"),
        (lambda: hourly([1, 1], [3, np.nan], TWO, 46), r"tmax\[1\]: found nan"),
        (lambda: hourly([1, 1], [3, 3], GAP, 46), r"dates\[1\]: found 2026-03-03"),
        (lambda: hourly([1], [3, 3], TWO, 46), "found tmin 1, tmax 2, dates 2"),
        (lambda: hourly([1], [3], ["2026-06-21"], 70), "latitude 70° on day 172"),
        (lambda: hourly([1], [3], ["2026-06-21"], 66.4), "expected less than 23 h"),
        (lambda: hourly([1], [3], ["2026-12-21"], -70), "latitude -70° on day 355"),
        (lambda: weather.day_length(91, [1]), "latitude: found 91.0, expected -90 to 90"),
        (lambda: weather.day_length(46, [0]), r"day_of_year\[0\]: found 0.0, expected 1 to 366"),
        (lambda: weather.day_length(46, [1], "sun"), "found 'sun', expected one of fao56, cbm"),
        (lambda: weather.day_length(80, [172], model="cbm"), "latitude 80° on day 172"),
        (lambda: weather.frost_dates([1, np.nan], TWO, 0), r"tmin\[1\]: found nan"),
        (lambda: weather.frost_dates([1, 1], TWO[::-1], 0), r"dates\[1\]: found 2026-03-01"),
        (lambda: weather.frost_dates([1], ["yesterday"], 0), "found .'yesterday'., expected dates"),
        (lambda: daily(TWO, [1.0]), "found times 2, temps 1"),
        (lambda: daily(TWO, [1, 2], min_hours=25), "found 25, expected 1 to 24"),
        (lambda: fit(TWO, [0, 0], [1, 1], [0, 0]), "found 0 whole days in month 1"),
        (lambda: fit(TWO, [0, 0], [1, 1], [0, -1]), r"rain\[1\]: found -1.0, expected 0"),
        (lambda: fit(TWO, [0, 2], [1, 1], [0, 1]), r"tmin\[1\]: found 2.0, expected at"),
    ],
)  # fmt: skip
def test_bad_input_is_told(call, told):
    with pytest.raises(ValueError, match=told):
        call()


def test_empty_records_give_empty_answers():
    none = np.empty(0)
    assert weather.growing_degree_days(none, none, 5).shape == (0,)
    assert weather.hourly_from_daily(none, none, none, 46).shape == (0, 24)
    assert weather.frost_dates(none, none, 0).years.size == 0
    assert weather.daily_from_hourly(none, none).dates.size == 0


def test_inputs_are_left_as_they_were():
    temps = np.array([-5.0, 3.0, 12.0, 40.0])
    low, high = temps[:2].copy(), temps[2:].copy()
    for function in (weather.chill_hours, weather.chill_portions, weather.growing_degree_hours):
        function(temps)
    weather.growing_degree_days(low, high, 5, 20)
    weather.hourly_from_daily(low, high, TWO, 46.0)
    assert temps.tolist() == [-5, 3, 12, 40]
    assert (low.tolist(), high.tolist()) == ([-5, 3], [12, 40])
