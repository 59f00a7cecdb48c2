"""Damaged, enormous and malicious files: refused with a reason, never a crash."""

import zipfile
from datetime import UTC, date, datetime
from uuid import UUID

import openpyxl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from nuttery.exchange import ImportRefused, read_notes, write_notes
from nuttery.records import read_note

PLANTING = UUID(int=7)
NOTE = read_note(
    {
        "kind": "picking",
        "id": str(UUID(int=1)),
        "planting": str(PLANTING),
        "shrub": "A1",
        "seen": "2026-09-20",
        "by": "Ida",
        "recorded": "2027-05-01T12:00:00Z",
        "mass_kg": 1.4,
        "form": "in husk",
        "state": "fresh",
    }
)
HEADER = "shrub,day seen,mass (kg),form,fresh or dry\n"


def read(path):
    recorded = datetime(2027, 5, 1, 12, tzinfo=UTC)
    return read_notes(path, planting=PLANTING, units="metric", by="Ida", recorded=recorded)


def with_parts(path, changed):
    """Write a good workbook with some of its parts replaced."""
    write_notes([NOTE], path, units="metric")
    with zipfile.ZipFile(path) as book:
        parts = {name: book.read(name) for name in book.namelist()}
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as book:
        for name, raw in {**parts, **changed(parts)}.items():
            book.writestr(name, raw)
    return path


SHEET = "xl/worksheets/sheet1.xml"
REFUSED = r"found a workbook that cannot be read \(Entit.*expected an XLSX file"


def test_the_workbook_that_the_tests_change_is_good_as_it_is(tmp_path):
    assert read(with_parts(tmp_path / "good.xlsx", lambda _parts: {})).notes == (NOTE,)


def test_entities_that_grow_without_end_are_refused(tmp_path):
    laughs = b'<!DOCTYPE x [<!ENTITY a "ha">' + b"".join(
        b'<!ENTITY %c "%s">' % (98 + k, b"&%c;" % (97 + k) * 10) for k in range(9)
    )
    path = with_parts(
        tmp_path / "bomb.xlsx",
        lambda parts: {SHEET: laughs + b"]>" + parts[SHEET].replace(b"A1</t>", b"&j;</t>")},
    )
    with pytest.raises(ImportRefused, match=REFUSED):
        read(path)


def test_entities_that_read_other_files_are_refused(tmp_path):
    secret = tmp_path / "secret.txt"
    secret.write_text("not for you")
    head = f'<!DOCTYPE x [<!ENTITY a SYSTEM "{secret.as_uri()}">]>'.encode()
    path = with_parts(
        tmp_path / "outside.xlsx",
        lambda parts: {SHEET: head + parts[SHEET].replace(b"A1</t>", b"&a;</t>")},
    )
    with pytest.raises(ImportRefused, match=REFUSED) as refusal:
        read(path)
    assert "not for you" not in str(refusal.value)


def test_a_workbook_that_grows_a_thousandfold_is_refused_unread(tmp_path):
    path = with_parts(tmp_path / "zeros.xlsx", lambda _parts: {"xl/zeros.xml": bytes(101_000_000)})
    assert path.stat().st_size < 200_000
    with pytest.raises(
        ImportRefused, match=r"found 101 MB in \d+ parts .*, expected at most 100 MB"
    ):
        read(path)


def test_a_zip_that_grows_a_thousandfold_is_refused_unread(tmp_path):
    path = tmp_path / "zeros.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("picking.csv", bytes(101_000_000))
    with pytest.raises(ImportRefused, match="found 101 MB when unpacked, expected at most 100 MB"):
        read(path)


def test_a_cell_at_the_far_corner_is_refused(tmp_path):
    path = tmp_path / "far.xlsx"
    book = openpyxl.Workbook()
    book.active.title = "picking"
    book.active["XFD1048576"] = 1
    book.save(path)
    with pytest.raises(ImportRefused, match="found a cell as far as XFD1048576, expected at"):
        read(path)


@pytest.mark.parametrize(
    ("name", "raw", "told"),
    [
        ("a.xlsx", b"no zip", "found no workbook .*, expected an XLSX file"),
        ("a.xlsx", b"PK\x05\x06" + bytes(18), "found a workbook that cannot be read .*, expected"),
        ("a.zip", b"no zip", "found no zip file .*, expected a zip of CSV files"),
        ("a.zip", b"PK\x05\x06" + bytes(18), "found no sheet with notes, expected one sheet"),
        ("a.ods", b"", 'found a file ending in ".ods", expected one ending in .xlsx, .csv'),
        ("a.csv", b"", "found an empty file, expected a row of column names"),
        ("a.csv", b"\xff\xd8\xff\xe0\x00\x10JFIF\x81\x8d", "found bytes that are no text, exp"),
        ("picking.csv", HEADER.encode() + b'"A1,2026', "row 2: found unexpected end of data, exp"),
        ("picking.csv", HEADER.encode() + b'"A1"x,2026', "row 2: found .*expected quotes that"),
        ("picking.csv", b"nothing\nof,note\n", "found a column of an unknown name, expected"),
        ("strange.csv", HEADER.encode(), 'found a file named "strange" without a column "kind"'),
    ],
)  # fmt: skip
def test_files_that_are_not_what_they_seem_are_refused(tmp_path, name, raw, told):
    path = tmp_path / name
    path.write_bytes(raw)
    with pytest.raises(ImportRefused, match=told):
        read(path)


def test_a_file_that_is_not_there_is_refused(tmp_path):
    with pytest.raises(ImportRefused, match="found no such file, expected a file to read"):
        read(tmp_path / "none.xlsx")


def test_more_columns_than_any_note_has_are_refused(tmp_path):
    path = tmp_path / "picking.csv"
    path.write_text(HEADER + "," * 600 + "\n")
    with pytest.raises(
        ImportRefused, match="row 2: found more than 200000 rows or 500 columns, ex"
    ):
        read(path)


quick = settings(
    max_examples=60,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)


def notes_or_refusal(path):
    try:
        return len(read(path).notes)
    except ImportRefused as refusal:
        return refusal.faults or pytest.fail("a refusal without a fault")


flip = st.tuples(st.integers(0, 8000), st.integers(0, 255))


@pytest.mark.parametrize("suffix", ["xlsx", "zip", "csv", "jsonl"])
@quick
@given(cut=st.integers(0, 8000), flips=st.lists(flip, max_size=8))
def test_a_damaged_file_is_read_or_refused(tmp_path, suffix, cut, flips):
    path = tmp_path / f"picking.{suffix}"
    write_notes([NOTE], path, units="metric")
    raw = bytearray(path.read_bytes())
    for place, value in flips:
        raw[place % len(raw)] = value
    path.write_bytes(raw[: max(cut, 1)] if cut % 3 == 0 else raw)
    notes_or_refusal(path)


cells = st.sampled_from(
    ["", "A1", "2026-09-20", "1.4", "1,4", "in husk", "fresh", "x", '"', "=1", "#N/A", "3/4/26",
     "99", "nan", "1e400", "-", "°", "\u2212", "kind", "picking", "sample", "yes", "\x0c",
     "1" * 5000]
)  # fmt: skip
headers = st.sampled_from(
    ["shrub", "day seen", "mass (kg)", "form", "fresh or dry", "kind", "leave out", "(own)", "id",
     "which sample", "nut mass", "canes of age 3", "mass (%)", "", "I mean it", "moisture", "cross"]
)  # fmt: skip


@quick
@given(
    head=st.lists(headers, min_size=1, max_size=8),
    body=st.lists(st.lists(cells, max_size=8), max_size=5),
    name=st.sampled_from(["picking", "sample", "notes", "canes counted"]),
    delimiter=st.sampled_from(",;\t"),
)
def test_any_table_is_read_or_refused(tmp_path, head, body, name, delimiter):
    path = tmp_path / f"{name}.csv"
    path.write_text("\n".join(delimiter.join(row) for row in [head, *body]))
    notes_or_refusal(path)


def test_a_workbook_of_cells_of_every_type_is_read_or_refused(tmp_path):
    path = tmp_path / "odd.xlsx"
    book = openpyxl.Workbook()
    book.active.title = "picking"
    book.active.append(["shrub", "day seen", "mass (kg)", "form", "fresh or dry", "id", "recorded"])
    odd = [True, 1, 1.5, "x", date(2026, 1, 1), datetime(2026, 1, 1, 5), None, "=A1", "#REF!"]  # noqa: DTZ001 - as a workbook has it
    for value in odd:
        book.active.append([value] * 7)
    book.save(path)
    assert len(notes_or_refusal(path)) > 30
