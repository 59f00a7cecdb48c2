from datetime import UTC, date, datetime

import numpy as np
import pytest

from nuttery import reference
from nuttery.records import CanesCounted, ValueSet, new_id, utc_now
from nuttery.season.errors import WrongQuestion
from nuttery.season.memo import memo_key, packed, unpacked
from nuttery.season.planting import open_planting
from nuttery.season.stools import Stools
from nuttery.store import NoRoom, RegisterBusy


def test_shrubs_come_in_walking_order_up_one_row_and_down_the_next(sorrel_bank):
    shrubs = open_planting(sorrel_bank, on=date(2026, 4, 12)).shrubs
    assert [s.tag for s in shrubs[:3]] == ["1-01", "1-02", "1-03"]
    second = [s.tag for s in shrubs if s.row == 2]
    assert second == sorted(second, reverse=True)


def test_nothing_seen_later_counts(sorrel_bank):
    planting = open_planting(sorrel_bank, on=date(2021, 3, 1))
    assert max(note.seen for note in planting.notes(CanesCounted)) <= date(2021, 3, 1)


def test_what_was_not_yet_recorded_is_not_known(sorrel_bank):
    known = datetime(2020, 1, 1, tzinfo=UTC)
    planting = open_planting(sorrel_bank, on=date(2026, 4, 12), known=known)
    assert max(note.recorded for note in planting.notes(CanesCounted)) <= known


def test_an_unknown_tag_is_refused_with_a_near_one(sorrel_bank):
    planting = open_planting(sorrel_bank, on=date(2026, 4, 12))
    with pytest.raises(WrongQuestion, match=r"found '1-1', expected the tag .* Did you mean 1-1"):
        planting.shrub("1-1")


def test_a_value_set_by_the_grower_stands_in_for_the_shipped_one(own_sorrel_bank):
    planting = open_planting(own_sorrel_bank, on=date(2026, 4, 12))
    name = "crop.moisture.footing"
    assert planting.value(name) == reference.value(name)
    note = ValueSet(
        id=new_id(),
        planting=planting.about.planting,
        seen=date(2026, 4, 1),
        by="Ida",
        recorded=utc_now(),
        name=name,
        value=0.07,
        source="my buyer",
    )
    planting.register.keep([note])
    own = open_planting(own_sorrel_bank, on=date(2026, 4, 12)).value(name)
    assert (own.value, own.source, own.certainty) == (0.07, "my buyer", "grower's own")


def test_engines_see_the_grower_s_own_value_while_a_question_is_answered(own_sorrel_bank):
    planting = open_planting(own_sorrel_bank, on=date(2026, 4, 12))
    name = "pollen.drift.power.exponent"
    shipped = reference.value(name).value
    note = ValueSet(
        id=new_id(),
        planting=planting.about.planting,
        seen=date(2026, 4, 1),
        by="Ida",
        recorded=utc_now(),
        name=name,
        value=2.0,
    )
    planting.register.keep([note])
    again = open_planting(own_sorrel_bank, on=date(2026, 4, 12))
    assert again.remembered("trial", lambda: reference.value(name).value) == 2.0
    assert reference.value(name).value == shipped


def test_an_answer_is_computed_once_and_again_when_a_note_is_added(own_sorrel_bank):
    planting = open_planting(own_sorrel_bank, on=date(2026, 4, 12))
    asked = []

    def compute():
        asked.append(1)
        return (1.5, "a")

    assert planting.remembered("trial", compute) == (1.5, "a")
    assert planting.remembered("trial", compute) == (1.5, "a")
    assert len(asked) == 1
    counted = next(planting.notes(CanesCounted))
    again = counted.model_copy(update={"id": new_id(), "remark": "looked again"})
    planting.register.keep([again])
    planting.remembered("trial", compute)
    assert len(asked) == 2


@pytest.mark.parametrize("problem", [NoRoom, RegisterBusy])
def test_an_answer_that_cannot_be_kept_is_given_all_the_same(own_sorrel_bank, monkeypatch, problem):
    planting = open_planting(own_sorrel_bank, on=date(2026, 4, 12))

    def refuse(_key, _value):
        raise problem("no")

    monkeypatch.setattr(planting.register, "keep_answer", refuse)
    assert planting.remembered("trial", lambda: (1.5, "a")) == (1.5, "a")


def test_packed_answers_come_back_equal():
    stools = Stools(
        winter=2026,
        tags=("1-01",),
        counts=np.array([[0, 2]]),
        counted=np.array([2026]),
        known=("by age",),
        sawn=np.array([0]),
        suckers=4.5,
        suckers_records=3,
        uncounted=(),
        past_shrub=np.array([], dtype=np.int64),
        past_year=np.array([], dtype=np.int64),
        past_kept=np.zeros((0, 2)),
        expected=np.array([[0.0, 2.0]]),
        dead=np.array([0]),
        cankered=np.array([[0, 0]]),
        stood=np.zeros(2),
        gone=np.zeros(2),
        looks_records=0,
    )
    back = unpacked(packed({"a": (stools, date(2026, 4, 12), None, float("inf"))}))
    found, day, nothing, endless = back["a"]
    assert (found.counts == stools.counts).all()
    assert (found.tags, found.suckers, day, nothing) == (("1-01",), 4.5, date(2026, 4, 12), None)
    assert endless == float("inf")


def test_only_result_types_of_this_package_are_built_again():
    import json
    import zlib

    evil = zlib.compress(json.dumps({"!type": "os:system", "of": {}}).encode())
    with pytest.raises(ValueError, match=r"found the type 'os:system', expected a result type"):
        unpacked(evil)
    evil = zlib.compress(json.dumps({"!type": "nuttery.cli:main", "of": {}}).encode())
    with pytest.raises(ValueError, match=r"found 'nuttery.cli:main', expected a result type"):
        unpacked(evil)


def test_what_cannot_be_kept_is_refused_by_name():
    with pytest.raises(TypeError, match="holds a object"):
        packed(object())


def test_keys_differ_by_question_version_and_terms():
    keys = {
        memo_key("a", 1),
        memo_key("b", 1),
        memo_key("a", 2),
        memo_key("a", 1, on=date(2026, 4, 12)),
    }
    assert len(keys) == 4
