"""The how-to page says what the reader does."""

import re
from pathlib import Path

import pytest

from nuttery.exchange import WeatherFileError, read_weather
from nuttery.exchange.weather import FORMATS

PAGE = Path(__file__).parents[3] / "docs" / "howto" / "weather-files.md"
TEXT = PAGE.read_text(encoding="utf-8")
BLOCKS = [block.lstrip("\n") for block in TEXT.split("```")[1::2]]


def test_every_format_is_on_the_page_and_no_other():
    rows = [line.split("|")[1] for line in TEXT.splitlines() if line.startswith("| `")]
    named = {name for row in rows for name in re.findall(r"`([a-z0-9-]+)`", row)}
    assert named | {"ghcn-order"} == set(FORMATS)


def test_the_table_on_the_page_is_read(tmp_path):
    table = next(b for b in BLOCKS if b.startswith("# station"))
    file = tmp_path / "may.csv"
    file.write_text(table, encoding="utf-8")
    record = read_weather(file)
    assert (record.station, record.elevation, record.tmax[0]) == ("Sorrel Bank", 310, 20)
    assert record.rain[1] == 0


def test_the_refusal_on_the_page_is_the_one_that_is_given(tmp_path):
    shown = next(b for b in BLOCKS if b.startswith("may.csv"))
    file = tmp_path / "may.csv"
    rows = ["2027-05-01,68,41", "2027-05-02,68,4l", "2027-05-03,66,40", "2027-05-02,66,40"]
    file.write_text("\n".join(["date,tmax_F,tmin_F", *rows]) + "\n", encoding="utf-8")
    with pytest.raises(WeatherFileError, match=r'found "4l", expected a number') as caught:
        read_weather(file)
    assert str(caught.value) == shown.rstrip("\n")
