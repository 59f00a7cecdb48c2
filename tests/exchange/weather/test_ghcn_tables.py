"""GHCN-Daily as tables: by year, by station, as ordered; the unit is never guessed."""

import numpy as np
import pytest

from nuttery.exchange import WeatherFileError, read_weather

STATION = '"USC00470001","2021-05-0{day}","46.1","-91.2","310.0","SORREL BANK, WI US"'
BY_STATION = (
    '"STATION","DATE","LATITUDE","LONGITUDE","ELEVATION","NAME","PRCP","PRCP_ATTRIBUTES",'
    '"SNOW","SNOW_ATTRIBUTES","TMAX","TMAX_ATTRIBUTES","TMIN","TMIN_ATTRIBUTES"\n'
    + STATION.format(day=1)
    + ',"   51",",,7,0700","    0",",,7","  172",",,7","   44",",,7"\n'
    + STATION.format(day=2)
    + ',"    0","T,,7,0700","    0",",,7","  999",",X,7","   50",",,7"\n'
    + STATION.format(day=4)
    + ',"","","    0",",,7","  150",",,7","",""\n'
)
ORDERED = (
    '"STATION","NAME","LATITUDE","LONGITUDE","ELEVATION","DATE","PRCP","TMAX","TMIN"\n'
    '"USC00470001","SORREL BANK, WI US","46.1","-91.2","310.0","2021-05-01","0.20","63","40"\n'
    '"USC00470001","SORREL BANK, WI US","46.1","-91.2","310.0","2021-05-02","T","68","41"\n'
)


def write(tmp_path, text):
    file = tmp_path / "weather.csv"
    file.write_text(text, encoding="utf-8")
    return file


def test_a_station_table_has_tenths_flags_and_place(tmp_path):
    record = read_weather(write(tmp_path, BY_STATION))
    assert record.format == "GHCN-Daily by station"
    np.testing.assert_array_equal(record.tmax, [17.2, np.nan, np.nan, 15])
    np.testing.assert_array_equal(record.tmin, [4.4, 5, np.nan, np.nan])
    np.testing.assert_array_equal(record.rain, [5.1, 0, np.nan, np.nan])
    assert (record.latitude, record.longitude, record.elevation) == (46.1, -91.2, 310)
    assert record.station == "SORREL BANK, WI US"
    assert "1 trace of rain counted as 0 mm." in record.told
    assert "Not used: SNOW." in record.told
    assert any("1 bounds check" in told for told in record.told)


def test_a_by_year_table_tells_when_was_observed(tmp_path):
    rows = (
        "USC00470001,20210501,TMAX,172,,,7,0700\nUSC00470001,20210501,TMIN,44,,,7,0700\n"
        "USC00470001,20210502,PRCP,0,T,,7,0700\nUSC00470001,20210502,SNWD,0,,,7,\n"
    )
    record = read_weather(write(tmp_path, rows))
    np.testing.assert_array_equal(record.tmax, [17.2, np.nan])
    np.testing.assert_array_equal(record.rain, [np.nan, 0])
    assert any("Observed at 07:00 (3) local time." in told for told in record.told)
    assert "Not used: SNWD." in record.told


def test_a_by_year_table_may_have_a_header(tmp_path):
    rows = "ID,DATE,ELEMENT,VALUE,M,Q,S,TIME\nUSC00470001,20210501,TMAX,172,,,7,0700\n"
    np.testing.assert_array_equal(read_weather(write(tmp_path, rows)).tmax, [17.2])


def test_an_ordered_table_is_refused_until_its_unit_is_declared(tmp_path):
    file = write(tmp_path, ORDERED)
    expected = r'line 1, TMAX, TMIN, PRCP: found no unit, expected .* format="ghcn-order-us" or '
    with pytest.raises(WeatherFileError, match=expected):
        read_weather(file)


@pytest.mark.parametrize(
    ("form", "tmax", "rain"),
    [
        ("ghcn-order-us", [17.2222222, 20], [5.08, 0]),
        ("ghcn-order-metric", None, None),
    ],
)
def test_an_ordered_table_is_scaled_as_declared(tmp_path, form, tmax, rain):
    file = write(tmp_path, ORDERED)
    if tmax is None:  # 63 °C in May: the wrong choice is caught
        with pytest.raises(WeatherFileError, match=r'"TMAX": found "63" \(63 °C\)|found 63 °C'):
            read_weather(file, format=form)
        return
    record = read_weather(file, format=form)
    np.testing.assert_allclose(record.tmax, tmax)
    np.testing.assert_allclose(record.rain, rain)
    assert "Units as declared: °F and in." in record.told


def test_a_metric_order_in_the_order_of_the_archive_is_not_taken_for_tenths(tmp_path):
    text = BY_STATION.replace("  172", "17.2").replace("   44", " 4.4")
    with pytest.raises(
        WeatherFileError, match=r"found no unit, expected the unit that was ordered"
    ):
        read_weather(write(tmp_path, text))


def test_units_in_the_titles_need_no_declaration(tmp_path):
    text = (
        '"SORREL BANK, WI US (USC00470001)"\n'
        "Date,TMAX (Degrees Fahrenheit),TMIN (Degrees Fahrenheit),PRCP (Inches),SNOW (Inches)\n"
        "2021-05-01,68,41,0.10,0.0\n"
    )
    record = read_weather(write(tmp_path, text))
    np.testing.assert_allclose([record.tmax[0], record.tmin[0], record.rain[0]], [20, 5, 2.54])


@pytest.mark.parametrize(
    ("text", "message"),
    [
        pytest.param(
            "USC00470001,20210501,TMAX,172,,,7,0700\nUSC00470001,20210501,TMAX,172,,,7,0700\n",
            r"line 2, time: found 2021-05-01 again \(first in line 1\), expected each day once",
            id="twice",
        ),
        pytest.param(
            "USC00470001,20210501,TMAX,17.2,,,7,0700\n",
            r'line 1, column 4 "VALUE": found "17\.2", expected a whole number of tenths',
            id="scaled",
        ),
        pytest.param(
            "USC00470001,20210501,TMAX,1x,,,7,\n",
            r'line 1, column 4 "VALUE": found "1x", expected a number',
            id="text",
        ),
        pytest.param(
            "USC00470001,20210501,TMAX,10,,,7,\nUSC00470001,20210501,TMIN,20,,,7,\n",
            r"line 1, .*found on 2021-05-01 a maximum of 1 °C and a minimum of 2 °C \(line 2\)",
            id="crossed",
        ),
        pytest.param(
            "USC00470001,20210231,TMAX,10,,,7,\n",
            r'line 1, column 2 "DATE": found "20210231", expected a date',
            id="31 February",
        ),
        pytest.param(
            BY_STATION.replace('"46.1"', '"461"'),
            r'line 2, "LATITUDE": found "461", expected latitude from -90 to 90',
            id="latitude",
        ),
    ],
)
def test_a_faulty_table_is_refused_with_place_found_and_expected(tmp_path, text, message):
    with pytest.raises(WeatherFileError, match=message):
        read_weather(write(tmp_path, text))
