"""Hourly archive formats: stamps, quality codes, several reports an hour, traces, gaps."""

import numpy as np
import pytest

from nuttery.exchange import WeatherFileError, read_weather


def write(tmp_path, text):
    file = tmp_path / "weather.txt"
    file.write_text(text, encoding="utf-8")
    return file


def minutes(*texts):
    return np.array(texts, dtype="datetime64[m]")


# --- ISD-Lite


def lite(stamp, *values):
    return f"{stamp} " + " ".join(f"{value:5d}" for value in values) + "\n"


def test_isd_lite_scales_and_knows_missing_and_trace(tmp_path):
    text = lite("2021 05 01 06", 152, 101, 10132, 270, 36, 4, -1, -9999)
    text += lite("2021 05 01 09", -15, -9999, -9999, -9999, -9999, -9999, 12, -9999)
    record = read_weather(write(tmp_path, text))
    np.testing.assert_array_equal(record.temp, [15.2, np.nan, np.nan, -1.5])
    np.testing.assert_array_equal(record.rain, [0, np.nan, np.nan, 1.2])
    np.testing.assert_array_equal(record.wind_speed, [3.6, np.nan, np.nan, np.nan])
    assert np.isnan(record.rh[3])
    assert 71 < record.rh[0] < 72
    assert "1 trace of rain counted as 0 mm." in record.told


# --- NOAA Global-Hourly

HOURLY = (
    '"STATION","DATE","LATITUDE","LONGITUDE","ELEVATION","NAME","REPORT_TYPE","WND","TMP",'
    '"DEW","AA1"\n'
)


def report(stamp, kind, temp, *, wind="240,1,N,0031,1", dew="+0010,1", rain=""):
    place = '"72681024131","{}","43.6","-116.2","874.0","BOISE, ID US","{}"'
    return f'{place.format(stamp, kind)},"{wind}","{temp}","{dew}","{rain}"\n'


def test_of_several_reports_the_one_nearest_to_the_hour_counts(tmp_path):
    text = HOURLY + "".join(
        [
            report("2024-01-01T13:40:00", "FM-16", "+0090,1"),
            report("2024-01-01T13:53:00", "FM-15", "+0100,1"),
            report("2024-01-01T14:00:00", "FM-12", "+0110,1"),
            report("2024-01-01T14:53:00", "FM-15", "+0120,2"),
            report("2024-01-01T15:20:00", "FM-16", "+0130,1"),
            report("2024-01-01T23:59:00", "SOD  ", "+0999,1"),
        ]
    )
    record = read_weather(write(tmp_path, text))
    np.testing.assert_array_equal(record.time, minutes("2024-01-01T14:00", "2024-01-01T15:00"))
    # At 15:00 the routine value is suspect (2), so the special report of 15:20 stands in.
    np.testing.assert_array_equal(record.temp, [11, 13])
    assert "Dropped 1 value of temperature with a suspect or erroneous quality code." in record.told
    assert any(told.startswith("Of 5 reports") for told in record.told)


def test_routine_before_synoptic_before_special_at_the_same_distance(tmp_path):
    text = HOURLY + "".join(
        [
            report("2024-01-01T14:00:00", "FM-16", "+0090,1"),
            report("2024-01-01T14:00:00", "FM-12", "+0100,1"),
            report("2024-01-01T14:00:00", "FM-15", "+0110,1"),
        ]
    )
    np.testing.assert_array_equal(read_weather(write(tmp_path, text)).temp, [11])


def test_rain_is_that_of_one_hour_and_of_no_special_report(tmp_path):
    text = HOURLY + "".join(
        [
            report("2024-01-01T13:53:00", "FM-15", "+0100,1", rain="01,0012,9,1"),
            report("2024-01-01T14:02:00", "FM-16", "+0100,1", rain="01,0003,9,1"),
            report("2024-01-01T14:53:00", "FM-15", "+0100,1", rain="06,0050,9,1"),
            report("2024-01-01T15:53:00", "FM-15", "+0100,1", rain="01,0000,2,1"),
            report("2024-01-01T16:53:00", "FM-15", "+0100,1", rain="01,0080,9,3"),
        ]
    )
    record = read_weather(write(tmp_path, text))
    np.testing.assert_array_equal(record.rain, [1.2, np.nan, 0, np.nan])
    assert "1 trace of rain counted as 0 mm." in record.told


# --- airport reports

AIRPORT = "station,valid,tmpf,dwpf,relh,drct,sknt,p01i\n"


def test_airport_reports_become_metric_hours(tmp_path):
    text = (
        "#DEBUG: Time Zone     -> Etc/UTC\n"
        + AIRPORT
        + "EAU,2024-05-01 13:53,50.00,41.00,71.10,270.00,10.00,0.02\n"
        + "EAU,2024-05-01 14:20,M,M,M,M,M,0.05\n"
        + "EAU,2024-05-01 14:53,68.00,41.00,M,M,0.00,0.10\n"
        + "EAU,2024-05-01 15:53,69.80,M,M,300.00,5.00,T\n"
    )
    record = read_weather(write(tmp_path, text))
    np.testing.assert_array_equal(
        record.time, minutes("2024-05-01T14:00", "2024-05-01T15:00", "2024-05-01T16:00")
    )
    np.testing.assert_allclose(record.temp, [10, 20, 21])
    np.testing.assert_allclose(record.wind_speed, [5.144444, 0, 2.572222], rtol=1e-6)
    np.testing.assert_allclose(record.wind_from, [270, np.nan, 300])
    np.testing.assert_allclose(record.rain, [0.508, 2.54, 0])
    assert (record.station, record.utc_offset, record.stamp) == ("EAU", 0, "instant")


def test_airport_humidity_from_the_dew_point_where_there_is_none(tmp_path):
    text = "station,valid(UTC),tmpc,dwpc\nEAU,2024-05-01 13:53,24.5,15\n"
    record = read_weather(write(tmp_path, text))
    np.testing.assert_allclose(record.rh, [55.46], atol=0.05)
    assert record.utc_offset == 0


def test_a_zone_that_is_not_told_stays_unknown(tmp_path):
    record = read_weather(write(tmp_path, AIRPORT + "EAU,2024-05-01 13:53,50,41,71,270,10,0\n"))
    assert record.utc_offset is None
    assert any("a zone that the file does not tell" in told for told in record.told)


def test_a_zone_with_summer_time_is_refused(tmp_path):
    text = "#DEBUG: Time Zone     -> America/Chicago\n" + AIRPORT
    text += "EAU,2024-05-01 13:53,50,41,71,270,10,0\n"
    with pytest.raises(
        WeatherFileError, match=r"line 1, time zone: found America/Chicago, expected UTC"
    ):
        read_weather(write(tmp_path, text))


# --- Canadian archive

CANADA_DAILY = (
    '"Longitude (x)","Latitude (y)","Station Name","Climate ID","Date/Time","Year","Month","Day",'
    '"Data Quality","Max Temp (°C)","Max Temp Flag","Min Temp (°C)","Min Temp Flag",'
    '"Total Precip (mm)","Total Precip Flag"\n'
)


def test_canadian_days_with_flags(tmp_path):
    place = '"-97.2","49.9","SORREL NORTH","5020001"'
    rows = [
        f'{place},"2024-05-01","2024","05","01","","17.5","","2.0","E","3.2",""\n',
        f'{place},"2024-05-02","2024","05","02","","","M","1.0","","0.0","T"\n',
        f'{place},"2024-05-03","2024","05","03","","16.0","","1.0","","12.0","A"\n',
        f'{place},"2024-05-04","2024","05","04","","","","","","",""\n',
    ]
    record = read_weather(write(tmp_path, CANADA_DAILY + "".join(rows)))
    np.testing.assert_array_equal(record.tmax, [17.5, np.nan, 16, np.nan])
    np.testing.assert_array_equal(record.tmin, [2, 1, 1, np.nan])
    np.testing.assert_array_equal(record.rain, [3.2, 0, np.nan, np.nan])
    assert (record.station, record.latitude, record.longitude) == ("SORREL NORTH", 49.9, -97.2)
    assert "Dropped 1 value of rain: 1 accumulated over several days." in record.told
    assert "1 value of daily minimum estimated by the archive." in record.told


def test_canadian_hours(tmp_path):
    text = (
        '"Longitude (x)","Latitude (y)","Station Name","Climate ID","Date/Time (LST)","Year",'
        '"Month","Day","Time (LST)","Temp (°C)","Temp Flag","Rel Hum (%)","Rel Hum Flag",'
        '"Precip. Amount (mm)","Precip. Amount Flag","Wind Dir (10s deg)","Wind Dir Flag",'
        '"Wind Spd (km/h)","Wind Spd Flag"\n'
        '"-97.2","49.9","SORREL NORTH","5020001","2024-05-01 06:00","2024","05","01","06:00",'
        '"4.5","","80","","0.4","","27","","18",""\n'
    )
    record = read_weather(write(tmp_path, text))
    found = [
        a[0] for a in (record.temp, record.rh, record.rain, record.wind_from, record.wind_speed)
    ]
    np.testing.assert_allclose(found, [4.5, 80, 0.4, 270, 5])
    assert (record.resolution, record.utc_offset) == ("hourly", None)


# --- EPW, TMY3, NSRDB


def epw(*rows, source="invented", periods="1"):
    head = f"LOCATION,Sorrel Bank,WI,USA,{source},726430,46.1,-91.2,-6.0,310.0\n"
    head += "X\n" * 6 + f"DATA PERIODS,1,{periods},Data,Sunday, 1/ 1,12/31\n"
    return head + "".join(rows)


def epw_row(stamp, temp=1.0, rh=80, wind=(270, 3.0), rain=(0.0, 1.0)):
    cells = [*stamp, "?9", temp, 0.0, rh, 98000, *[0] * 10, *wind, *[0] * 11, *rain]
    return ",".join(map(str, cells)) + "\n"


def test_epw_hours_end_at_their_number_and_are_stamped_at_their_start(tmp_path):
    text = epw(epw_row((2019, 5, 1, 24, 60)), epw_row((2019, 5, 2, 1, 60)))
    record = read_weather(write(tmp_path, text))
    np.testing.assert_array_equal(record.time, minutes("2019-05-01T23:00", "2019-05-02T00:00"))
    assert (record.stamp, record.utc_offset, record.typical) == ("start of hour", -6, False)


def test_epw_missing_codes_are_missing(tmp_path):
    text = epw(
        epw_row((2019, 5, 1, 1, 0), 99.9, 999, (999, 999.0), (999.0, 99.0)),
        epw_row((2019, 5, 1, 2, 0), 9.9, 99, (99, 9.0), (9.0, 6.0)),
    )
    record = read_weather(write(tmp_path, text))
    np.testing.assert_array_equal(record.temp, [np.nan, 9.9])
    np.testing.assert_array_equal(record.rh, [np.nan, 99])
    np.testing.assert_array_equal(record.wind_from, [np.nan, 99])
    np.testing.assert_array_equal(record.wind_speed, [np.nan, 9])
    assert np.isnan(record.rain).all()
    assert "Dropped 1 value of rain that were not the depth of one hour." in record.told


def test_a_year_of_mixed_months_is_typical_and_keeps_its_stamps(tmp_path):
    text = epw(epw_row((2003, 1, 31, 24, 60)), epw_row((1999, 2, 1, 1, 60)))
    record = read_weather(write(tmp_path, text))
    assert record.typical
    np.testing.assert_array_equal(record.time, minutes("2003-01-31T23:00", "1999-02-01T00:00"))
    assert "a typical year of 2 hours put together from 2 years" in record.told[0]


def test_a_typical_year_in_one_year_is_known_by_its_name(tmp_path):
    text = epw(epw_row((2005, 1, 1, 1, 60)), source="TMY3")
    assert read_weather(write(tmp_path, text)).typical


def test_several_lines_an_hour_are_averaged(tmp_path):
    rows = [epw_row((2019, 5, 1, 1, m), t) for m, t in [(15, 1.0), (30, 2.0), (45, 3.0), (60, 4.0)]]
    record = read_weather(write(tmp_path, epw(*rows, periods="4")))
    np.testing.assert_allclose(record.temp, [2.5])
    np.testing.assert_array_equal(record.time, minutes("2019-05-01T00:00"))


TMY3 = (
    '999999,"SORREL BANK",WI,-6.0,46.100,-91.200,310\n'
    "Date (MM/DD/YYYY),Time (HH:MM),Dry-bulb (C),RHum (%),Wdir (degrees),Wspd (m/s),"
    "Lprecip depth (mm),Lprecip quantity (hr)\n"
)


def test_tmy3_midnight_belongs_to_the_day_that_ends(tmp_path):
    text = (
        TMY3 + "01/01/1997,23:00,4.0,93,320,2.1,-9900,-9900\n01/01/1997,24:00,-9900,93,0,0.0,2,1\n"
    )
    record = read_weather(write(tmp_path, text))
    np.testing.assert_array_equal(record.time, minutes("1997-01-01T22:00", "1997-01-01T23:00"))
    np.testing.assert_array_equal(record.temp, [4, np.nan])
    np.testing.assert_array_equal(record.rain, [np.nan, 2])
    assert (record.latitude, record.longitude, record.elevation) == (46.1, -91.2, 310)
    assert (record.station, record.utc_offset) == ("SORREL BANK", -6)


NSRDB = (
    "Source,Location ID,City,State,Country,Latitude,Longitude,Time Zone,Elevation,"
    "Local Time Zone,{units}\nNSRDB,94018,-,-,-,46.1,-91.2,-6,310,-6,{unit}\n"
    "Year,Month,Day,Hour,Minute,Wind Speed,Temperature\n"
)


def test_nsrdb_half_hours_are_averaged_and_the_unit_is_read(tmp_path):
    text = NSRDB.format(units="Temperature Units", unit="f")
    text += "2021,5,1,6,0,2,50\n2021,5,1,6,30,3,68\n2021,5,1,7,0,4,32\n"
    record = read_weather(write(tmp_path, text))
    np.testing.assert_allclose(record.temp, [15, 0])
    np.testing.assert_allclose(record.wind_speed, [2.5, 4])
    assert (record.station, record.utc_offset) == ("94018", -6)


FAULTY = {
    "lite short": (
        "2021 05 01 06 1 2 3 4 5 6 7 8\n2021 05 01 07 1\n",
        r"line 2: found 5 numbers, expected 12: year",
    ),
    "lite text": (
        "2021 05 01 06 1 2 3 4 5 6 7 8\n2021 05 01 07 1x 2 3 4 5 6 7 8\n",
        r'line 2, columns 15-: found "1x", expected a whole number',
    ),
    "lite hour": (
        "2021 05 01 24 1 2 3 4 5 6 7 8\n",
        r"line 1, columns 1-13: found 2021 05 01 24, expected .*hour 00 to 23",
    ),
    "lite twice": (
        "2021 05 01 06 1 2 3 4 5 6 7 8\n" * 2,
        r"line 2, time: found 2021-05-01 06:00 again",
    ),
    "lite wild": (
        "2021 05 01 06 999 2 3 4 5 6 7 8\n",
        r'line 1, columns 14-19: found "999" \(99\.9 °C\), expected -90 to 60',
    ),
    "hourly cell": (
        HOURLY + report("2024-01-01T13:53:00", "FM-15", "20"),
        r'line 2, column 9 "TMP": found "20", expected tenths of °C',
    ),
    "hourly wind": (
        HOURLY + report("2024-01-01T13:53:00", "FM-15", "+0020,1", wind="x"),
        r'column 8 "WND": found "x", expected direction',
    ),
    "airport text": (
        AIRPORT + "EAU,2024-05-01 13:53,warm,41,71,270,10,0\n",
        r'line 2, column 3 "tmpf": found "warm", expected a number',
    ),
    "airport date": (
        AIRPORT + "EAU,yesterday,50,41,71,270,10,0\n",
        r'line 2, column 2 "valid": found "yesterday", expected a date',
    ),
    "epw place": (
        "LOCATION,Sorrel Bank\n" + "X\n" * 9,
        r"line 1: found 2 cells, expected 10: LOCATION",
    ),
    "epw latitude": (
        epw(epw_row((2019, 5, 1, 1, 0))).replace("46.1", "146"),
        r'line 1, column 7: found "146", expected latitude',
    ),
    "epw cut": (epw(), r"line 8: found no line of weather, expected hours below 8 header lines"),
    "epw narrow": (epw("2019,5,1,1,0,1\n"), r"line 9: found 6 cells, expected 35"),
    "epw hour": (
        epw(epw_row((2019, 5, 1, 0, 0))),
        r'line 9, columns 1-5: found "2019,5,1,0,0", expected year, month, day, hour 1 to 24',
    ),
    "epw text": (
        epw(epw_row((2019, 5, 1, 1, 0), "cold")),
        r'line 9, column 7 "dry bulb": found "cold", expected a number',
    ),
    "epw twice": (
        epw(epw_row((2019, 5, 1, 1, 0)) * 2, epw_row((2019, 5, 1, 2, 0))),
        r"line 10, time: found 2019-05-01 00:00 again \(first in line 9\)",
    ),
    "tmy3 place": (
        TMY3.replace("-6.0", "west") + "01/01/1997,23:00,4,9,3,2,0,1\n",
        r'line 1, column 4: found "west", expected utc_offset from -12 to 14',
    ),
    "tmy3 narrow": (
        TMY3.replace(",46.100,-91.200,310", ""),
        r"line 1: found 4 cells, expected 7: number",
    ),
    "tmy3 time": (
        TMY3 + "01/01/1997,25:00,4,9,3,2,0,1\n",
        r'line 3, column 1 .*: found "01/01/1997 25:00", expected a date',
    ),
    "nsrdb unit": (
        NSRDB.format(units="Temperature Units", unit="r") + "2021,5,1,6,0,2,50\n",
        r'line 2, "Temperature Units": found "r", expected a unit of °C, °F or K',
    ),
    "nsrdb time": (
        NSRDB.format(units="X", unit="x") + "2021,5,1,24,0,2,50\n",
        r'line 4, Year, .*: found "2021,5,1,24,0", expected year',
    ),
    "canada crossed": (
        CANADA_DAILY + '"1","2","A","3","2024-05-01","2024","05","01","","1","","2","","",""\n',
        r"line 2, .* a maximum of 1 °C and a minimum of 2 °C",
    ),
}


@pytest.mark.parametrize(("text", "message"), FAULTY.values(), ids=FAULTY.keys())
def test_a_faulty_archive_file_is_refused_with_place_found_and_expected(tmp_path, text, message):
    with pytest.raises(WeatherFileError, match=message):
        read_weather(write(tmp_path, text))


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (
            epw(epw_row((2019, 5, 1, 1, 0))),
            r"line 1: found station Sorrel Bank, expected station X",
        ),
        (TMY3 + "01/01/1997,23:00,4,9,3,2,0,1\n", r"line 1: found station SORREL BANK, expected"),
        (
            HOURLY + report("2024-01-01T13:53:00", "FM-15", "+0020,1"),
            r"found 72681024131, expected",
        ),
        (AIRPORT + "EAU,2024-05-01 13:53,50,41,71,270,10,0\n", r"found EAU, expected station X"),
    ],
    ids=["epw", "tmy3", "global-hourly", "airport"],
)
def test_another_station_than_the_one_named_is_refused(tmp_path, text, expected):
    with pytest.raises(WeatherFileError, match=expected):
        read_weather(write(tmp_path, text), station="X")


def test_several_stations_need_a_name(tmp_path):
    text = (
        AIRPORT + "EAU,2024-05-01 13:53,50,41,71,270,10,0\nMSP,2024-05-01 13:53,60,41,71,270,10,0\n"
    )
    file = write(tmp_path, text)
    with pytest.raises(
        WeatherFileError, match=r"line 3, .*found 2 stations \(EAU, MSP\), expected one"
    ):
        read_weather(file)
    np.testing.assert_allclose(read_weather(file, station="EAU").temp, [10])


def test_one_wild_value_of_a_thousand_is_dropped_and_told(tmp_path):
    hours = np.datetime64("2021-01-01T00") + np.arange(1500)
    lines = [
        f"{h.year} {h.month:02d} {h.day:02d} {h.hour:02d} {999 if i == 700 else 10} 0 1 2 3 4 5 6\n"
        for i, h in enumerate(hours.tolist())
    ]
    record = read_weather(write(tmp_path, "".join(lines)))
    np.testing.assert_array_equal(np.flatnonzero(np.isnan(record.temp)), [700])
    assert "Dropped 1 value of temperature beyond -90 to 60 °C (line 701)." in record.told
