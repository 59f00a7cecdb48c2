"""Weather files against the archives' own examples and against a general reference library.

NOAA's format documents (read in November 2026) and Allen et al. 1998, named beside each check.
pvlib (its readers and the files it ships) is used as an independent reader of TMY3, EPW and NSRDB
files.
"""

from pathlib import Path

import numpy as np
import pytest
from pvlib import data as pvlib_data
from pvlib.iotools import read_epw, read_nsrdb_psm4, read_tmy3

from nuttery.exchange import WeatherFileError, read_weather
from nuttery.exchange.weather.humidity import relative_humidity

SHIPPED = Path(next(iter(pvlib_data.__path__)))
HOUR = np.timedelta64(60, "m")


def write(tmp_path, text, name="weather.txt"):
    file = tmp_path / name
    file.write_text(text, encoding="utf-8")
    return file


def naive(index):
    """Stamps of a reference frame as they stand in the file, without their zone."""
    return index.tz_localize(None).to_numpy().astype("datetime64[m]")


# NOAA, readme of GHCN-Daily, section III: ID 1-11, YEAR 12-15, MONTH 16-17, ELEMENT 18-21,
# VALUE1 22-26, MFLAG1 27, QFLAG1 28, SFLAG1 29, VALUE2 30-34 … VALUE31 262-266, SFLAG31 269.
def test_ghcn_daily_columns_are_those_of_the_readme(tmp_path):
    line = [" "] * 269

    def put(first, last, text):
        line[first - 1 : last] = text.rjust(last - first + 1)

    put(1, 11, "USC00470002")
    put(12, 15, "2021")
    put(16, 17, "05")
    put(18, 21, "PRCP")
    for day in range(31):
        put(22 + 8 * day, 26 + 8 * day, "-9999")
    put(22, 26, "8")
    put(30, 34, "0")
    put(35, 35, "T")
    put(38, 42, "51")
    put(44, 44, "O")
    put(262, 266, "127")
    put(269, 269, "7")
    record = read_weather(write(tmp_path, "".join(line) + "\n"))
    expected = [0.8, 0, *[np.nan] * 28, 12.7]
    np.testing.assert_allclose(record.rain, expected)


# NOAA, GHCN-Daily by year, first rows of 1800 (public domain data): tenths of °C; the maximum of
# 2 January failed the internal consistency check (I).
ROWS_OF_1800 = """\
ITE00100554,18000101,TMAX,-75,,,E,
ITE00100554,18000101,TMIN,-148,,,E,
GM000010962,18000101,PRCP,0,,,E,
EZE00100082,18000101,TMAX,-86,,,E,
EZE00100082,18000101,TMIN,-135,,,E,
ITE00100554,18000102,TMAX,-60,,I,E,
ITE00100554,18000102,TMIN,-125,,,E,
GM000010962,18000102,PRCP,0,,,E,
EZE00100082,18000102,TMAX,-44,,,E,
"""


def test_ghcn_by_year_rows_of_1800(tmp_path):
    file = write(tmp_path, ROWS_OF_1800)
    milan = read_weather(file, station="ITE00100554")
    np.testing.assert_array_equal(milan.tmax, [-7.5, np.nan])
    np.testing.assert_array_equal(milan.tmin, [-14.8, -12.5])
    prague = read_weather(file, station="EZE00100082")
    np.testing.assert_array_equal(prague.tmax, [-8.6, -4.4])
    np.testing.assert_array_equal(prague.tmin, [-13.5, np.nan])
    with pytest.raises(WeatherFileError, match=r"found 3 stations .*, expected one; name it"):
        read_weather(file)


# NOAA, ISD-Lite format document, the example line; scaling 10 for temperature, dew point, wind
# speed and rain, -9999 missing.
def test_isd_lite_line_of_the_format_document(tmp_path):
    line = "2000 01 01 00    10    3  9818   210   21   8 -9999     4\n"
    record = read_weather(write(tmp_path, line))
    assert (record.resolution, record.utc_offset, record.stamp) == ("hourly", 0, "instant")
    np.testing.assert_array_equal(record.time, np.array(["2000-01-01T00:00"], "datetime64[m]"))
    np.testing.assert_allclose(record.temp, [1.0])
    np.testing.assert_allclose(record.wind_speed, [2.1])
    np.testing.assert_allclose(record.wind_from, [210])
    assert np.isnan(record.rain[0])


# NOAA, ISD format document: WND "direction,quality,type,speed × 10,quality", TMP "+0020,1" in
# tenths of °C, +9999 and 999 missing; 3 and 7 = erroneous.
def test_global_hourly_cells_of_the_format_document(tmp_path):
    text = (
        '"STATION","DATE","LATITUDE","LONGITUDE","ELEVATION","NAME","REPORT_TYPE","WND","TMP",'
        '"DEW","AA1"\n'
        '"72681024131","2024-01-01T00:53:00","43.56","-116.24","874.0","BOISE, ID US","FM-15",'
        '"240,1,N,0031,1","+0020,1","-0033,5","01,0005,9,5"\n'
        '"72681024131","2024-01-01T01:53:00","43.56","-116.24","874.0","BOISE, ID US","FM-15",'
        '"999,9,9,9999,9","+0250,7","+9999,9",""\n'
    )
    record = read_weather(write(tmp_path, text))
    hours = np.array(["2024-01-01T01:00", "2024-01-01T02:00"], "datetime64[m]")
    np.testing.assert_array_equal(record.time, hours)
    np.testing.assert_allclose(record.temp, [2.0, np.nan])
    np.testing.assert_allclose(record.wind_speed, [3.1, np.nan])
    np.testing.assert_allclose(record.wind_from, [240, np.nan])
    np.testing.assert_allclose(record.rain, [0.5, np.nan])
    assert (record.latitude, record.longitude, record.elevation) == (43.56, -116.24, 874)


# Allen et al. 1998 (FAO-56), example 3: e°(24.5 °C) = 3.075 kPa, e°(15 °C) = 1.705 kPa.
def test_relative_humidity_is_the_ratio_of_printed_vapour_pressures():
    found = relative_humidity(np.array([24.5]), np.array([15.0]))
    assert found == pytest.approx([100 * 1.705 / 3.075], abs=0.03)


@pytest.mark.parametrize("name", ["703165TY.csv", "723170TYA.CSV"])
def test_tmy3_files_that_the_reference_library_ships(name):
    record = read_weather(SHIPPED / name)
    frame, site = read_tmy3(SHIPPED / name, coerce_year=None, map_variables=False)
    assert len(record) == len(frame) == 8760
    assert record.typical
    np.testing.assert_array_equal(record.temp, frame["Dry-bulb (C)"])
    np.testing.assert_array_equal(record.rh, frame["RHum (%)"])
    np.testing.assert_array_equal(record.wind_speed, frame["Wspd (m/s)"])
    np.testing.assert_array_equal(record.wind_from, frame["Wdir (degrees)"])
    # The reference gives the end of the hour, we its start; it also moves the midnight after
    # 28 February of a leap year to 1 March, which the file does not say.
    ends = naive(frame.index)
    differs = np.flatnonzero(record.time + HOUR != ends)
    assert set(ends[differs].astype(str)) <= {"1996-03-01T00:00"}
    assert (record.latitude, record.longitude) == (site["latitude"], site["longitude"])
    assert (record.elevation, record.utc_offset) == (site["altitude"], site["TZ"])
    one_hour = (frame["Lprecip quantity (hr)"] == 1).to_numpy()
    believable = frame["Lprecip depth (mm)"].to_numpy() <= 320  # two hours of 500 mm are dropped
    expected = np.where(one_hour & believable, frame["Lprecip depth (mm)"], np.nan)
    np.testing.assert_array_equal(record.rain, expected)


def epw_text(rng, *, hours):
    """An invented EPW file: 8 lines of header, 35 columns."""
    header = [
        "LOCATION,Sorrel Bank,WI,USA,invented,726430,46.1,-91.2,-6.0,310.0",
        "DESIGN CONDITIONS,0",
        "TYPICAL/EXTREME PERIODS,0",
        "GROUND TEMPERATURES,0",
        "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
        "COMMENTS 1,invented",
        "COMMENTS 2,",
        "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31",
    ]
    stamps = np.datetime64("2019-01-01T00") + np.arange(hours)
    rows = []
    for stamp in stamps.tolist():
        temp, rh = rng.uniform(-35, 35), rng.integers(5, 101)
        speed, wind = rng.uniform(0, 20), rng.integers(0, 361)
        cells = [stamp.year, stamp.month, stamp.day, stamp.hour + 1, 60, "?9", f"{temp:.1f}", "0.0"]
        cells += [rh, 98000, *[0] * 10, wind, f"{speed:.1f}", *[0] * 11, f"{rng.integers(0, 9)}.0"]
        rows.append(",".join(map(str, [*cells, "1.0"])))
    return "\n".join([*header, *rows]) + "\n"


def test_epw_as_the_reference_library_reads_it(tmp_path):
    file = write(tmp_path, epw_text(np.random.default_rng(7), hours=24 * 40), "a.epw")
    record = read_weather(file)
    frame, site = read_epw(str(file))
    np.testing.assert_array_equal(record.time, naive(frame.index))
    np.testing.assert_array_equal(record.temp, frame["temp_air"])
    np.testing.assert_array_equal(record.rh, frame["relative_humidity"])
    np.testing.assert_array_equal(record.wind_speed, frame["wind_speed"])
    np.testing.assert_array_equal(record.wind_from, frame["wind_direction"])
    np.testing.assert_array_equal(record.rain, frame["liquid_precipitation_depth"])
    assert (record.latitude, record.longitude) == (site["latitude"], site["longitude"])
    assert (record.elevation, record.utc_offset) == (site["altitude"], site["TZ"])
    assert record.station == site["city"]


COLUMNS = ["Year", "Month", "Day", "Hour", "Minute"]
ONE_ORDER = ["Temperature", "GHI", "Relative Humidity", "Wind Direction", "Wind Speed"]
OTHER_ORDER = ["GHI", "Wind Speed", "Wind Direction", "Relative Humidity", "Temperature"]


@pytest.mark.parametrize("order", [ONE_ORDER, OTHER_ORDER], ids=["one order", "the other"])
def test_nsrdb_in_both_orders_as_the_reference_library_reads_it(tmp_path, order):
    rng = np.random.default_rng(11)
    site = {
        "Source": "NSRDB",
        "Location ID": "94018",
        "City": "-",
        "Latitude": "46.11",
        "Longitude": "-91.22",
        "Time Zone": "-6",
        "Elevation": "310",
        "Local Time Zone": "-6",
        "Temperature Units": "c",
        "Relative Humidity Units": "%",
        "Wind Direction Units": "Degrees",
        "Wind Speed Units": "m/s",
    }
    lines = [",".join(site), ",".join(site.values()), ",".join(COLUMNS + order)]
    for stamp in (np.datetime64("2021-03-01T00:30") + 60 * np.arange(24 * 20)).tolist():
        values = {
            "Temperature": round(rng.uniform(-30, 35), 1),
            "GHI": int(rng.integers(0, 900)),
            "Relative Humidity": round(rng.uniform(5, 100), 2),
            "Wind Direction": int(rng.integers(0, 360)),
            "Wind Speed": round(rng.uniform(0, 20), 1),
        }
        clock = [stamp.year, stamp.month, stamp.day, stamp.hour, stamp.minute]
        lines.append(",".join(map(str, clock + [values[name] for name in order])))
    file = write(tmp_path, "\n".join(lines) + "\n")
    record = read_weather(file)
    frame, meta = read_nsrdb_psm4(file, map_variables=True)
    np.testing.assert_array_equal(record.time, naive(frame.index) - np.timedelta64(30, "m"))
    np.testing.assert_array_equal(record.temp, frame["temp_air"])
    np.testing.assert_array_equal(record.rh, frame["relative_humidity"])
    np.testing.assert_array_equal(record.wind_speed, frame["wind_speed"])
    np.testing.assert_array_equal(record.wind_from, frame["wind_direction"])
    assert (record.latitude, record.longitude) == (meta["latitude"], meta["longitude"])
    assert (record.elevation, record.utc_offset) == (meta["altitude"], meta["Time Zone"])
