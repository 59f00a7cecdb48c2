"""What a note must tell, what is asked about, and what can be overruled."""

# ruff: noqa: E501 - a table of slips reads best with one to a line

import json
from datetime import UTC, date, datetime, timedelta, timezone
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nuttery.records import (
    KINDS,
    NoteRefused,
    checked,
    content_hash,
    entries,
    limits_told,
    new_id,
    note_text,
    read_note,
    trusted_note,
    utc_now,
)
from nuttery.records.fields import Entry

HEAD = {
    "id": str(UUID(int=1)),
    "planting": str(UUID(int=2)),
    "seen": "2027-04-12",
    "by": "Ida",
    "recorded": "2027-04-12T17:00:00Z",
}
PICKING = {"shrub": "A1", "mass_kg": 1.4, "form": "in husk", "state": "fresh"}
CANE = {"shrub": "A1", "cane": "c1"}


def note(kind, **more):
    return read_note({"kind": kind, **HEAD, **more})


def faults(kind, **more):
    with pytest.raises(NoteRefused, match=r"found .*, expected ") as refused:
        note(kind, **more)
    return [str(fault) for fault in refused.value.faults]


@pytest.mark.parametrize(
    ("kind", "more", "told"),
    [
        ("picking", {**PICKING, "mass_kg": 14.0}, 'mass: found 14 kg, expected 0.005 to 12 kg (say "I mean it" to keep it as it is)'),
        ("picking", {**PICKING, "mass_kg": 140.0}, "mass: found 140 kg, expected 0 to 60 kg"),
        ("picking", {**PICKING, "mass_kg": "1.4"}, "mass: found '1.4', expected number"),
        ("picking", {**PICKING, "mass_kg": True}, "mass: found True, expected number"),
        ("picking", {**PICKING, "form": "sack"}, "form: found 'sack', expected 'in husk', 'in shell' or 'kernel'"),
        ("picking", {**PICKING, "shrub": None}, "shrub: found nothing, expected the tag of a shrub"),
        ("picking", {**PICKING, "shrub": "A 1"}, "shrub: found 'A 1', expected letters and digits, then also . _ - (no blanks)"),
        ("picking", {**PICKING, "by": " "}, "seen by: found ' ', expected some words"),
        ("picking", {**PICKING, "by": "a\x07b"}, "seen by: found 'a\\x07b', expected text without control characters"),
        ("picking", {**PICKING, "by": "x" * 121}, f"seen by: found '{'x' * 56}..., expected at most 120 characters"),
        ("picking", {**PICKING, "weight": 3}, "weight: found 3, expected no such entry"),
        ("picking", {**PICKING, "seen": "2027-04-14"}, "day seen: found 2027-04-14, expected no later than 2027-04-12"),
        ("picking", {**PICKING, "seen": "1949-12-31"}, 'day seen: found 1949-12-31, expected 1950 or later (say "I mean it" to keep it as it is)'),
        ("picking", {**PICKING, "moisture": 0.3}, 'basis of the moisture: found nothing, expected "wet basis" or "dry basis"'),
        ("picking", {**PICKING, "moisture": 1.2, "basis": "wet basis", "means_it": True}, "moisture: found 120% wet basis, expected under 100 % on the wet basis"),
        ("cane_labelled", {**CANE, "diameter_mm": 250.0}, 'cane base: found 250 mm, expected 3 to 120 mm (say "I mean it" to keep it as it is)'),
        ("cane_labelled", {"shrub": "A1"}, "cane: found nothing, expected the label of a cane"),
        ("cane_labelled", {**CANE, "came_up": 2028}, "year it came up: found 2028, expected 2027 or before"),
        ("canes_counted", {"shrub": "A1"}, "canes standing: found nothing, expected a total, or canes by age, year or size"),
        ("canes_counted", {"shrub": "A1", "standing": 4, "by_age": {"1": 2, "2": 1}}, "canes standing: found 4, expected the sum, 3"),
        ("canes_counted", {"shrub": "A1", "by_age": {"1": 2}, "by_size": {"thin": 2}}, "canes of age: found several breakdowns, expected by age, by year or by size"),
        ("canes_counted", {"shrub": "A1", "standing": 0, "by_age": {}}, "canes of age: found nothing, expected at least one count, or leave it out"),
        ("canes_counted", {"shrub": "A1", "by_age": {"61": 1}}, "canes of age: found 61, expected 0 to 60"),
        ("canes_counted", {"shrub": "A1", "by_age": {"2": 400}}, "canes of age, 2: found 400, expected 0 to 150"),
        ("canes_counted", {"shrub": "A1", "by_year": {"2028": 1}}, "canes that came up in: found 2028, expected 1900 to 2027"),
        ("canes_counted", {"shrub": "A1", "standing": -1}, "canes standing: found -1, expected 0 or more"),
        ("canes_cut", {"shrub": "A1", "cuts": []}, "canes cut: found nothing, expected at least one cane"),
        ("canes_cut", {"shrub": "A1", "cuts": [{"why": "age"}, {"why": "whim"}]}, "cut 2, why: found 'whim', expected 'age', 'dead', 'canker', 'crowded' or 'broken'"),
        ("suckers_kept", {"shrub": "A1", "kept": 5, "came_up": 4}, "suckers kept: found 5, expected at most 4"),
        ("catkins_scored", {"shrub": "A1", "buds": 4}, "twigs looked at: found nothing, expected the twigs on which buds were counted"),
        ("catkins_scored", {"shrub": "A1"}, "catkins: found nothing, expected a score or a count"),
        ("clusters_counted", {"shrub": "A1", "clusters": 4, "flowers": 3}, "clusters: found 4, expected at most 3 (the flowers)"),
        ("frost_harm", {"shrub": "A1", "organ": "catkin", "harmed": 20.0}, "share harmed: found 2000 %, expected 0 to 100 %"),
        ("stage_seen", {"shrub": "A1", "organ": "catkin", "stage": 650, "reached": True}, "stage (BBCH): found 650, expected 0 to 99"),
        ("roll_out", {"shrub": "A1", "tried": 4, "rolled": 5}, "nuts that rolled out: found 5, expected at most 4"),
        ("sample", {"shrub": "A1", "nuts": []}, "nuts: found none, expected at least one nut"),
        ("sample", {"shrub": "A1", "nuts": [{"mass_g": 2.0}, {"mass_g": 1.0, "kernel_g": 1.5}]}, "nut 2, kernel mass: found 1.5 g, expected at most the nut's 1 g"),
        ("sample", {"shrub": "A1", "nuts": [{"width_mm": 11.0, "kernel_mm": 12.5}]}, "nut 1, kernel diameter: found 12.5 mm, expected at most the nut's 11 mm"),
        ("sample", {"shrub": "A1", "nuts": [{"mass_g": 21.0}]}, "nut 1, nut mass: found 21 g, expected 0 to 20 g"),
        ("size_measured", {"shrub": "A1"}, "height: found nothing, expected a height or a width"),
        ("water_given", {"shrub": "A1"}, "water: found both or none, expected litres for a shrub, or a depth"),
        ("water_given", {"cane": "c1", "litres": 3.0}, "shrub: found nothing, expected the tag of the shrub on which the cane stands"),
        ("planting_described", {"name": "x", "latitude": 46.1, "longitude": -91.2, "shrub": "A1"}, "shrub: found 'A1', expected no shrub: this is about the planting"),
        ("planting_described", {"name": "x", "latitude": 46.1, "longitude": -91.2, "cane": "c"}, "cane: found 'c', expected no cane: this is about the planting"),
        ("planting_described", {"name": "x", "latitude": -91.2, "longitude": 46.1}, "latitude: found -91.2 °, expected -90 to 90 °"),
        ("planting_described", {"name": "x", "latitude": 46.1, "longitude": 0.0, "time_zone": "Middle/Earth"}, "time zone: found 'Middle/Earth', expected a name such as America/Chicago"),
        ("shrub_planted", {"shrub": "A1", "x": 1.0}, "north of the origin: found nothing, expected a place both east and north, or neither"),
        ("layer_made", {"shrub": "A1", "copy_of": "A1"}, "layer of: found 'A1', expected the tag of another shrub"),
        ("parents_known", {"mother": "B"}, "seed lot: found None, expected either a shrub or a seed lot"),
        ("alleles_known", {"shrub": "A1", "first": 1, "second": 3, "shown": [8]}, "alleles shown by its pollen: found 8, expected alleles of the genotype"),
        ("remark", {}, "remark: found nothing, expected some words"),
        ("photo", {}, "photo: found nothing, expected the photo's file name"),
        ("withdrawn", {}, "note withdrawn: found nothing, expected the id of the note to take back"),
    ],
)  # fmt: skip
def test_a_slip_is_told_with_what_was_found_and_what_is_expected(kind, more, told):
    assert faults(kind, **more) == [told]


def test_a_kind_that_is_not_known_is_refused_with_the_known_ones():
    with pytest.raises(NoteRefused, match=r"found .*, expected a kind of note: alleles_known, can"):
        note("pickings")


def test_every_fault_is_told_at_once():
    told = faults("picking", **{**PICKING, "mass_kg": 14.0, "moisture": 0.7, "minutes": 300.0})
    assert len(told) == 4


def test_i_mean_it_keeps_what_is_unusual_and_is_kept_itself():
    kept = note("cane_labelled", **CANE, diameter_mm=250.0, means_it=True)
    assert (kept.diameter_mm, kept.means_it) == (250.0, True)
    assert trusted_note(note_text(kept)) == kept


def test_i_mean_it_keeps_nothing_that_is_impossible():
    told = faults("cane_labelled", **CANE, diameter_mm=501.0, means_it=True)
    assert told == ["cane base: found 501 mm, expected 1 to 500 mm"]


def test_not_looked_is_not_none():
    looked = note("canes_counted", shrub="A1", by_age={"3": 0})
    assert (looked.by_age, looked.dead) == ({3: 0}, None)
    assert note("canes_counted", shrub="A1", standing=0, dead=0).dead == 0


def test_a_day_ahead_of_utc_is_no_day_in_the_future():
    assert note("picking", **{**PICKING, "seen": "2027-04-13"}).seen == date(2027, 4, 13)


@pytest.mark.parametrize("value", ["nan", "inf", "-inf"])
def test_no_number_is_kept_that_is_none(value):
    with pytest.raises(NoteRefused, match=r"mass: found .*, expected"):
        read_note(json.dumps({"kind": "picking", **HEAD, **PICKING, "mass_kg": float(value)}))


def test_a_note_cannot_be_changed():
    from pydantic import ValidationError

    with pytest.raises(ValidationError, match="Instance is frozen"):
        note("picking", **PICKING).mass_kg = 2.0


def test_equal_counts_have_equal_text_in_whatever_order_they_came():
    one = note("canes_counted", shrub="A1", by_age={"3": 1, "1": 2})
    other = note("canes_counted", shrub="A1", by_age={"1": 2, "3": 1})
    assert note_text(one) == note_text(other)
    assert content_hash(note_text(one)) == content_hash(note_text(other))
    sizes = [note("canes_counted", shrub="A1", by_size=dict(s)) for s in
             ([("thick", 1), ("thin", 2)], [("thin", 2), ("thick", 1)])]  # fmt: skip
    assert note_text(sizes[0]) == note_text(sizes[1])


def test_the_hash_is_that_of_a_known_text():
    # FIPS 180-2 (2002), appendix B.1: SHA-256 of "abc".
    expected = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert content_hash("abc") == expected


def test_a_remark_loses_blanks_around_it():
    assert note("remark", remark="  two words \n").remark == "two words"


def test_a_moment_keeps_its_time_zone():
    kept = note("remark", remark="x", recorded="2027-04-12T12:00:00-05:00")
    assert kept.recorded == datetime(2027, 4, 12, 17, tzinfo=UTC)
    assert kept.recorded.utcoffset() == timedelta(hours=-5)
    assert trusted_note(note_text(kept)).recorded.utcoffset() == timedelta(hours=-5)
    assert kept.recorded.astimezone(timezone(timedelta(hours=-5))).hour == 12


def test_new_ids_are_in_order_of_time_and_of_version_7():
    ids = [new_id() for _ in range(1000)]
    assert sorted(ids) == ids
    assert {i.version for i in ids} == {7}
    assert len(set(ids)) == 1000


def test_the_present_moment_is_in_utc_to_the_millisecond():
    now = utc_now()
    assert now.tzinfo is UTC
    assert now.microsecond % 1000 == 0


def test_every_entry_of_every_kind_has_limits_in_the_right_order():
    for model in KINDS.values():
        for entry in entries(model).values():
            for limits in (entry.usual, entry.possible):
                assert limits is None or limits[0] < limits[1], entry
            if entry.usual and entry.possible:
                low, high = entry.possible
                assert low <= entry.usual[0] <= entry.usual[1] <= high, entry


def test_every_kind_is_named_by_its_title_and_its_own_word():
    titles = [model.title for model in KINDS.values()]
    assert len(set(titles)) == len(titles)
    assert all(model.model_fields["kind"].default == kind for kind, model in KINDS.items())
    assert all(len(title) <= 31 for title in titles)  # the most that a sheet's name may have


def test_limits_are_told_in_the_units_asked_for():
    entry = Entry("mass", "mass", (0.005, 12), (0, 60))
    assert limits_told(entry.usual, entry) == "0.005 to 12 kg"
    assert limits_told(entry.usual, entry, "US") == "0.011 to 26.5 lb"
    assert limits_told((0, 5000), Entry("depth", "elevation")) == "0 to 5000 m"
    assert limits_told((1, 99), Entry("row")) == "1 to 99"


@given(st.binary(max_size=60) | st.text(max_size=60))
def test_any_text_is_a_note_or_refused(text):
    with pytest.raises(NoteRefused, match=r"found .*, expected "):
        read_note(text)


@given(st.dictionaries(st.sampled_from(["kind", "id", "shrub", "seen", "mass_kg", "cuts", "nuts"]),
                       st.none() | st.integers() | st.text(max_size=5)
                       | st.lists(st.dictionaries(st.sampled_from(["why", "mass_g"]), st.integers()))))  # fmt: skip
def test_any_values_are_a_note_or_refused(data):
    with pytest.raises(NoteRefused, match=r"found .*, expected "):
        checked(read_note({"kind": "sample", **data}))
