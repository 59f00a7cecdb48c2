"""What a person's own file may look like, what is told of it, and what is refused."""

import re
from datetime import UTC, date, datetime, time
from uuid import UUID

import openpyxl
import pytest

from nuttery.exchange import ImportRefused, read_notes, write_notes

PLANTING = UUID(int=7)
RECORDED = datetime(2027, 5, 1, 12, tzinfo=UTC)
PICKING = "shrub,day seen,mass (kg),form,fresh or dry\n"


def read(path, **more):
    asked = {"planting": PLANTING, "units": "metric", "by": "Ida", "recorded": RECORDED, **more}
    return read_notes(path, **asked)


def csv_file(tmp_path, text, name="picking.csv", encoding="utf-8"):
    path = tmp_path / name
    path.write_bytes(text.encode(encoding))
    return path


def workbook(tmp_path, rows, sheet="picking", name="notes.xlsx"):
    book = openpyxl.Workbook()
    book.active.title = sheet
    for row in rows:
        book.active.append(row)
    path = tmp_path / name
    book.save(path)
    return path


def faults(path, **more):
    with pytest.raises(ImportRefused, match=r"found .*, expected .*\n?.*Nothing was imported") as e:
        read(path, **more)
    return [str(f) for f in e.value.faults]


HEAD = ["shrub", "day seen", "mass (kg)", "form", "fresh or dry"]
GOOD = ["A1", date(2026, 9, 20), 1.4, "in husk", "fresh"]


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252"])
def test_delimiter_and_encoding_are_detected_and_told(tmp_path, delimiter, encoding):
    text = (PICKING.strip() + ",batch\nA1,2026-09-20,1.4,in husk,fresh,Köln\n").replace(
        ",", delimiter
    )
    found = read(csv_file(tmp_path, text, encoding=encoding))
    assert [(n.shrub, n.mass_kg, n.batch) for n in found.notes] == [("A1", 1.4, "Köln")]
    assert found.preview.encoding == encoding
    assert f"encoding {encoding}" in found.told[0]


def test_a_first_line_that_says_the_delimiter_is_believed(tmp_path):
    text = "sep=;\n" + (PICKING + "A1,2026-09-20,1.4,in husk,fresh\n").replace(",", ";")
    assert read(csv_file(tmp_path, text)).notes[0].mass_kg == 1.4


def test_a_decimal_comma_is_detected(tmp_path):
    text = PICKING.replace(",", ";") + "A1;2026-09-20;1,4;in husk;fresh\n"
    found = read(csv_file(tmp_path, text))
    assert found.notes[0].mass_kg == 1.4
    assert "decimal comma" in found.told[0]


def test_three_digits_after_the_only_commas_are_not_guessed(tmp_path):
    path = csv_file(tmp_path, PICKING + 'A1,2026-09-20,"1,234",in husk,fresh\n')
    assert faults(path) == [
        (
            "picking.csv, row 2, \"mass (kg)\": found '1,234' (a decimal comma, or thousands?), "
            "expected a number whose decimal mark is sure, such as 1.234, "
            "or the decimal mark declared"
        )
    ]
    assert read(path, decimal_mark=",").notes[0].mass_kg == 1.234


def test_two_decimal_marks_in_one_file_are_refused(tmp_path):
    rows = "".join(
        f'A{k},2026-09-20,"{m}",in husk,fresh\n' for k, m in enumerate(["1.4", "2.5", "1,5"])
    )
    assert faults(csv_file(tmp_path, PICKING + rows)) == [
        (
            "picking.csv, row 4, \"mass (kg)\": found '1,5', "
            "expected a number with a decimal point, as in the rest of the file"
        )
    ]


def test_a_day_over_twelve_settles_the_order_of_all_dates(tmp_path):
    rows = "A1,3/9/2026,1.4,in husk,fresh\nA2,20/9/2026,1.4,in husk,fresh\n"
    found = read(csv_file(tmp_path, PICKING + rows))
    assert [n.seen for n in found.notes] == [date(2026, 9, 3), date(2026, 9, 20)]
    examples = "3/9/2026 is 3 September 2026; 20/9/2026 is 20 September 2026"
    assert f"dates: day first, detected ({examples})" in found.told


def test_dates_of_unclear_order_are_refused_until_it_is_declared(tmp_path):
    path = csv_file(tmp_path, PICKING + "A1,3/9/2026,1.4,in husk,fresh\n")
    assert faults(path) == [
        (
            "picking.csv, row 2, \"day seen\": found '3/9/2026' "
            "(3 September 2026 or 9 March 2026?), expected dates of which the order is known: "
            'declare one of "day first", "month first", "year first"'
        )
    ]
    assert read(path, day_order="month first").notes[0].seen == date(2026, 3, 9)
    assert read(path, day_order="day first").notes[0].seen == date(2026, 9, 3)


def test_a_year_of_two_digits_may_stand_first_or_last(tmp_path):
    path = csv_file(tmp_path, PICKING + "A1,26-09-20,1.4,in husk,fresh\n")
    assert "(26 September 2020 or 20 September 2026?)" in faults(path)[0]
    assert read(path, day_order="year first").notes[0].seen == date(2026, 9, 20)
    assert read(path, day_order="day first").notes[0].seen == date(2020, 9, 26)


def test_a_year_of_two_digits_is_read_in_the_order_of_the_other_dates(tmp_path):
    rows = "A1,1.9.26,1.4,in husk,fresh\nA2,20.9.2026,1.4,in husk,fresh\n"
    assert read(csv_file(tmp_path, PICKING + rows)).notes[0].seen == date(2026, 9, 1)


def test_dates_that_contradict_each_other_are_refused(tmp_path):
    rows = "A1,13/9/2026,1.4,in husk,fresh\nA2,9/14/2026,1.4,in husk,fresh\n"
    told = faults(csv_file(tmp_path, PICKING + rows))
    assert len(told) == 2
    assert all("expected dates of which the order is known" in line for line in told)


@pytest.mark.parametrize(
    "text",
    ["2026-09-20", "20 September 2026", "20 sep 2026", "Sept 20, 2026", "20th September 2026",
     "2026/9/20", "20.9.2026", "20-Sep-2026"],
)  # fmt: skip
def test_a_day_can_be_written_in_many_ways(tmp_path, text):
    path = csv_file(tmp_path, PICKING + f'A1,"{text}",1.4,in husk,fresh\n')
    assert read(path).notes[0].seen == date(2026, 9, 20)


@pytest.mark.parametrize(
    ("column", "cell", "told"),
    [
        ("mass (kg)", "a lot", "found 'a lot', expected a number in kg"),
        ("mass (kg)", "3 m", "found '3 m', expected a number in kg"),
        ("mass (kg)", 99.0, "found 99 kg, expected 0 to 60 kg"),
        ("mass (kg)", 14.0, 'found 14 kg, expected 0.005 to 12 kg (or yes under "I mean it")'),
        ("mass (kg)", "40 lb", "found '40 lb', expected 0.005 to 12 kg (or yes"),
        ("mass (kg)", True, "found TRUE, expected a number in kg"),
        ("mass (kg)", datetime(2026, 4, 3), "found 2026-04-03, expected a number in kg"),  # noqa: DTZ001 - as a workbook has it
        ("mass (kg)", "=1/0", "found a formula without a value, expected a value (open the file"),
        ("mass (kg)", "#N/A", "found #N/A, expected a value, not an error"),
        ("mass (kg)", None, "found nothing, expected an entry here"),
        (
            "form",
            "in husks",
            ("found 'in husks', expected one of: in husk, in shell, kernel "
            '(did you mean "in husk"?)'),
        ),
        ("day seen", "31 June 2026", "found '31 June 2026', expected a day that there is"),
        ("day seen", 46285, "found 46285, expected a date such as 2027-04-12, in a"),
        ("day seen", datetime(2026, 9, 20, 14), "found 2026-09-20 14:00:00, expected a day alone"),  # noqa: DTZ001 - the same
        ("day seen", date(2030, 1, 1), "found 2030-01-01, expected no later than 2027-05-01"),
        ("shrub", "A 1", "found 'A 1', expected letters and digits, then also . _ - (no blanks)"),
        ("shrub", date(2026, 4, 3), "found the date or time 2026-04-03, expected text (format"),
        ("shrub", None, "found nothing, expected the tag of a shrub"),
    ],
)  # fmt: skip
def test_one_bad_cell_refuses_the_file_and_is_told_at_its_place(tmp_path, column, cell, told):
    bad = [cell if h == column else v for h, v in zip(HEAD, GOOD, strict=True)]
    path = workbook(tmp_path, [HEAD, GOOD, bad])
    assert len(faults(path)) == 1
    assert faults(path)[0].startswith(f'notes.xlsx, sheet "picking", row 3, "{column}": {told}')


def test_every_fault_is_listed_at_once(tmp_path):
    rows = [HEAD, ["A1", "x", -5, "boiled", "fresh"], ["", date(2026, 9, 1), "y", "kernel", "dry"]]
    told = faults(workbook(tmp_path, rows))
    assert [re.search(r'row (\d), "(.*?)"', line).groups() for line in told] == [
        ("2", "day seen"),
        ("2", "form"),
        ("2", "mass (kg)"),
        ("3", "mass (kg)"),
    ]


def test_limits_are_told_in_the_units_of_the_planting(tmp_path):
    rows = [["shrub", "day seen", "rings", "cane base (in)"], ["A1", date(2026, 12, 1), 5, 9.8]]
    told = faults(workbook(tmp_path, rows, "rings counted"), units="US")
    assert '"cane base (in)": found 9.8 in, expected 0.118 to 4.72 in (or yes' in told[0]


def test_limits_are_told_in_the_unit_of_a_header_of_its_own(tmp_path):
    path = csv_file(tmp_path, PICKING.replace("kg", "lb") + "A1,2026-09-20,31,in husk,fresh\n")
    assert '"mass (lb)": found 31 lb, expected 0.011 to 26.5 lb (or yes' in faults(path)[0]


@pytest.mark.parametrize(
    "name", ["Pickings 2026.csv", "2026_picking.csv", "PICKING.csv", "picking (2).csv"]
)
def test_the_name_of_a_file_may_be_a_plural_or_have_a_year(tmp_path, name):
    path = csv_file(tmp_path, PICKING + "A1,2026-09-20,1,in husk,fresh\n", name)
    assert read(path).notes[0].kind == "picking"


def test_i_mean_it_overrules_what_is_unusual_but_not_what_is_impossible(tmp_path):
    rows = [[*HEAD, "I mean it"], [*GOOD[:2], 14.0, *GOOD[3:], "yes"]]
    note = read(workbook(tmp_path, rows)).notes[0]
    assert (note.mass_kg, note.means_it) == (14.0, True)
    rows[1][2] = 61.0
    assert "found 61 kg, expected 0 to 60 kg" in faults(workbook(tmp_path, rows))[0]


def test_a_value_may_carry_its_own_unit(tmp_path):
    rows = [
        ["shrub", "day seen", "rings", "cane base (mm)"],
        ["A1", date(2026, 12, 1), 5, "1.5 in"],
    ]
    assert read(workbook(tmp_path, rows, "rings counted")).notes[0].diameter_mm == 38.1


def test_the_unit_of_the_header_holds_over_that_of_the_planting(tmp_path):
    path = csv_file(tmp_path, PICKING.replace("kg", "lb") + "A1,2026-09-20,2,in husk,fresh\n")
    assert read(path, units="metric").notes[0].mass_kg == 0.90718474


def test_a_bare_header_takes_the_unit_of_the_planting(tmp_path):
    path = csv_file(tmp_path, PICKING.replace(" (kg)", "") + "A1,2026-09-20,2,in husk,fresh\n")
    assert read(path, units="US").notes[0].mass_kg == 0.90718474


def test_a_cell_formatted_as_per_cent_is_read_as_it_looks(tmp_path):
    path = workbook(
        tmp_path, [[*HEAD, "moisture (%)", "basis of the moisture"], [*GOOD, 0.29, "wet basis"]]
    )
    book = openpyxl.load_workbook(path)
    book.active["F2"].number_format = "0%"
    book.save(path)
    assert read(path).notes[0].moisture == 0.29


@pytest.mark.parametrize(
    ("header", "told"),
    [
        (
            "mas (kg)",
            (
                "found a column of an unknown name, expected one of: shrub, day seen, .*; "
                'or a name in parentheses, .*did you mean "mass \\(kg\\)"'
            ),
        ),
        (
            "mass (litres)",
            "found the unit 'litres', expected the column \"mass \\(kg\\)\" or its like",
        ),
    ],
)
def test_a_column_of_an_unknown_name_is_refused_with_the_nearest_one(tmp_path, header, told):
    text = PICKING.replace("mass (kg)", header) + "A1,2026-09-20,1,in husk,dry\n"
    lines = faults(csv_file(tmp_path, text))
    assert any(re.search(f'row 1, "{re.escape(header)}": {told}', line) for line in lines)


def test_a_column_in_parentheses_is_left_out(tmp_path):
    found = read(workbook(tmp_path, [[*HEAD, "(my own)"], [*GOOD, "anything"]]))
    assert len(found.notes) == 1


def test_two_columns_for_one_entry_are_refused(tmp_path):
    told = faults(workbook(tmp_path, [[*HEAD, "mass (lb)"], [*GOOD, 3.0]]))
    assert 'found a second column for "mass" beside "mass (kg)", expected one column' in told[0]


def test_a_value_under_no_header_is_refused(tmp_path):
    told = faults(workbook(tmp_path, [HEAD, [*GOOD, "lost"]]))
    assert "\"column F\": found 'lost', expected a header above every column in use" in told[0]


def test_a_sheet_of_an_unknown_kind_is_refused_with_the_nearest_one(tmp_path):
    told = faults(workbook(tmp_path, [HEAD, GOOD], "pikings"))
    assert 'found a sheet named "pikings" without a column "kind"' in told[0]
    assert told[0].endswith('(did you mean "picking"?)')


def test_a_sheet_in_parentheses_is_left_out_and_told(tmp_path):
    path = workbook(tmp_path, [HEAD, GOOD])
    book = openpyxl.load_workbook(path)
    book.create_sheet("(my sums)").append(["anything"])
    book.save(path)
    found = read(path)
    assert len(found.notes) == 1
    assert any("(my sums)" in line and "parentheses" in line for line in found.told)


def test_a_column_of_kinds_makes_one_table_of_many_kinds(tmp_path):
    text = (
        "kind,shrub,date,mass (kg),form,fresh or dry,height (m)\n"
        "picking,A1,2026-09-20,1.4,in husk,fresh,\n"
        "size measured,A1,2026-09-21,,,,2.5\n"
    )
    found = read(csv_file(tmp_path, text, "all of it.csv"))
    assert [n.kind for n in found.notes] == ["picking", "size_measured"]


def test_an_entry_of_another_kind_is_refused(tmp_path):
    head = "kind,shrub,date,mass (kg),height (m)\n"
    text = head + "size measured,A1,2026-09-21,3,2.5\npiking,A1,2026-09-21,3,\n"
    told = faults(csv_file(tmp_path, text, "all.csv"))
    assert "found '3', expected nothing here: size measured has no such entry" in told[0]
    assert 'did you mean "picking"' in told[1]


def test_lines_above_the_header_are_left_out_and_told(tmp_path):
    found = read(workbook(tmp_path, [["Pickings of 2026"], [], HEAD, GOOD]))
    assert len(found.notes) == 1
    assert any("above the header, left out: row 1" in line for line in found.told)


def test_rows_marked_to_be_left_out_are_told(tmp_path):
    found = read(workbook(tmp_path, [["leave out", *HEAD], ["x", *GOOD], [None, *GOOD]]))
    assert len(found.notes) == 1
    assert any('rows marked to be left out: "picking" 2' in line for line in found.told)


def test_cells_merged_down_a_column_count_for_each_row(tmp_path):
    path = workbook(tmp_path, [HEAD, GOOD, [None, *GOOD[1:]], [None, *GOOD[1:]]])
    book = openpyxl.load_workbook(path)
    book.active.merge_cells("A2:A4")
    book.save(path)
    found = read(path)
    assert [n.shrub for n in found.notes] == ["A1"] * 3
    assert any("cells A2:A4 are merged" in line for line in found.told)


def test_cells_merged_across_columns_are_refused(tmp_path):
    path = workbook(tmp_path, [HEAD, GOOD])
    book = openpyxl.load_workbook(path)
    book.active.merge_cells("D2:E2")
    book.save(path)
    assert "found cells D2:E2 merged into one, expected one cell for each column" in faults(path)[0]


def test_hidden_rows_and_sheets_are_read_and_told(tmp_path):
    path = workbook(tmp_path, [HEAD, GOOD, ["A2", *GOOD[1:]]])
    book = openpyxl.load_workbook(path)
    book.active.row_dimensions[3].hidden = True
    book.create_sheet("remark").append(["date", "remark"])
    book["remark"].append([date(2026, 9, 20), "hello"])
    book["remark"].sheet_state = "hidden"
    book.save(path)
    found = read(path)
    assert len(found.notes) == 3
    assert any("hidden rows were read like the others: 3" in line for line in found.told)
    assert any("the sheet is hidden; it was read like the others" in line for line in found.told)


def test_a_formula_with_a_value_is_read_by_its_value(tmp_path):
    # openpyxl writes no values of formulas, so the value is put into the file by hand.
    import zipfile

    path = workbook(tmp_path, [HEAD, [*GOOD[:2], "=1+1", *GOOD[3:]]])
    with zipfile.ZipFile(path) as book:
        parts = {name: book.read(name) for name in book.namelist()}
    sheet = parts["xl/worksheets/sheet1.xml"].replace(b"<f>1+1</f><v />", b"<f>1+1</f><v>2</v>")
    assert b"<v>2</v>" in sheet
    with zipfile.ZipFile(path, "w") as book:
        for name, raw in (parts | {"xl/worksheets/sheet1.xml": sheet}).items():
            book.writestr(name, raw)
    assert read(path).notes[0].mass_kg == 2.0


def test_a_time_typed_as_time_or_as_text_is_kept(tmp_path):
    rows = [[*HEAD, "time seen"], [*GOOD, time(7, 5)], [*GOOD, "7:05"]]
    assert {n.seen_at for n in read(workbook(tmp_path, rows)).notes} == {time(7, 5)}


def test_a_workbook_that_counts_days_from_1904_is_read_right(tmp_path):
    from openpyxl.utils.datetime import CALENDAR_MAC_1904

    path = workbook(tmp_path, [HEAD, GOOD])
    book = openpyxl.load_workbook(path)
    book.epoch = CALENDAR_MAC_1904
    book.save(path)
    assert read(path).notes[0].seen == date(2026, 9, 20)


def test_tags_that_the_planting_does_not_know_are_refused_with_the_nearest_one(tmp_path):
    path = workbook(tmp_path, [HEAD, ["B21", *GOOD[1:]]])
    told = faults(path, known_shrubs=["B12", "C1"])
    assert told == [
        (
            'notes.xlsx, sheet "picking", row 2, "shrub": found \'B21\', '
            'expected the tag of a shrub of this planting (did you mean "B12"?)'
        )
    ]


def test_a_shrub_planted_in_the_same_file_is_known(tmp_path):
    path = workbook(tmp_path, [HEAD, ["N1", *GOOD[1:]]])
    book = openpyxl.load_workbook(path)
    sheet = book.create_sheet("shrub planted")
    sheet.append(["shrub", "day seen"])
    sheet.append(["N1", date(2026, 5, 1)])
    book.save(path)
    assert len(read(path, known_shrubs=["C1"]).notes) == 2


def test_nuts_of_one_sample_are_gathered_by_its_name(tmp_path):
    head = ["shrub", "day seen", "which sample", "nut mass (g)", "fresh or dry", "defects"]
    rows = [
        head,
        ["A1", date(2026, 10, 1), "s1", 2.1, "fresh", "weevil; mould"],
        [None, None, "s1", 1.9, None, None],
        ["A1", date(2026, 10, 1), "s2", 1.7, "dry", None],
    ]
    first, second = read(workbook(tmp_path, rows, "sample")).notes
    assert [n.mass_g for n in first.nuts] == [2.1, 1.9]
    assert (first.nuts[0].defects, first.state) == (("weevil", "mould"), "fresh")
    assert ([n.mass_g for n in second.nuts], second.state) == ([1.7], "dry")


def test_rows_of_one_sample_that_contradict_each_other_are_refused(tmp_path):
    head = ["shrub", "day seen", "which sample", "nut mass (g)", "fresh or dry"]
    rows = [
        head,
        ["A1", date(2026, 10, 1), "s1", 2.1, "fresh"],
        ["A1", date(2026, 10, 1), "s1", 2, "dry"],
    ]
    assert faults(workbook(tmp_path, rows, "sample")) == [
        (
            'notes.xlsx, sheet "sample", row 3, "fresh or dry": found \'dry\', '
            "expected 'fresh' as in row 2 of the same sample"
        )
    ]


def test_a_fault_of_one_nut_is_told_at_its_row(tmp_path):
    head = ["shrub", "day seen", "which sample", "nut mass (g)", "kernel mass (g)"]
    rows = [
        head,
        ["A1", date(2026, 10, 1), "s1", 2.1, 1],
        ["A1", date(2026, 10, 1), "s1", 2.0, 2.5],
    ]
    assert faults(workbook(tmp_path, rows, "sample")) == [
        (
            'notes.xlsx, sheet "sample", row 3, "kernel mass (g)": found 2.5 g, '
            "expected at most the nut's 2 g"
        )
    ]


def test_canes_of_any_age_or_year_have_their_column(tmp_path):
    rows = [["shrub", "date", "canes of age 3", "Canes of age 22"], ["A1", date(2026, 12, 1), 4, 0]]
    assert read(workbook(tmp_path, rows, "canes counted")).notes[0].by_age == {3: 4, 22: 0}
    rows = [["shrub", "date", "canes that came up in 2019"], ["A1", date(2026, 12, 1), 4]]
    assert read(workbook(tmp_path, rows, "canes counted")).notes[0].by_year == {2019: 4}


def test_a_count_beyond_its_limit_is_told_at_its_own_column(tmp_path):
    rows = [
        ["shrub", "date", "canes of age 3", "canes of age 4"],
        ["A1", date(2026, 12, 1), 4, 400],
    ]
    told = faults(workbook(tmp_path, rows, "canes counted"))
    assert told[0].startswith(
        'notes.xlsx, sheet "canes counted", row 2, "canes of age 4": found 400, expected 0 to 150'
    )


def test_the_same_file_twice_adds_nothing(tmp_path):
    path = workbook(tmp_path, [HEAD, GOOD, GOOD])
    first = read(path)
    later = read(path, recorded=datetime(2028, 1, 1, tzinfo=UTC), by="Bo", device="phone")
    assert len({n.id for n in first.notes}) == 2
    assert [n.id for n in first.notes] == [n.id for n in later.notes]
    assert later.unknown_to({n.id for n in first.notes}) == ()
    assert later.unknown_to({first.notes[0].id}) == (later.notes[1],)


def test_rows_in_another_order_and_form_are_the_same_notes(tmp_path):
    one = read(workbook(tmp_path, [HEAD, GOOD, ["A2", *GOOD[1:]]]))
    text = (
        "fresh or dry;shrub;date;form;mass (g)\n"
        "fresh;A2;20.9.2026;in husk;1400\nfresh;A1;20.9.2026;in husk;1400\n"
    )
    other = read(csv_file(tmp_path, text))
    assert {n.id for n in one.notes} == {n.id for n in other.notes}


def test_another_planting_gives_other_ids(tmp_path):
    path = workbook(tmp_path, [HEAD, GOOD])
    assert read(path).notes[0].id != read(path, planting=UUID(int=8)).notes[0].id


def test_a_note_with_its_own_id_is_always_offered_to_the_register(tmp_path):
    note = read(workbook(tmp_path, [HEAD, GOOD])).notes[0]
    write_notes([note], tmp_path / "out.xlsx", units="metric")
    again = read(tmp_path / "out.xlsx")
    assert again.notes == (note,)
    assert again.unknown_to({note.id}) == (note,)


def test_an_id_that_comes_twice_with_other_content_is_refused(tmp_path):
    own = str(UUID(int=3))
    rows = [[*HEAD, "id"], [*GOOD, own], ["A2", *GOOD[1:], own]]
    assert (
        f"found a second note with the id {own}, with other content"
        in faults(workbook(tmp_path, rows))[0]
    )


def test_json_lines_of_another_planting_are_refused(tmp_path):
    note = read(workbook(tmp_path, [HEAD, GOOD])).notes[0]
    path = tmp_path / "n.jsonl"
    write_notes([note], path, units="metric")
    with pytest.raises(ImportRefused, match=f"found a note of another planting.*{UUID(int=9)}"):
        read(path, planting=UUID(int=9))
    path.write_text('{"kind": "picking"}\nnot json\n')
    with pytest.raises(
        ImportRefused, match=r"row 1.*found nothing, expected an entry here(.|\n)*row 2"
    ):
        read(path)


def test_what_was_detected_is_told_with_a_refusal_too(tmp_path):
    path = csv_file(tmp_path, PICKING + "A1,20/9/2026,much,in husk,fresh\n")
    with pytest.raises(ImportRefused, match="found 'much', expected a number in kg") as refusal:
        read(path)
    assert any("day first, detected" in line for line in refusal.value.told)
