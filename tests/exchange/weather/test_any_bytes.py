"""Whatever a file holds, the answer is a record or a WeatherFileError, never another failure."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nuttery.exchange import WeatherFileError, WeatherRecord, read_weather
from nuttery.exchange.weather import FORMATS

STARTS = [
    b"",
    b"date,tmax_F,tmin_C,rain_in\n2027-05-01,",
    b"time;temp_C;rh;wind_speed_mps\n2027-05-01 06:00;",
    b"USC00470001202105TMAX",
    b"USC00470001,20210501,TMAX,",
    b"STATION,DATE,LATITUDE,LONGITUDE,ELEVATION,NAME,TMAX,TMAX_ATTRIBUTES\nA,2021-05-01,1,2,3,N,",
    b"STATION,DATE,TMAX\n",
    b"2021 05 01 06 1 2 3 4 5 6 7 8\n2021 ",
    b"STATION,DATE,TMP,WND\nA,2021-05-01T06:00:00,",
    b"station,valid,tmpf,p01i\nEAU,2021-05-01 06:53,",
    b"LOCATION,a,b,c,d,e,1,2,3,4\n1\n2\n3\n4\n5\n6\nDATA PERIODS,1,1\n2019,5,1,1,0,x,",
    b"1,a,b,-6,46,-91,3\nDate (MM/DD/YYYY),Time (HH:MM),Dry-bulb (C)\n01/01/1997,",
    b"Source,Latitude,Longitude,Time Zone,Elevation\nN,1,2,3,4\nYear,Month,Day,Temperature\n2021,",
    b'"Date/Time","Max Temp (\xb0C)","Max Temp Flag"\n"2024-05-01",',
    b"\xff\xfe",
    b"\x1f\x8b",
    b"\xef\xbb\xbfdate\ttmin_C\n",
]
LETTERS = st.binary(max_size=60) | st.text(
    alphabet="0123456789.,;:-+/ \n\t\"'#TMAXdatempFC°é", max_size=80
).map(str.encode)


def answer(file, **kwargs):
    try:
        return read_weather(file, **kwargs)
    except WeatherFileError as problem:
        refused = problem
    assert refused.faults
    assert all(fault.found and fault.expected for fault in refused.faults)
    assert "found" in str(refused)
    return None


@settings(max_examples=400, deadline=None)
@given(start=st.sampled_from(STARTS), rest=LETTERS)
def test_random_bytes_after_any_start(tmp_path_factory, start, rest):
    file = tmp_path_factory.getbasetemp() / "any.bin"
    file.write_bytes(start + rest)
    found = answer(file)
    assert found is None or isinstance(found, WeatherRecord)


@settings(max_examples=100, deadline=None)
@given(start=st.sampled_from(STARTS), rest=LETTERS, form=st.sampled_from(sorted(FORMATS)))
def test_any_file_read_as_any_format(tmp_path_factory, start, rest, form):
    file = tmp_path_factory.getbasetemp() / "any.bin"
    file.write_bytes(start + rest)
    answer(file, format=form)


@pytest.mark.parametrize("form", sorted(FORMATS))
@pytest.mark.parametrize("start", STARTS, ids=range(len(STARTS)))
def test_every_start_read_as_every_format(tmp_path, start, form):
    file = tmp_path / "any.bin"
    file.write_bytes(start)
    answer(file, format=form)
