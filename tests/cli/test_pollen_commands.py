"""nuttery pollen, as typed."""

import json

import pytest

BLOOM, WINTER = "2026-05-08", "2026-02-10"


@pytest.fixture
def told(typed):
    return lambda *words, on=BLOOM: typed("pollen", *words, on=on)


def test_the_short_shrubs_come_first_with_reasons_and_donors(told):
    status, out, _ = told()
    assert status == 0
    assert "likely short" in out
    assert "chief donors" in out
    assert "predicts no yield" in " ".join(out.split())
    assert "no wind rose" in " ".join(out.split())
    assert max(map(len, out.splitlines())) <= 80


def test_one_shrub_is_told_with_its_donors_and_the_chance_that_it_accepts_them(told):
    status, out, _ = told("--shrub", "6-06")
    assert status == 0
    assert "Pollen for 6-06" in out
    assert "accepted" in out


def test_json_holds_the_interval_and_what_the_dose_rests_on(told):
    status, out, _ = told("--json")
    answer = json.loads(out)
    assert status == 0
    assert len(answer["tags"]) == len(answer["low"]) == len(answer["reason"])
    assert answer["half_dose"]["certainty"] == "learned"


def test_an_unknown_shrub_is_wrong_use(told):
    status, _, err = told("--shrub", "77-1")
    assert status == 2
    assert "'77-1'" in err


def test_crosses_are_told_with_days_steps_and_what_to_write_down(told):
    status, out, _ = told("crosses", "--number", "2", on=WINTER)
    assert status == 0
    assert "1. on " in out
    assert "bag by" in out
    assert "cross counted" in out
    assert max(map(len, out.splitlines())) <= 80


def test_too_many_crosses_are_wrong_use(told):
    status, _, err = told("crosses", "--number", "40")
    assert status == 2
    assert "found 40, expected 1 to 8" in err


def test_new_shrubs_get_a_place_and_a_lot_with_a_bound(told):
    status, out, _ = told("siting", "--places", "2")
    assert status == 0
    assert "could do better than" in out
    assert "for 95 %" in out
    assert max(map(len, out.splitlines())) <= 80


def test_more_places_than_are_empty_are_wrong_use(told):
    status, _, err = told("siting", "--places", "90")
    assert status == 2
    assert "expected 1 to" in err


def test_a_new_planting_is_laid_out(told):
    size = ("--new-rows", "2", "--per-row", "6", "--spacing", "2", "--between", "4")
    status, out, _ = told("siting", *size, "--lots", "Sorrel A:6,New:6", "--json")
    answer = json.loads(out)["plan"]
    assert status == 0
    assert sorted(lot for row in answer["grid"] for lot in row) == [0] * 6 + [1] * 6
    assert answer["known"] == [True, False]
    assert answer["lowest"] >= answer["in_blocks"]


@pytest.mark.parametrize(
    ("lots", "found"),
    [
        ("A:3", "3 in all, expected 12"),
        ("A", "found 'A', expected a lot and a number"),
        ("A:x,B:6", "found 'A:x'"),
    ],
)
def test_lots_that_do_not_add_up_are_wrong_use(told, lots, found):
    status, _, err = told("siting", "--new-rows", "2", "--per-row", "6", "--lots", lots)
    assert status == 2
    assert found in err
