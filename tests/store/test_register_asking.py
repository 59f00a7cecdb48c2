from datetime import UTC, date, datetime, time

import pytest

from nuttery.records import (
    AllelesKnown,
    CaneLabelled,
    CanesCounted,
    CanesCut,
    Cut,
    LayerMade,
    ParentsKnown,
    Picking,
    Remark,
    ShrubLost,
    Withdrawn,
    new_id,
)
from nuttery.store import NotKnown

FIRST_OF_MARCH = datetime(2026, 3, 1, tzinfo=UTC)


def counted(book, standing, **more):
    return book.note(CanesCounted, "A-1", standing=standing, **more)


def test_notes_come_in_the_order_in_which_they_were_seen(planted, book):
    day = date(2026, 2, 3)
    notes = [
        book.note(Remark, remark="third", seen=day, seen_at=time(9)),
        book.note(Remark, remark="second", seen=day, seen_at=time(0)),
        book.note(Remark, remark="first", seen=day),
        book.note(Remark, remark="none of the day before", seen=date(2026, 2, 2), seen_at=time(23)),
    ]
    planted.keep(notes)
    assert list(planted.notes(kinds={"remark"})) == notes[::-1]


def test_notes_of_the_same_moment_come_in_the_order_recorded(planted, book):
    notes = [book.note(Remark, remark=f"{k}") for k in range(3)]
    planted.keep(notes[::-1])
    assert list(planted.notes(kinds="remark")) == notes


def test_notes_are_found_by_shrub_kind_and_day(planted, book):
    one = counted(book, 7, seen=date(2026, 1, 5))
    two = counted(book, 8, seen=date(2026, 1, 6))
    planted.keep([one, two, book.note(Remark, "A-2", remark="rain")])
    asked = {"planting": book.planting, "kinds": {"canes_counted", "remark"}}
    assert list(planted.notes(shrub="A-1", **asked)) == [one, two]
    assert list(planted.notes(seen_until=date(2026, 1, 5), **asked)) == [one]
    assert list(planted.notes(shrub="A-1", seen_from=date(2026, 1, 6))) == [two]
    assert list(planted.notes(planting=new_id())) == []


def test_a_replaced_note_and_a_withdrawn_one_no_longer_hold(planted, book):
    wrong, other = counted(book, 70), counted(book, 6)
    right = counted(book, 7, stands_in_for=wrong.id)
    back = book.note(Withdrawn, stands_in_for=other.id)
    planted.keep([wrong, other, right, back])
    assert list(planted.notes(shrub="A-1", kinds="canes_counted")) == [right]
    assert list(planted.notes(kinds="withdrawn")) == []
    everything = planted.notes(shrub="A-1", kinds="canes_counted", standing=False)
    assert list(everything) == [wrong, other, right]


def test_a_correction_not_yet_recorded_is_not_yet_known(planted, book):
    wrong = counted(book, 70, recorded=datetime(2026, 2, 20, tzinfo=UTC))
    right = counted(book, 7, stands_in_for=wrong.id, recorded=datetime(2026, 3, 4, tzinfo=UTC))
    planted.keep([wrong, right])
    asked = {"kinds": "canes_counted", "recorded_until": FIRST_OF_MARCH}
    assert list(planted.notes(**asked)) == [wrong]


def test_what_was_known_on_the_first_of_march(register, book):
    def at(day):
        return datetime(2026, 2, day, tzinfo=UTC)

    late = datetime(2026, 3, 9, tzinfo=UTC)
    count = counted(book, 7, recorded=at(3))
    register.keep(
        [
            book.described(recorded=at(1)),
            book.planted("A-1", recorded=at(2)),
            book.planted("A-2", recorded=late),
            count,
            counted(book, 9, recorded=late),
            book.note(ShrubLost, "A-1", seen=date(2026, 2, 20), recorded=late),
        ]
    )
    (shrub,) = register.shrubs(book.planting, recorded_until=FIRST_OF_MARCH)
    assert (shrub.tag, shrub.counted, shrub.lost, shrub.n_notes) == ("A-1", count, None, 2)
    now = register.shrub(book.planting, "A-1")
    assert (now.counted.standing, now.lost, now.n_notes) == (9, date(2026, 2, 20), 4)
    with pytest.raises(NotKnown, match="found 'A-2', expected a tag planted by then"):
        register.shrub(book.planting, "A-2", recorded_until=FIRST_OF_MARCH)


def test_a_shrub_is_asked_as_of_a_day(planted, book):
    planted.keep([counted(book, 7, seen=date(2026, 1, 5)), counted(book, 8, seen=date(2026, 1, 7))])
    assert planted.shrub(book.planting, "A-1", on=date(2026, 1, 6)).counted.standing == 7
    assert planted.shrubs(book.planting, on=date(2012, 1, 1)) == ()


def test_a_chain_of_stand_ins_is_told_from_any_of_its_notes(planted, book):
    first = counted(book, 70)
    second = counted(book, 71, stands_in_for=first.id)
    third = counted(book, 7, stands_in_for=second.id)
    planted.keep([first, second])
    planted.keep([third])
    for note in (first, second, third):
        assert planted.history(note.id) == (first, second, third)
    assert list(planted.notes(kinds="canes_counted")) == [third]


def test_of_two_corrections_made_apart_the_last_recorded_holds(planted, book):
    first = counted(book, 70)
    late = counted(book, 7, stands_in_for=first.id, recorded=datetime(2026, 4, 2, tzinfo=UTC))
    early = counted(book, 6, stands_in_for=first.id, recorded=datetime(2026, 4, 1, tzinfo=UTC))
    planted.keep([first, late])
    planted.keep([early])
    assert list(planted.notes(kinds="canes_counted")) == [late]
    assert planted.shrub(book.planting, "A-1").counted == late
    known = datetime(2026, 4, 1, 12, tzinfo=UTC)
    assert list(planted.notes(kinds="canes_counted", recorded_until=known)) == [early]


def test_a_cane_stands_until_it_is_cut(planted, book):
    def labelled(cane, **more):
        return book.note(CaneLabelled, "A-1", cane=cane, came_up=2020, **more)

    first = [labelled("c1"), labelled("c2")]
    cut = book.note(CanesCut, "A-1", cuts=(Cut(why="age", cane="c1"),))
    again = labelled("c2", diameter_mm=22.0)
    planted.keep([again, cut, *first])
    assert planted.shrub(book.planting, "A-1").canes == (again,)
    reused = labelled("c1", seen=date(2026, 2, 9))
    planted.keep([reused])
    assert planted.shrub(book.planting, "A-1").canes == (reused, again)


def test_a_layer_has_the_genotype_and_the_family_of_its_original(planted, book):
    (first,) = planted.notes(shrub="A-1")
    report = book.note(AllelesKnown, "A-1", first=3, second=8)
    planted.keep(
        [
            book.planted("A-1", seed_lot="2013 A", stands_in_for=first.id),
            book.note(ParentsKnown, seed_lot="2013 A", mother="Old Ida", fathers=("P", "Q")),
            report,
            book.note(LayerMade, "B-1", copy_of="A-1", x=1.0, y=2.0),
            book.note(LayerMade, "B-2", copy_of="B-1"),
        ]
    )
    layer = planted.shrub(book.planting, "B-2")
    assert (layer.copy_of, layer.seed_lot, layer.mother) == ("B-1", "2013 A", "Old Ida")
    assert (layer.fathers, layer.alleles, layer.alleles_note) == (("P", "Q"), (3, 8), report)
    assert layer in planted.shrubs(book.planting)


def test_parents_told_of_the_shrub_itself_come_first(planted, book):
    (first,) = planted.notes(shrub="A-1")
    planted.keep(
        [
            book.planted("A-1", seed_lot="2013 A", stands_in_for=first.id),
            book.note(ParentsKnown, "A-1", mother="Otto's best"),
            book.note(ParentsKnown, seed_lot="2013 A", mother="Old Ida", fathers=("P", "Q")),
        ]
    )
    shrub = planted.shrub(book.planting, "A-1")
    assert (shrub.mother, shrub.fathers) == ("Otto's best", ())


def test_the_last_day_of_each_kind_is_told(planted, book):
    pick = {"mass_kg": 0.8, "form": "in husk", "state": "fresh"}
    planted.keep(
        [
            book.note(Picking, "A-1", seen=date(2025, 9, 9), **pick),
            book.note(Picking, "A-1", seen=date(2025, 9, 2), **pick),
        ]
    )
    shrub = planted.shrub(book.planting, "A-1")
    assert shrub.last_seen == {"picking": date(2025, 9, 9), "shrub_planted": date(2013, 5, 1)}
    assert shrub.n_notes == 3


def test_shrubs_come_in_the_order_of_their_numbers(planted, book):
    planted.keep([book.planted("A-10")])
    tags = [shrub.tag for shrub in planted.shrubs(book.planting)]
    assert tags == ["A-1", "A-2", "A-3", "A-4", "A-5", "A-10"]


def test_the_last_description_of_a_planting_holds(planted, book):
    planted.keep([book.described(name="Sorrel Bank, upper", seen=date(2026, 1, 1))])
    assert [p.name for p in planted.plantings()] == ["Sorrel Bank, upper"]
    assert [p.name for p in planted.plantings(on=date(2020, 1, 1))] == ["Sorrel Bank"]


def test_what_is_not_there_is_said_plainly(planted, book):
    missing = new_id()
    with pytest.raises(NotKnown, match=f"note: found {missing}, expected the id of a note"):
        planted.note(missing)
    with pytest.raises(NotKnown, match=f"note: found {missing}, expected the id of a note"):
        planted.history(missing)
    with pytest.raises(NotKnown, match=f"planting: found {missing}, expected one"):
        planted.shrubs(missing)
    with pytest.raises(NotKnown, match=r"found 'A-11', expected a tag .*did you mean A-1"):
        planted.shrub(book.planting, "A-11")
    with pytest.raises(NotKnown, match=f"planting: found {missing}"):
        planted.version(missing)


def test_an_unknown_kind_and_a_moment_without_a_zone_are_refused(planted):
    with pytest.raises(ValueError, match="found 'pickings', expected a kind such as picking"):
        planted.notes(kinds=["pickings"])
    with pytest.raises(ValueError, match="found 2026-03-01 00:00:00 without a time zone"):
        planted.notes(recorded_until=datetime(2026, 3, 1))  # noqa: DTZ001 - the fault


def test_notes_may_be_kept_while_notes_are_read(planted, book):
    planted.keep([book.note(Remark, remark=f"{k}") for k in range(3)])
    found = []
    for note in planted.notes(kinds="remark"):
        planted.keep([book.note(Remark, remark="more", seen=date(2026, 2, 20))])
        found.append(note.remark)
    assert found == ["0", "1", "2"]
