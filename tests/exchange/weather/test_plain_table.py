"""Plain tables: units in the header, delimiters, encodings, decimal commas, dates, clocks."""

import gzip

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nuttery.exchange import WeatherFileError, read_weather
from nuttery.exchange.weather.read import read_source


def write(tmp_path, text, *, encoding="utf-8", name="weather.txt"):
    file = tmp_path / name
    file.write_bytes(text.encode(encoding))
    return file


def days(*texts):
    return np.array(texts, dtype="datetime64[D]")


def minutes(*texts):
    return np.array(texts, dtype="datetime64[m]")


def test_us_units_become_those_of_the_house(tmp_path):
    text = "date,tmax_F,tmin_F,rain_in\n2027-05-01,68,32,1\n2027-05-02,-40,-40,0.25\n"
    record = read_weather(write(tmp_path, text))
    assert record.resolution == "daily"
    np.testing.assert_array_equal(record.time, days("2027-05-01", "2027-05-02"))
    np.testing.assert_allclose(record.tmax, [20, -40])
    np.testing.assert_allclose(record.tmin, [0, -40])
    np.testing.assert_allclose(record.rain, [25.4, 6.35])


@pytest.mark.parametrize(
    ("title", "written", "element", "value"),
    [
        ("temp_C", "12.5", "temp", 12.5),
        ("Temperature (°F)", "50", "temp", 10),
        ("air temperature [K]", "283.15", "temp", 10),
        ("temp, deg C", "3", "temp", 3),
        ("rh", "45", "rh", 45),
        ("Humidity (%)", "45", "rh", 45),
        ("wind_speed_mps", "3", "wind_speed", 3),
        ("wind speed (km/h)", "36", "wind_speed", 10),
        ("wind_speed_mph", "10", "wind_speed", 4.4704),
        ("wind_kn", "10", "wind_speed", 5.14444),
        ("wind_from", "270", "wind_from", 270),
        ("Wind direction (deg)", "270", "wind_from", 270),
        ("rain_mm", "1.5", "rain", 1.5),
        ("precip (in)", "0.1", "rain", 2.54),
        ("rainfall_cm", "1", "rain", 10),
    ],
)
def test_a_header_names_element_and_unit(tmp_path, title, written, element, value):
    text = f"time\t{title}\n2027-05-01 06:00\t{written}\n"
    record = read_weather(write(tmp_path, text))
    assert record.resolution == "hourly"
    np.testing.assert_allclose(getattr(record, element), [value], rtol=1e-5)


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16", "utf-16-le", "utf-16-be"]
)
@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_delimiter_encoding_and_line_end_do_not_matter(tmp_path, encoding, delimiter, end):
    rows = [
        ["date", "tmax (°C)", "tmin (°C)"],
        ["2027-05-01", "17.5", "-3"],
        ["2027-05-02", "", "1"],
    ]
    text = end.join(delimiter.join(row) for row in rows) + end
    record = read_weather(write(tmp_path, text, encoding=encoding))
    np.testing.assert_array_equal(record.tmax, [17.5, np.nan])
    np.testing.assert_array_equal(record.tmin, [-3, 1])


def test_a_decimal_comma_is_seen_and_told(tmp_path):
    record = read_weather(
        write(tmp_path, "date;tmax_C;rain_mm\n01.05.2027;17,5;3\n02.05.2027;18;,4\n")
    )
    np.testing.assert_array_equal(record.tmax, [17.5, 18])
    np.testing.assert_array_equal(record.rain, [3, 0.4])
    assert {"Decimal comma.", "Dates read day first."} <= set(record.told)


def test_quoted_decimal_commas_may_stand_between_commas(tmp_path):
    record = read_weather(write(tmp_path, 'date,tmax_C\n2027-05-01,"17,5"\n'))
    np.testing.assert_array_equal(record.tmax, [17.5])


def test_missing_values_traces_and_codes(tmp_path):
    text = (
        "date,tmax_C,rain_mm\n2027-05-01,NA,T\n2027-05-02,-9999,trace\n2027-05-03,,0\n"
        "2027-05-04,21,-\n2027-05-06,M,1\n"
    )
    record = read_weather(write(tmp_path, text))
    np.testing.assert_array_equal(record.tmax, [np.nan] * 3 + [21] + [np.nan] * 2)
    np.testing.assert_array_equal(record.rain, [0, 0, 0, np.nan, np.nan, 1])
    assert "2 traces of rain counted as 0 mm." in record.told
    assert "1 value of daily maximum such as -9999 taken as missing." in record.told


@pytest.mark.parametrize(
    ("title", "cells", "first"),
    [
        ("date", ["2027/05/01", "2027/5/2"], "2027-05-01"),
        ("date", ["20270501", "20270502"], "2027-05-01"),
        ("date", ["12/05/2027", "13/05/2027"], "2027-05-12"),
        ("date", ["05/12/2027", "05/13/2027"], "2027-05-12"),
        ("date", ["12.5.2027", "13.5.2027"], "2027-05-12"),
        ("date_mdy", ["05/01/2027", "05/02/2027"], "2027-05-01"),
        ("date_dmy", ["01-05-2027", "02-05-2027"], "2027-05-01"),
        ("date (MM/DD/YYYY)", ["05/01/2027", "05/02/2027"], "2027-05-01"),
        ("Date (DD/MM/YYYY)", ["01/05/2027", "02/05/2027"], "2027-05-01"),
    ],
)
def test_dates_are_read_in_the_order_that_the_column_shows(tmp_path, title, cells, first):
    text = f"{title},tmin_C\n{cells[0]},1\n{cells[1]},2\n"
    record = read_weather(write(tmp_path, text))
    assert record.time[0] == np.datetime64(first)
    np.testing.assert_array_equal(record.tmin, [1, 2])


@pytest.mark.parametrize(
    ("header", "row", "stamp", "offset"),
    [
        ("time", "2027-05-01T06:00", "2027-05-01T06:00", None),
        ("time", "2027-05-01 6:00 PM", "2027-05-01T18:00", None),
        ("time", "2027-05-01 12:00 am", "2027-05-01T00:00", None),
        ("time", "2027-05-01T06:00:00Z", "2027-05-01T06:00", 0),
        ("time", "2027-05-01 06:00:00-06:00", "2027-05-01T06:00", -6),
        ("time", "2027-05-01 06:00+0530", "2027-05-01T06:00", 5.5),
        ("time_utc", "2027-05-01 06:00", "2027-05-01T06:00", 0),
        ("time (UTC-6)", "2027-05-01 06:00", "2027-05-01T06:00", -6),
        ("Time (UTC+05:30)", "2027-05-01 06:00", "2027-05-01T06:00", 5.5),
        ("date,time", "2027-05-01,0600", "2027-05-01T06:00", None),
        ("date,hour", "2027-05-01,24", "2027-05-02T00:00", None),
        ("year,month,day,hour", "2027,5,1,6", "2027-05-01T06:00", None),
        ("year,month,day,hour,minute", "2027,5,1,6,0", "2027-05-01T06:00", None),
    ],
)
def test_times_of_day_and_offsets(tmp_path, header, row, stamp, offset):
    record = read_weather(write(tmp_path, f"{header},temp_C\n{row},7\n"))
    np.testing.assert_array_equal(record.time, minutes(stamp))
    assert record.utc_offset == offset
    assert record.time.dtype == np.dtype("datetime64[m]")


def test_24_00_is_midnight_at_the_end_of_the_day_and_told(tmp_path):
    text = "time,temp_C\n2027-05-01 23:00,1\n2027-05-01 24:00,2\n"
    record = read_weather(write(tmp_path, text))
    np.testing.assert_array_equal(record.time, minutes("2027-05-01T23:00", "2027-05-02T00:00"))
    assert "1 stamp of 24:00 read as 00:00 of the next day." in record.told


def test_blanks_may_part_the_cells(tmp_path):
    record = read_weather(write(tmp_path, "date   tmax_C  rain_mm\n2027-05-01  17.5    0\n"))
    np.testing.assert_array_equal([record.tmax[0], record.rain[0]], [17.5, 0])


def test_rows_in_any_order_are_sorted(tmp_path):
    record = read_weather(write(tmp_path, "date,tmin_C\n2027-05-03,3\n2027-05-01,1\n"))
    np.testing.assert_array_equal(record.tmin, [1, np.nan, 3])


def test_the_change_to_summer_time_with_offsets_keeps_standard_time(tmp_path):
    text = (
        "time,temp_C\n2027-03-14T01:00-06:00,1\n2027-03-14T03:00-05:00,2\n"
        "2027-03-14T04:00-05:00,3\n"
    )
    record = read_weather(write(tmp_path, text))
    assert record.utc_offset == -6
    np.testing.assert_array_equal(record.temp, [1, 2, 3])
    assert "Several UTC offsets, all brought to -6 h (standard time)." in record.told


def test_readings_within_an_hour_are_averaged_and_rain_added_up(tmp_path):
    text = (
        "time,temp_C,wind_from,rain_mm\n2027-05-01 06:00,1,350,0.2\n2027-05-01 06:20,2,10,0.3\n"
        "2027-05-01 06:40,6,,0.5\n2027-05-01 07:00,4,180,\n2027-05-01 07:20,5,0,1\n"
    )
    record = read_weather(write(tmp_path, text))
    np.testing.assert_allclose(record.temp, [3, 4.5])
    np.testing.assert_allclose(record.rain, [1.0, np.nan])
    assert min(record.wind_from[0], 360 - record.wind_from[0]) == pytest.approx(0, abs=1e-9)
    assert np.isnan(record.wind_from[1])  # opposite winds have no mean direction
    assert record.stamp == "start of hour"


def test_hours_without_a_row_are_missing_and_told(tmp_path):
    text = "time,temp_C\n2027-05-01 06:00,1\n2027-05-01 09:00,4\n"
    record = read_weather(write(tmp_path, text))
    np.testing.assert_array_equal(record.temp, [1, np.nan, np.nan, 4])
    assert "No temperature in 2 hours: 2027-05-01 07:00 to 2027-05-01 08:00." in record.told


def test_humidity_a_little_above_saturation_is_100_and_told(tmp_path):
    record = read_weather(write(tmp_path, "time,rh\n2027-05-01 06:00,102.5\n2027-05-01 07:00,99\n"))
    np.testing.assert_array_equal(record.rh, [100, 99])
    assert any("(up to 102.5 %) taken as 100 %" in told for told in record.told)


def test_remarks_above_the_header_tell_the_place(tmp_path):
    text = (
        "# station: Sorrel Bank\n# latitude = 46.1\n# longitude: -91.2\n# elevation: 310\n"
        "# utc_offset: -6\n# kept by hand\n\ntime,temp_C\n2027-05-01 06:00,1\n"
    )
    record = read_weather(write(tmp_path, text))
    assert (record.station, record.latitude, record.longitude) == ("Sorrel Bank", 46.1, -91.2)
    assert (record.elevation, record.utc_offset) == (310, -6)


def test_a_file_without_place_has_none(tmp_path):
    record = read_weather(write(tmp_path, "date,tmin_C\n2027-05-01,1\n"))
    place = (record.station, record.latitude, record.longitude, record.elevation, record.utc_offset)
    assert place == (None,) * 5


def test_daily_extremes_stamped_at_midnight_are_days(tmp_path):
    text = "time,tmax_C,tmin_C\n2027-05-01 00:00,9,1\n2027-05-02 00:00,10,2\n"
    record = read_weather(write(tmp_path, text))
    assert record.resolution == "daily"
    np.testing.assert_array_equal(record.time, days("2027-05-01", "2027-05-02"))


def test_columns_that_are_no_weather_are_told(tmp_path):
    record = read_weather(write(tmp_path, "date,who,tmin_C\n2027-05-01,Ada,1\n"))
    assert "Not used: who." in record.told


def test_a_gzipped_file_is_unpacked(tmp_path):
    file = tmp_path / "weather.csv"
    file.write_bytes(gzip.compress(b"date,tmin_C\n2027-05-01,1\n"))
    np.testing.assert_array_equal(read_weather(file).tmin, [1])


def test_a_delimiter_at_the_end_of_each_line_makes_no_column(tmp_path):
    record = read_weather(write(tmp_path, "date;tmin_C;\n2027-05-01;1;\n2027-05-02;2;\n"))
    np.testing.assert_array_equal(record.tmin, [1, 2])


def test_a_cell_beyond_all_measure_is_refused(tmp_path):
    text = f'date,tmin_C,remark\n2027-05-01,1,"{"x" * 200_000}"\n'
    with pytest.raises(WeatherFileError, match=r"line 2: found a cell that cannot be read"):
        read_weather(write(tmp_path, text))


def test_a_file_beyond_all_measure_is_refused(tmp_path, monkeypatch):
    monkeypatch.setitem(read_source.__globals__, "LARGEST", 2**20)
    with pytest.raises(WeatherFileError, match=r"found more than 1 MB, expected the file of one"):
        read_weather(write(tmp_path, "date,tmin_C\n" + "2027-05-01,1\n" * 100_000))


def test_a_control_byte_far_down_the_file_is_found(tmp_path):
    text = "date,tmin_C\n" + "".join(f"{d},1\n" for d in np.arange("2020", "2022", dtype="M8[D]"))
    with pytest.raises(WeatherFileError, match=r"line 733: found byte 0x07 at position"):
        read_weather(write(tmp_path, text + "\a"))


FAULTY = {
    "hourly header only": ("time,temp_C\n", r"line 1: found no row below the header, expected"),
    "two offsets": (
        "# utc_offset: -5\ntime,temp_C\n2027-05-01T06:00-06:00,1\n",
        r'line 1, utc_offset: found "-5", expected -6 as the stamps have it',
    ),
    "0 am": ("time,temp_C\n2027-05-01 0:30 am,1\n", r'found "2027-05-01 0:30 am", expected a date'),
    "place of text": (
        "# elevation: high\ndate,tmin_C\n2027-05-01,1\n",
        r'line 1, elevation: found "high", expected elevation from -500 to 9000',
    ),
    "empty": ("", r"found an empty file, expected weather"),
    "blank": (" \n\n\t\n", r"found an empty file, expected weather"),
    "header only": (
        "date,tmin_C\n",
        r"line 1: found no row below the header, expected at least one",
    ),
    "unknown": ("dear grower\nit rained\n", r'line 1: found "dear grower", expected the start of'),
    "text": (
        "date,tmin_C\n2027-05-01,mild\n",
        r'line 2, column 2 "tmin_C": found "mild", expected a number',
    ),
    "two points": ("date,tmin_C\n2027-05-01,1.2.3\n", r'found "1\.2\.3", expected a number'),
    "thousands": ("date,rain_mm\n2027-05-01,1_0\n", r'found "1_0", expected a number'),
    "infinity": ("date,tmin_C\n2027-05-01,inf\n", r'found "inf", expected a number'),
    "both marks": (
        "date;tmin_C;tmax_C\n2027-05-01;1,5;3.5\n",
        r'column 3 "tmax_C": found "3\.5", expected a number with a decimal comma',
    ),
    "crossed": (
        "date,tmax_C,tmin_C\n2027-05-01,9,2\n2027-05-02,1,2.5\n",
        r'line 3, column 2 "tmax_C": found on 2027-05-02 a maximum of 1 °C and a minimum of 2\.5',
    ),
    "day twice": (
        "date,tmin_C\n2027-05-01,1\n2027-05-02,1\n2027-05-01,1\n",
        r"line 4, time: found 2027-05-01 again \(first in line 2\), expected each day once",
    ),
    "time twice": (
        "time,temp_C\n2027-11-07 01:00,1\n2027-11-07 01:00,1\n",
        r"line 3, time: found 2027-11-07 01:00 again \(first in line 2\), expected each time once",
    ),
    "hot": (
        "date,tmax_F\n2027-05-01,212\n",
        r'line 2, column 2 "tmax_F": found "212" \(100 °C\), expected -90 to 60 °C',
    ),
    "rain below zero": (
        "date,rain_in\n2027-05-01,-1\n",
        r'found "-1" \(-25\.4 mm\), expected 0 to 2000 mm',
    ),
    "rain in an hour": (
        "time,rain_mm\n2027-05-01 06:00,321\n",
        r"found 321 mm, expected 0 to 320 mm",
    ),
    "humid": ("time,rh\n2027-05-01 06:00,111\n", r"found 111 %, expected 0 to 110 %"),
    "fraction": (
        "time,rh\n2027-05-01 06:00,0.45\n2027-05-01 07:00,1\n",
        r"found no value above 1, expected per cent, 0 to 100",
    ),
    "wind from": (
        "time,wind_from\n2027-05-01 06:00,361\n",
        r"found 361 °, expected 0 to 360 °",
    ),
    "no unit": (
        "date,tmin\n2027-05-01,1\n",
        r'line 1, column 2 "tmin": found no unit, expected a unit of °C, °F or K',
    ),
    "wrong unit": (
        "date,rain_C\n2027-05-01,1\n",
        r"found unit °C, expected a unit of mm, cm or in",
    ),
    "column twice": (
        "date,tmin_C,min_temp_F\n2027-05-01,1,33\n",
        r'column 3 "min_temp_F": found "min_temp_F" beside "tmin_C", expected one column',
    ),
    "no such day": (
        "date,tmin_C\n2027-02-29,1\n",
        r'line 2, column 1 "date": found "2027-02-29", expected a date',
    ),
    "no such time": (
        "time,temp_C\n2027-02-28 24:01,1\n",
        r'found "2027-02-28 24:01", expected a date',
    ),
    "13 pm": (
        "time,temp_C\n2027-02-28 13:00 pm,1\n",
        r'found "2027-02-28 13:00 pm", expected a date',
    ),
    "short year": ("date,tmin_C\n01/02/27,1\n", r'found "01/02/27", expected a date'),
    "year 3027": ("date,tmin_C\n3027-05-01,1\n", r'found "3027-05-01", expected a date'),
    "day or month": (
        "date,tmin_C\n05/06/2027,1\n05/07/2027,1\n",
        r'found "05/06/2027", day or month first, expected year-month-day',
    ),
    "day and month": (
        "date,tmin_C\n13/06/2027,1\n06/14/2027,1\n",
        r'line 3, column 1 "date": found "06/14/2027", expected day first as in line 2',
    ),
    "half a clock": (
        "time,temp_C\n2027-05-01 06:00,1\n2027-05-02,1\n",
        r'line 3, .*found "2027-05-02", expected a time of day as in the other rows',
    ),
    "half a zone": (
        "time,temp_C\n2027-05-01T06:00Z,1\n2027-05-01T07:00,1\n",
        r'line 3, .*found "2027-05-01T07:00", expected an offset from UTC as in other rows',
    ),
    "no such zone": (
        "time,temp_C\n2027-05-01T06:00+15:00,1\n",
        r'found "2027-05-01T06:00\+15:00", expected a date',
    ),
    "few cells": (
        "date,tmin_C\n2027-05-01\n",
        r"line 2: found 1 cells, expected 2 as in the header",
    ),
    "many cells": (
        "date,tmin_C\n2027-05-01,1,5\n",
        r"line 2: found 3 cells, expected 2 as in the header",
    ),
    "two zones": (
        "time_utc,temp_C\n2027-05-01T06:00-06:00,1\n",
        r"line 1: found UTC\+0 in the header, expected UTC-6 as in the rows",
    ),
    "place": (
        "# latitude: 461\ndate,tmin_C\n2027-05-01,1\n",
        r'line 1, latitude: found "461", expected latitude from -90 to 90',
    ),
    "daily and hourly": (
        "date,temp_C\n2027-05-01,1\n",
        r"found no column of weather, expected one of tmax, tmin, rain",
    ),
}


@pytest.mark.parametrize(("text", "message"), FAULTY.values(), ids=FAULTY.keys())
def test_a_faulty_file_is_refused_with_place_found_and_expected(tmp_path, text, message):
    with pytest.raises(WeatherFileError, match=message):
        read_weather(write(tmp_path, text))


@pytest.mark.parametrize(
    ("raw", "message"),
    [
        (b"PK\x03\x04rest", r"found a ZIP archive or spreadsheet workbook, expected a text file"),
        (b"\x89PNG\r\n", r"found a picture, expected a text file"),
        (
            b"date,tmin_C\n2027-05-01,\x001\n",
            r"line 2: found byte 0x00 at position 24, expected a text",
        ),
        (
            b"date,tmin_C\n2027-05-01,\x811\n",
            r"line 2: found byte 0x81 at position 24, expected text in",
        ),
        (b"\x1f\x8bnot gzip", r"found a damaged gzip file .*expected a whole one"),
    ],
)
def test_a_binary_file_is_refused(tmp_path, raw, message):
    file = tmp_path / "weather.csv"
    file.write_bytes(raw)
    with pytest.raises(WeatherFileError, match=message):
        read_weather(file)


def test_all_faults_are_told_in_the_order_of_the_lines(tmp_path):
    text = "date,tmax_C,tmin_C\n2027-05-01,x,1\n2027-05-02,9,y\n2027-05-03,1,2\n2027-05-02,8,7\n"
    with pytest.raises(WeatherFileError, match=r"4 faults") as caught:
        read_weather(write(tmp_path, text))
    assert [fault.line for fault in caught.value.faults] == [2, 3, 4, 5]


def test_an_unknown_format_name_lists_the_known_ones(tmp_path):
    with pytest.raises(
        ValueError, match=r"found 'grib', expected auto or one of ghcn-dly, .*plain"
    ):
        read_weather(write(tmp_path, "date,tmin_C\n2027-05-01,1\n"), format="grib")


number = st.decimals(-50, 40, places=1, allow_nan=False).map(float)


@settings(max_examples=60, deadline=None)
@given(
    rows=st.lists(
        st.tuples(number, number, st.decimals(0, 99, places=1).map(float)), min_size=1, max_size=40
    ),
    comma=st.booleans(),
    fahrenheit=st.booleans(),
)
def test_what_is_written_is_read_back(tmp_path_factory, rows, comma, fahrenheit):
    low = np.minimum([r[0] for r in rows], [r[1] for r in rows])
    high = np.maximum([r[0] for r in rows], [r[1] for r in rows])
    rain = np.array([r[2] for r in rows])
    dates = np.arange(len(rows)) + np.datetime64("2024-02-20")
    unit = "F" if fahrenheit else "C"
    scaled = [x * 1.8 + 32 if fahrenheit else x for x in (high, low)]
    lines = [f"date;tmax_{unit};tmin_{unit};rain_mm"]
    lines += [
        f"{d};{a!r};{b!r};{c!r}"
        for d, a, b, c in zip(dates, *(s.tolist() for s in scaled), rain.tolist(), strict=True)
    ]
    text = "\n".join(lines)
    record = read_weather(
        write(tmp_path_factory.mktemp("plain"), text.replace(".", ",") if comma else text)
    )
    np.testing.assert_array_equal(record.time, dates)
    np.testing.assert_allclose(record.tmax, high, atol=1e-9)
    np.testing.assert_allclose(record.tmin, low, atol=1e-9)
    np.testing.assert_allclose(record.rain, rain, atol=1e-9)
