"""What is written can be read back, and nothing is lost: over generated notes of every kind."""

import types
from datetime import UTC, date, datetime, time, timedelta, timezone
from typing import Annotated, Literal, Union, get_args, get_origin
from uuid import UUID

import openpyxl
import pytest
from hypothesis import HealthCheck, Phase, assume, given, settings
from hypothesis import strategies as st
from pydantic import AwareDatetime

from nuttery.exchange import read_notes, write_notes, write_template
from nuttery.exchange.sheets.columns import Column, layout_of
from nuttery.exchange.sheets.headers import kind_named
from nuttery.exchange.sheets.rows import columns_for, number_cell, rows_of
from nuttery.records import (
    KINDS,
    NoteRefused,
    note_text,
    read_note,
    read_quantity,
    stored,
)
from nuttery.records.fields import Entry
from nuttery.records.units import UNITS

PLANTING = UUID(int=7)
RECORDED = datetime(2028, 1, 1, 12, tzinfo=UTC)  # after every day that is drawn
TAGS = st.from_regex(r"[A-Za-z0-9][A-Za-z0-9._-]{0,23}", fullmatch=True)
AWKWARD = st.sampled_from(
    ["=1+1", "+1", "-x", "@a", "'=b", "''+", "_x0041_", "x005F_", "a;b", 'say "no"', "no", "12",
     "1.50", "2027-04-12", "#N/A", "TRUE", "(own)", "\ufeffa", "a\u2028b", "\uffffz", "'tis"]
)  # fmt: skip
LINE = st.text(st.characters(exclude_categories=("Cs", "Cc")), min_size=1, max_size=20)
LINES = st.text(
    st.characters(exclude_categories=("Cs", "Cc"), include_characters="\t\n\r"), min_size=1,
    max_size=40,
)  # fmt: skip
ZONES = st.sampled_from([UTC, timezone(timedelta(hours=-5)), timezone(timedelta(hours=5.5))])


def core_of(annotation):
    if get_origin(annotation) is Annotated:
        return core_of(get_args(annotation)[0])
    if get_origin(annotation) in {Union, types.UnionType}:
        return core_of(next(a for a in get_args(annotation) if a is not types.NoneType))
    return annotation


def values(name, field):
    """Values of one entry, as JSON would hold them, within the limits that cannot be overruled."""
    entry = next((m for m in field.metadata if isinstance(m, Entry)), Entry(name))
    low, high = entry.possible or (-1e6, 1e6)
    core = core_of(field.annotation)
    if core is AwareDatetime:
        moments = st.datetimes(datetime(2028, 1, 1), datetime(2030, 1, 1), timezones=ZONES)  # noqa: DTZ001 - hypothesis takes naive bounds
        return moments.map(lambda moment: moment.isoformat())
    if get_origin(core) is Literal:
        return st.sampled_from(get_args(core))
    if get_origin(core) is tuple:
        item = core_of(get_args(core)[0])
        return st.lists(values_of_type(name, item, low, high), max_size=3)
    return values_of_type(name, core, low, high)


def values_of_type(name, core, low, high):
    if hasattr(core, "model_fields"):
        return st.fixed_dictionaries(
            {k: values(k, f) for k, f in core.model_fields.items() if f.is_required()},
            optional={k: values(k, f) for k, f in core.model_fields.items() if not f.is_required()},
        )
    if get_origin(core) is Literal:
        return st.sampled_from(get_args(core))
    if core is str and name in {"shrub", "cane", "copy_of"}:
        return TAGS
    simple = {
        str: (LINES if name == "remark" else LINE) | AWKWARD,
        bool: st.booleans(),
        int: st.integers(max(int(low), 0), int(high)),
        float: st.floats(low, high)
        | st.integers(int(low * 100), int(high * 100)).map(lambda k: k / 100),
        date: st.dates(date(1880, 1, 1), date(2027, 12, 31)).map(str),
        time: st.times().map(lambda t: t.isoformat()),
        UUID: st.uuids().map(str),
    }
    return simple[core]


def fixed(kind, data):
    """Return the data of a note with the rules kept that join several entries."""
    pairs = [("moisture", "basis"), ("x", "y")]
    for one, other in pairs:
        if (one in data) != (other in data):
            data.pop(one, None), data.pop(other, None)
    breakdowns = [n for n in ("by_age", "by_year", "by_size") if data.get(n)]
    for extra in breakdowns[1:]:
        del data[extra]
    if breakdowns and "standing" in data:
        data["standing"] = sum(data[breakdowns[0]].values())
    if kind in {"parents_known", "alleles_known"}:
        other = "seed_lot" if kind == "parents_known" else "parent"
        data.pop("shrub" if other in data else other, None)
        data.pop("cane", None)
    if kind == "water_given":
        data.pop("litres" if "depth_mm" in data else "depth_mm", None)
    if kind == "alleles_known":
        data["shown"] = [data["first"]] if data.get("shown") else []
    data |= {"time_zone": "America/Chicago"} if kind == "planting_described" else {}
    for part in data.get("cuts", []):
        part |= {k: part[k] % 70 + 1 for k in ("canes", "age") if k in part}
    return data


COUNTS = {
    "by_age": st.dictionaries(st.integers(0, 60).map(str), st.integers(0, 12), min_size=1),
    "by_year": st.dictionaries(st.integers(1990, 2010).map(str), st.integers(0, 12), min_size=1),
    "by_size": st.dictionaries(st.sampled_from(["thin", "middling", "thick"]), st.integers(0, 9),
                               min_size=1),
}  # fmt: skip


@st.composite
def notes(draw):
    kind = draw(st.sampled_from(sorted(KINDS)))
    model = KINDS[kind]
    needed, left = {}, {}
    for name, field in model.model_fields.items():
        if name in {"kind", "planting", "means_it"}:
            continue
        if model.about == "planting" and name in {"shrub", "cane"}:
            continue
        must = field.is_required() or (name in {"shrub", "cane"} and model.about in {name, "cane"})
        (needed if must else left)[name] = COUNTS[name] if name in COUNTS else values(name, field)
    data = draw(st.fixed_dictionaries(needed, optional=left))
    if model.about == "anywhere" and "cane" in data and "shrub" not in data:
        del data["cane"]
    data = {"kind": kind, "planting": str(PLANTING), "means_it": True, **fixed(kind, data)}
    try:
        return read_note(data)
    except NoteRefused:
        return assume(condition=False)


many = settings(
    max_examples=25,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much,
                           HealthCheck.function_scoped_fixture],
)  # fmt: skip


batches = st.lists(notes(), max_size=4, unique_by=lambda n: n.id)
systems = st.sampled_from(["metric", "US"])


def read(path, units="metric"):
    return read_notes(path, planting=PLANTING, units=units, by="Ida", recorded=RECORDED)


def texts(some):
    return sorted(map(note_text, some))


@pytest.mark.parametrize("suffix", [".xlsx", ".zip", ".csv", ".jsonl"])
@many
@given(written=batches, units=systems)
def test_notes_written_are_read_back_as_they_were(tmp_path, suffix, written, units):
    path = tmp_path / f"notes{suffix}"
    assert write_notes(written, path, units=units) == len(written)
    if not written and suffix != ".jsonl":
        return
    assert texts(read(path, units).notes) == texts(written)


def filled_template(path, some, units):
    """Fill the template in as a person would, who gives no ids and no moments of recording."""
    write_template(path, units=units, shrubs=["A1"])
    book = openpyxl.load_workbook(path)
    for number, note in enumerate(some):
        sheet = book[KINDS[note.kind].title]
        columns = columns_for(layout_of(note.kind), [note])
        headers = {cell.value: cell.column for cell in sheet[1]}
        for column in columns:
            if column.header(units) not in headers:
                headers[column.header(units)] = sheet.max_column + 1
                sheet.cell(1, sheet.max_column + 1, column.header(units))
        for row in rows_of(note, columns, units, f"group {number}"):
            fill_row(sheet, columns, headers, row, units)
    book.save(path)


def fill_row(sheet, columns, headers, row, units):
    at = sheet.max_row + 1
    for column in columns:
        value = row.get(column.label)
        if value is None or column.field in {"id", "recorded", "device"}:
            continue
        cell = sheet.cell(at, headers[column.header(units)], value)
        if isinstance(value, float):  # a spreadsheet program keeps all digits, openpyxl 16
            cell.value = repr(value)
        if isinstance(value, str | float):
            cell.data_type = "n" if isinstance(value, float) else "s"


def without_origin(note):
    return note.model_dump_json(exclude={"id", "recorded", "device"})


plain = notes().filter(lambda n: "_x" not in note_text(n) and "x005F" not in note_text(n))


@settings(many, max_examples=8, phases=[Phase.reuse, Phase.generate])  # shrinking takes minutes
@given(written=st.lists(plain, max_size=4), units=systems)
def test_a_template_filled_in_loses_nothing(tmp_path, written, units):
    path = tmp_path / "filled.xlsx"
    written = [
        n for n in written if not any(c in note_text(n) for c in ("\\r", "\uffff", "\ufffe"))
    ]
    filled_template(path, written, units)
    found = read(path, units)
    assert sorted(map(without_origin, found.notes)) == sorted(map(without_origin, written))
    assert {n.recorded for n in found.notes} <= {RECORDED}
    assert {n.id for n in found.notes} == found.derived


@pytest.mark.parametrize("units", ["metric", "US"])
@given(data=st.data())
def test_every_number_shown_is_read_back_as_the_value_stored(units, data):
    quantity = data.draw(st.sampled_from(sorted(UNITS)))
    value = data.draw(st.floats(-1e6, 1e6))
    cell = number_cell(value, quantity, units)
    assert repr(read_quantity(str(cell), quantity, units)) == repr(value)


@given(
    quantity=st.sampled_from(sorted(set(UNITS) - {"temperature"})), tenths=st.integers(0, 100000)
)
def test_a_number_typed_in_us_units_is_shown_again_as_it_was_typed(quantity, tenths):
    assert number_cell(stored(tenths / 10, quantity, "US"), quantity, "US") == tenths / 10


def test_every_kind_is_known_by_its_title_and_its_word():
    for kind, model in KINDS.items():
        assert kind_named(model.title) == kind_named(kind) == kind


def test_every_kind_has_columns_of_different_names():
    for kind in KINDS:
        for units in ("metric", "US"):
            headers = [c.header(units).casefold() for c in layout_of(kind).columns]
            assert len(set(headers)) == len(headers), kind
            assert all(isinstance(c, Column) for c in layout_of(kind).columns)
