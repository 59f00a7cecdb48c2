"""The workbook to fill in, and the page of the docs that lists the kinds of note."""

from datetime import UTC, date, datetime
from pathlib import Path
from uuid import UUID

import openpyxl
import pytest

from nuttery.exchange import read_notes, write_template
from nuttery.exchange.sheets.columns import layout_of
from nuttery.exchange.sheets.describe import notes_page, own_columns
from nuttery.exchange.sheets.examples import EXAMPLES
from nuttery.records import KINDS

DOCS = Path(__file__).parents[3] / "docs"


@pytest.fixture(params=["metric", "US"])
def units(request):
    return request.param


@pytest.fixture
def template(tmp_path, units):
    path = tmp_path / "template.xlsx"
    write_template(path, units=units, shrubs=["A1", "A2", "B-7"])
    return path


def read(path, units):
    recorded = datetime(2027, 5, 1, 12, tzinfo=UTC)
    return read_notes(path, planting=UUID(int=7), units=units, by="Ida", recorded=recorded)


def test_there_is_a_sheet_for_every_kind_of_note_and_one_that_explains(template):
    names = openpyxl.load_workbook(template).sheetnames
    assert names == [
        "(how to fill this in)",
        *(model.title for model in KINDS.values()),
        "(lists)",
    ]


def test_an_untouched_template_has_no_notes_and_tells_its_example_rows(template, units):
    found = read(template, units)
    assert found.notes == ()
    marked = {sheet.name: sheet.left_out for sheet in found.preview.sheets}
    two_rows = {"sample": (2, 3), "canes cut": (2, 3)}
    assert marked == {model.title: (2,) for model in KINDS.values()} | two_rows
    assert sum("rows marked to be left out" in line for line in found.told) == 1


def test_the_example_rows_are_good_notes_themselves(template, units):
    book = openpyxl.load_workbook(template)
    for model in KINDS.values():
        for row in (2, 3):
            book[model.title].cell(row, 1).value = None
    book.save(template)
    kinds = [note.kind for note in read(template, units).notes]
    assert sorted(kinds) == sorted(EXAMPLES) == sorted(KINDS)


def test_units_stand_in_the_headers(template, units):
    headers = [cell.value for cell in openpyxl.load_workbook(template)["picking"][1]]
    assert ("mass (kg)" if units == "metric" else "mass (lb)") in headers


def test_choices_and_tags_have_drop_downs(template):
    book = openpyxl.load_workbook(template)
    sheet = book["picking"]
    headers = {cell.value: cell.column_letter for cell in sheet[1]}
    lists = {str(v.sqref): v.formula1 for v in sheet.data_validations.dataValidation}
    form = headers["form"]
    assert lists[f"{form}2:{form}5000"] == '"in husk,in shell,kernel"'
    shrub = headers["shrub"]
    assert lists[f"{shrub}2:{shrub}5000"] == "'(lists)'!$A$2:$A$5000"
    assert [row[0].value for row in book["(lists)"].iter_rows()] == ["shrubs", "A1", "A2", "B-7"]
    assert book["(lists)"].sheet_state == "hidden"


def test_no_drop_down_is_longer_than_a_spreadsheet_program_takes():
    for kind in KINDS:
        for column in layout_of(kind).columns:
            assert len(",".join(column.choices)) <= 250
            assert not any("," in choice for choice in column.choices)


def test_canes_have_a_column_for_each_age_to_fifteen(template):
    headers = [cell.value for cell in openpyxl.load_workbook(template)["canes counted"][1]]
    assert [h for h in headers if h.startswith("canes of age")] == [
        f"canes of age {age}" for age in range(1, 16)
    ]
    assert "canes by size, thick" in headers


def test_the_first_sheet_names_every_column_of_every_sheet(template):
    book = openpyxl.load_workbook(template)
    named = {(row[0].value, row[1].value) for row in book.worksheets[0].iter_rows(max_col=2)}
    for model in KINDS.values():
        headers = [cell.value for cell in book[model.title][1]][1:]
        assert {(model.title, header) for header in headers} <= named


def test_dates_and_tags_of_the_empty_rows_are_formatted(template):
    sheet = openpyxl.load_workbook(template)["picking"]
    headers = {cell.value: cell.column_letter for cell in sheet[1]}
    assert sheet.column_dimensions[headers["day seen"]].number_format == "yyyy-mm-dd"
    assert sheet.column_dimensions[headers["shrub"]].number_format == "@"


def test_a_row_added_below_the_example_is_the_only_note(template, units):
    book = openpyxl.load_workbook(template)
    sheet = book["suckers kept"]
    headers = {cell.value: cell.column for cell in sheet[1]}
    for header, value in {"shrub": "A2", "day seen": date(2027, 3, 2), "suckers kept": 3}.items():
        sheet.cell(3, headers[header], value)
    book.save(template)
    (note,) = read(template, units).notes
    assert (note.shrub, note.seen, note.kept, note.by) == ("A2", date(2027, 3, 2), 3, "Ida")


def test_the_page_of_kinds_of_note_is_that_of_the_code():
    written = (DOCS / "methods" / "notes.md").read_text(encoding="utf-8")
    assert written == notes_page(), "write nuttery.exchange.notes_page() to it"


def test_the_page_names_every_kind_and_every_entry():
    page = notes_page()
    for kind, model in KINDS.items():
        assert f"## {model.title} (`{kind}`)" in page
        for column in own_columns(kind):
            assert f"| {column.entry.label} | `" in page or column.field == "group"
