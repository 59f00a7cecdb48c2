"""Answers as tables: no formula slips in, a missing value is an empty cell."""

import csv
import json
from datetime import UTC, date, datetime

import numpy as np
import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from nuttery.exchange import write_notes, write_table
from nuttery.exchange.neutral import with_apostrophe, without_apostrophe

COLUMNS = {"shrub": "shrub", "kg": "crop (kg)", "day": "day", "why": "why", "due": "due"}
ROWS = [
    {"shrub": "A1", "kg": np.float64(1.25), "day": np.datetime64("2027-04-12"), "why": "=1+1"},
    {"shrub": "-7", "kg": float("nan"), "day": date(2027, 4, 13), "due": True},
    {"shrub": "@x", "kg": -0.5, "day": None, "why": 'ärger; "quoted"\nline', "due": False},
]


def test_a_table_of_delimited_text_is_harmless_and_has_a_byte_order_mark(tmp_path):
    path = tmp_path / "a.csv"
    assert write_table(ROWS, COLUMNS, path) == 3
    assert path.read_bytes().startswith(b"\xef\xbb\xbf")
    with path.open(encoding="utf-8-sig", newline="") as text:
        assert list(csv.reader(text)) == [
            ["shrub", "crop (kg)", "day", "why", "due"],
            ["A1", "1.25", "2027-04-12", "'=1+1", ""],
            ["'-7", "", "2027-04-13", "", "yes"],
            ["'@x", "-0.5", "", 'ärger; "quoted"\nline', "no"],
        ]


def test_a_table_in_a_workbook_holds_text_where_text_was_meant(tmp_path):
    path = tmp_path / "a.xlsx"
    write_table(ROWS, COLUMNS, path)
    sheet = openpyxl.load_workbook(path).active
    rows = [[cell.value for cell in row] for row in sheet.iter_rows()]
    assert rows[1] == ["A1", 1.25, datetime(2027, 4, 12), "=1+1", None]  # noqa: DTZ001 - as a workbook has it
    assert rows[2][1] is None
    assert sheet["D2"].data_type == "s"
    assert sheet["D2"].quotePrefix
    assert sheet["A3"].data_type == "s"


def test_a_table_of_json_lines_keeps_its_keys(tmp_path):
    path = tmp_path / "a.jsonl"
    write_table(ROWS, COLUMNS, path)
    lines = [json.loads(line) for line in path.read_text().splitlines()]
    assert lines[0] == {"shrub": "A1", "kg": 1.25, "day": "2027-04-12", "why": "=1+1", "due": None}
    assert lines[1]["kg"] is None


def test_a_moment_with_a_time_zone_can_stand_in_a_workbook(tmp_path):
    path = tmp_path / "a.xlsx"
    write_table([{"at": datetime(2027, 4, 12, 5, tzinfo=UTC)}], {"at": "at"}, path)
    assert openpyxl.load_workbook(path).active["A2"].value == "2027-04-12T05:00:00+00:00"


def test_a_key_without_a_column_is_refused(tmp_path):
    with pytest.raises(ValueError, match=r"rows\[1\]: found the key 'b', expected one of: a"):
        write_table([{"a": 1}, {"b": 2}], {"a": "a"}, tmp_path / "a.csv")
    assert not (tmp_path / "a.csv").exists()


@pytest.mark.parametrize(
    "write", [lambda p: write_table([], {}, p), lambda p: write_notes([], p, units="US")]
)
def test_a_suffix_that_is_not_known_is_refused(tmp_path, write):
    with pytest.raises(ValueError, match=r'found the suffix ".pdf", expected .*\.csv'):
        write(tmp_path / "a.pdf")


@given(st.text() | st.from_regex(r"'*[=+\-@\t\r].*", fullmatch=True))
def test_text_made_harmless_starts_no_formula_and_can_be_had_back(text):
    safe = with_apostrophe(text)
    assert safe[:1] not in set("=+-@\t\r\uff1d\uff0b\uff0d\uff20")
    assert without_apostrophe(safe) == text
