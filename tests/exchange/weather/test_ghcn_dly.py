"""GHCN-Daily station files: columns, flags, days that a month does not have."""

from calendar import monthrange

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nuttery.exchange import WeatherFileError, read_weather

STATION = "USC00470001"


def month_line(year, month, element, days, *, station=STATION):
    """Line of 31 days, each (value, MFLAG, QFLAG, SFLAG)."""
    cells = "".join(f"{value:5d}{m}{q}{s}" for value, m, q, s in days)
    return f"{station}{year:04d}{month:02d}{element}{cells}"


def same(value, flags="   ", n=31):
    return [(value, *flags)] * n


def whole_month(year, month, element, values, **flags):
    days = [(value, *flags.get(f"day{d}", "   ")) for d, value in enumerate(values, 1)]
    return month_line(year, month, element, days + same(-9999, n=31 - len(days)))


def write(tmp_path, *lines, name="station.dly"):
    file = tmp_path / name
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return file


@st.composite
def months(draw):
    year, month = draw(st.integers(1850, 2199)), draw(st.integers(1, 12))
    n = monthrange(year, month)[1]
    element = draw(st.sampled_from(["TMAX", "TMIN", "PRCP"]))
    low, high = (0, 20_000) if element == "PRCP" else (-900, 600)
    value = st.one_of(st.just(-9999), st.integers(low, high))
    mark = st.tuples(
        st.sampled_from(" BDHKLOPTW"),
        st.sampled_from(" " * 8 + "DGIKLMNORSTWXZ"),
        st.sampled_from(" 7S0"),
    )
    cell = st.tuples(value, mark).map(lambda pair: (pair[0], *pair[1]))
    days = draw(st.lists(cell, min_size=n, max_size=n))
    return year, month, element, days


@settings(max_examples=150, deadline=None)
@given(months())
def test_the_value_of_day_d_stands_8_columns_after_that_of_the_day_before(tmp_path_factory, drawn):
    year, month, element, days = drawn
    line = month_line(year, month, element, days + same(-9999, n=31 - len(days)))
    assert len(line) == 269
    record = read_weather(write(tmp_path_factory.mktemp("dly"), line))
    found = {"TMAX": record.tmax, "TMIN": record.tmin, "PRCP": record.rain}[element]
    assert record.time[0] == np.datetime64(f"{year}-{month:02d}-01")
    assert record.time.dtype == np.dtype("datetime64[D]")
    assert len(found) == len(days)
    for d in range(1, len(days) + 1):
        start = 22 + 8 * (d - 1)  # columns as the readme counts them, from 1
        written, quality = int(line[start - 1 : start + 4]), line[start + 5]
        if written == -9999 or quality != " ":
            assert np.isnan(found[d - 1])
        else:
            assert found[d - 1] == pytest.approx(written / 10, abs=1e-9)


def test_a_trace_is_no_rain_and_not_missing(tmp_path):
    line = whole_month(2021, 4, "PRCP", [0, 0, -9999, 25], day1="T  ", day4=" S ")
    record = read_weather(write(tmp_path, line))
    np.testing.assert_array_equal(record.rain[:4], [0, 0, np.nan, np.nan])
    assert "1 trace of rain counted as 0 mm." in record.told


def test_a_value_that_failed_a_check_is_dropped_and_told(tmp_path):
    lines = [
        whole_month(2021, 4, "TMAX", [100, 990, 120], day2=" X "),
        whole_month(2021, 4, "TMIN", [50, 60, 130], day3=" I "),
    ]
    record = read_weather(write(tmp_path, *lines))
    np.testing.assert_array_equal(record.tmax[:3], [10, np.nan, 12])
    np.testing.assert_array_equal(record.tmin[:3], [5, 6, np.nan])
    assert any("1 bounds check" in told for told in record.told)
    assert any("1 internal consistency check" in told for told in record.told)


def test_every_day_from_first_to_last_has_a_row_and_the_gap_is_told(tmp_path):
    lines = [whole_month(2020, m, "TMIN", [10] * monthrange(2020, m)[1]) for m in (1, 4)]
    record = read_weather(write(tmp_path, *lines))
    assert len(record) == 31 + 29 + 31 + 30
    np.testing.assert_array_equal(np.diff(record.time), np.timedelta64(1, "D"))
    assert np.isnan(record.tmin[31:91]).all()
    assert "No daily minimum on 60 days: 2020-02-01 to 2020-03-31." in record.told


def test_lines_may_stand_in_any_order(tmp_path):
    lines = [
        whole_month(2019, 2, "TMAX", range(28)),
        whole_month(2019, 1, "TMAX", range(100, 131)),
        whole_month(2019, 1, "TMIN", range(31)),
    ]
    record = read_weather(write(tmp_path, *lines))
    np.testing.assert_allclose(
        record.tmax, np.concatenate([np.arange(100, 131), np.arange(28)]) / 10
    )
    np.testing.assert_allclose(record.tmin[:31], np.arange(31) / 10)


def test_elements_that_are_not_used_are_told(tmp_path):
    lines = [whole_month(2019, 2, "TMAX", [10]), whole_month(2019, 2, "SNWD", [400])]
    assert "Not used: SNWD." in read_weather(write(tmp_path, *lines)).told


def test_the_format_is_found_by_content_not_by_name(tmp_path):
    file = write(tmp_path, whole_month(2019, 2, "TMAX", [10]), name="weather.csv")
    record = read_weather(file)
    assert (record.format, record.station) == ("GHCN-Daily .dly", STATION)
    assert (record.resolution, record.stamp, record.utc_offset) == ("daily", "day", None)


def test_one_station_of_several_can_be_named(tmp_path):
    other = "CA005040681"
    cold = month_line(2019, 2, "TMIN", same(-300, n=28) + same(-9999, n=3), station=other)
    file = write(tmp_path, whole_month(2019, 2, "TMAX", [10]), cold)
    assert read_weather(file, station=other).tmin[0] == -30
    with pytest.raises(WeatherFileError, match=r"found 2 stations .* expected one"):
        read_weather(file)
    with pytest.raises(WeatherFileError, match=rf"found {other}, {STATION}, expected station X"):
        read_weather(file, station="X")


def test_arrays_cannot_be_written_over(tmp_path):
    record = read_weather(write(tmp_path, whole_month(2019, 2, "TMAX", [10])))
    with pytest.raises(ValueError, match="read-only"):
        record.tmax[0] = 0


GOOD = whole_month(2021, 5, "TMAX", [150] * 31)
COLD = whole_month(2021, 5, "TMIN", [50] * 31)


@pytest.mark.parametrize(
    ("lines", "message"),
    [
        pytest.param([GOOD, COLD[:-1]], r"line 2: found 268 characters, expected 269", id="short"),
        pytest.param([GOOD + " "], r"line 1: found 270 characters, expected 269", id="long"),
        pytest.param(
            [GOOD, COLD[:29] + "  5x0" + COLD[34:]],
            r'line 2, columns 30-34: found "  5x0", expected a whole number or -9999',
            id="text in a number",
        ),
        pytest.param(
            [GOOD[:21] + " 1.50" + GOOD[26:]],
            r'line 1, columns 22-26: found " 1\.50", expected a whole number',
            id="decimal point",
        ),
        pytest.param(
            [GOOD, whole_month(2021, 5, "TMIN", [50] * 6 + [151] + [50] * 24)],
            r"line 1, columns 70-74: found on 2021-05-07 a maximum of 15 °C and a minimum of "
            r"15\.1 °C \(line 2\), expected a maximum not below",
            id="crossed extremes",
        ),
        pytest.param(
            [GOOD, COLD, GOOD],
            r"line 3, columns 12-21: found TMAX of May 2021 again \(first in line 1\), expected "
            r"each month once",
            id="month twice",
        ),
        pytest.param(
            [GOOD.replace("TMAX", "PRCP")[:21] + "  -10" + GOOD[26:]],
            r'line 1, columns 22-26: found "-10" \(-1 mm\), expected 0 to 2000 mm',
            id="negative rain",
        ),
        pytest.param(
            [GOOD[:21] + "  990" + GOOD[26:]],
            r'columns 22-26: found "990" \(99 °C\), expected -90 to 60 °C',
            id="too hot",
        ),
        pytest.param(
            [whole_month(2021, 4, "TMIN", [50] * 31)],
            r"line 1, columns 262-266: found 50 on day 31 of 2021-04, expected -9999",
            id="31 April",
        ),
        pytest.param(
            [GOOD, COLD[:15] + "13" + COLD[17:]],
            r'line 2, columns 1-21: found "USC00470001202113TMIN", expected .* month 01 to 12',
            id="month 13",
        ),
        pytest.param(
            [GOOD, COLD[:28] + "é" + COLD[29:]],
            r"line 2: found a letter outside ASCII, expected plain ASCII",
            id="no ASCII",
        ),
        pytest.param(
            [whole_month(2021, 5, "SNOW", [0])], r"found no day with weather", id="only snow"
        ),
    ],
)
def test_a_faulty_file_is_refused_with_line_columns_found_and_expected(tmp_path, lines, message):
    with pytest.raises(WeatherFileError, match=message):
        read_weather(write(tmp_path, *lines))


def test_all_faults_of_a_file_are_told_at_once_and_the_list_is_capped(tmp_path):
    bad = GOOD[:21] + "  abc   " * 31
    with pytest.raises(WeatherFileError, match=r"(?s)32 faults.*and 12 more like these") as caught:
        read_weather(write(tmp_path, bad, COLD[:-1]))
    assert len(caught.value.faults) == 32
    assert str(caught.value).count("expected a whole number") == 20
