"""The newest notes are the last of all notes that hold, page by page, and as of any day."""

from datetime import date, time, timedelta

import pytest

from nuttery.records import CanesCounted, Remark, Withdrawn, new_id
from nuttery.store import NotKnown


@pytest.fixture
def many(planted, book):
    """Notes of two kinds on five days, some at a told time, one replaced and one taken back."""
    notes = [
        book.note(
            Remark if k % 3 else CanesCounted,
            f"A-{1 + k % 3}",
            seen=date(2026, 2, 1) + timedelta(days=k % 5),
            seen_at=time(8 + k % 4) if k % 2 else None,
            **({"remark": f"{k}"} if k % 3 else {"standing": k}),
        )
        for k in range(24)
    ]
    planted.keep(notes)
    planted.keep(
        [
            book.note(CanesCounted, "A-1", standing=5, stands_in_for=notes[0].id),
            book.note(Withdrawn, stands_in_for=notes[1].id),
        ]
    )
    return planted


def backwards(register, book, **asked):
    return list(register.notes(planting=book.planting, **asked))[::-1]


@pytest.mark.parametrize("asked", [{}, {"kinds": "remark"}, {"seen_until": date(2026, 2, 3)}])
def test_the_newest_are_the_last_of_all_notes(many, book, asked):
    expected = backwards(many, book, **asked)
    assert len(expected) > 7
    for at_most in (1, 7, 100):
        assert many.newest(book.planting, at_most=at_most, **asked) == expected[:at_most]


def test_page_by_page_every_note_comes_once(many, book):
    found, last = [], None
    while page := many.newest(book.planting, at_most=4, before=last):
        found += page
        last = page[-1].id
    assert found == backwards(many, book)


def test_a_note_to_come_before_has_to_be_known(many, book):
    strange = new_id()
    with pytest.raises(NotKnown, match=f"found {strange}, expected the id of a note"):
        many.newest(book.planting, at_most=4, before=strange)
