from datetime import UTC, date, datetime

import pytest

from nuttery.records import (
    CanesCounted,
    CrossCounted,
    CrossMade,
    LayerMade,
    Remark,
    Withdrawn,
    new_id,
)
from nuttery.store import ConflictingNote, Kept, RegisterRefused, check_register


def test_the_same_note_twice_is_one(planted, book):
    note = book.note(CanesCounted, "A-1", standing=7)
    assert planted.keep([note]) == Kept(added=1, already=0)
    assert planted.keep([note, note]) == Kept(added=0, already=2)
    assert list(planted.notes(kinds="canes_counted")) == [note]


def test_a_note_twice_in_its_first_batch_is_one(planted, book):
    note = book.note(CanesCounted, "A-1", standing=7)
    assert planted.keep([note, note]) == Kept(added=1, already=1)
    assert planted.shrub(book.planting, "A-1").n_notes == 2


def test_an_id_with_other_content_is_refused_and_both_are_shown(planted, book):
    note = book.note(CanesCounted, "A-1", standing=7)
    planted.keep([note])
    other = note.model_copy(update={"standing": 8})
    refused = r'found a note with other content, expected the note as it is kept: .*"standing":7'
    with pytest.raises(ConflictingNote, match=refused) as caught:
        planted.keep([book.note(Remark, remark="rain"), other])
    (kept, offered), *more = caught.value.pairs
    assert ('"standing":7' in kept, '"standing":8' in offered, more) == (True, True, [])
    assert caught.value.faults[0].position == 2
    assert list(planted.notes(kinds="remark")) == []


def test_two_notes_of_one_batch_with_one_id_are_refused(planted, book):
    note = book.note(Remark, remark="rain")
    with pytest.raises(ConflictingNote, match=r"note 2 \(remark\), id: found a note with other"):
        planted.keep([note, note.model_copy(update={"remark": "snow"})])


def test_every_fault_of_a_batch_is_told_together(planted, book):
    batch = [
        book.note(CanesCounted, "A-8", standing=7),
        book.note(CanesCounted, "A-8", standing=6),
        book.note(LayerMade, "A-6", copy_of="A-77"),
        book.planted("A-1"),
        book.note(Remark, remark="rain", planting=new_id()),
        book.note(Withdrawn, stands_in_for=new_id()),
        book.note(CrossCounted, "A-1", cross=new_id(), clusters=3, took=True),
    ]
    with pytest.raises(RegisterRefused, match="found 'A-8' \\(in 2 notes\\)") as caught:
        planted.keep(batch)
    assert [(f.position, f.fault.entry) for f in caught.value.faults] == [
        (1, "shrub"),
        (3, "layer of"),
        (4, "shrub"),
        (5, "planting"),
        (6, "stands in for"),
        (7, "cross"),
    ]
    assert len(planted.shrubs(book.planting)) == 5
    assert check_register(planted) == ()


def test_a_tag_that_is_near_is_suggested(planted, book):
    with pytest.raises(RegisterRefused, match="did you mean A-"):
        planted.keep([book.note(CanesCounted, "A1", standing=7)])


def test_a_batch_may_come_in_any_order(register, book):
    count = book.note(CanesCounted, "A-2", standing=7)
    layer = book.note(LayerMade, "A-2", copy_of="A-1")
    assert register.keep([count, layer, book.planted("A-1"), book.described()]).added == 4
    assert register.shrub(book.planting, "A-2").copy_of == "A-1"


def test_a_tag_planted_twice_in_one_batch_is_refused(planted, book):
    with pytest.raises(RegisterRefused, match="found 'B-1' planted twice, expected a new tag"):
        planted.keep([book.planted("B-1"), book.planted("B-1")])


def test_a_planting_note_may_be_corrected(planted, book):
    (first,) = planted.notes(shrub="A-1")
    planted.keep([book.planted("A-1", x=9.0, y=3.0, stands_in_for=first.id)])
    assert (planted.shrub(book.planting, "A-1").x, len(planted.shrubs(book.planting))) == (9.0, 5)


def test_a_corrected_tag_moves_the_shrub(planted, book):
    (first,) = planted.notes(shrub="A-1")
    planted.keep([book.planted("B-1", stands_in_for=first.id)])
    tags = [shrub.tag for shrub in planted.shrubs(book.planting)]
    assert tags == ["A-2", "A-3", "A-4", "A-5", "B-1"]
    planted.keep([book.planted("A-1")])
    assert planted.shrub(book.planting, "A-1").n_notes == 1


def test_notes_that_stand_in_for_one_another_in_a_ring_are_refused(planted, book):
    one, two = new_id(), new_id()
    ring = [
        book.note(Remark, id=one, remark="rain", stands_in_for=two),
        book.note(Remark, id=two, remark="snow", stands_in_for=one),
    ]
    with pytest.raises(RegisterRefused, match="expected another note, not in the end itself"):
        planted.keep(ring)
    itself = book.note(Remark, id=one, remark="rain", stands_in_for=one)
    with pytest.raises(RegisterRefused, match=f"found {one}, expected another note"):
        planted.keep([itself])


def test_a_note_of_another_planting_cannot_be_replaced(planted, book):
    elsewhere = new_id()
    planted.keep([book.described(planting=elsewhere)])
    (note,) = planted.notes(shrub="A-1")
    with pytest.raises(RegisterRefused, match="expected a note of the same planting"):
        planted.keep([book.note(Withdrawn, planting=elsewhere, stands_in_for=note.id)])


def test_layers_of_one_another_are_refused(planted, book):
    ring = [book.note(LayerMade, "B-1", copy_of="B-2"), book.note(LayerMade, "B-2", copy_of="B-1")]
    with pytest.raises(RegisterRefused, match="expected a shrub that is not, in the end, a layer"):
        planted.keep(ring)


def test_a_count_of_a_cross_needs_the_cross(planted, book):
    cross = book.note(CrossMade, "A-1", pollen_from="A-2")
    count = book.note(CrossCounted, "A-1", cross=cross.id, clusters=3, took=True)
    with pytest.raises(RegisterRefused, match="expected the id of a 'cross made' note"):
        planted.keep([count])
    assert planted.keep([count, cross]).added == 2


def test_nothing_is_kept_if_the_notes_stop_coming(planted, book):
    def broken():
        yield book.note(Remark, remark="rain")
        raise OSError("the phone went away")

    with pytest.raises(OSError, match="went away"):
        planted.keep(broken())
    assert list(planted.notes(kinds="remark")) == []


def test_progress_is_told(planted, book):
    told = []
    notes = [book.note(Remark, remark=f"{k}") for k in range(3)]
    planted.keep(notes, progress=told.append)
    assert told == [3]


def test_the_version_rises_only_when_something_is_kept(planted, book):
    before = planted.version(), planted.version(book.planting)
    note = book.note(Remark, remark="rain")
    planted.keep([note])
    assert (planted.version(), planted.version(book.planting)) == (before[0] + 1, before[1] + 1)
    planted.keep([note])
    planted.keep([])
    assert planted.version() == before[0] + 1
    elsewhere = new_id()
    planted.keep([book.described(planting=elsewhere)])
    assert (planted.version(elsewhere), planted.version(book.planting)) == (1, before[1] + 1)


def test_a_moment_is_kept_to_the_microsecond(planted, book):
    recorded = datetime(2026, 3, 1, 8, 0, 0, 123457, tzinfo=UTC)
    note = book.note(Remark, remark="rain", recorded=recorded, seen=date(2026, 2, 28))
    planted.keep([note])
    just_before = recorded.replace(microsecond=123456)
    assert list(planted.notes(kinds="remark", recorded_until=recorded)) == [note]
    assert list(planted.notes(kinds="remark", recorded_until=just_before)) == []


def test_answers_are_kept_until_they_are_forgotten(planted, monkeypatch):
    assert planted.kept_answer("season/7") is None
    planted.keep_answer("season/7", b"\x00one")
    planted.keep_answer("season/7", b"two")
    assert planted.kept_answer("season/7") == b"two"
    monkeypatch.setattr("nuttery.store.answers.KEPT_AT_MOST", 3)
    for k in range(3):
        planted.keep_answer(f"more/{k}", b"")
    assert planted.kept_answer("season/7") is None
    assert planted.kept_answer("more/0") == b""
    planted.forget_answers()
    assert planted.kept_answer("more/0") is None
