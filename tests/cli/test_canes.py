"""The command for canes, run in process on the invented planting."""

import json
import re

import pytest

WINTER = "2025-12-10"


@pytest.fixture
def ask(typed):
    return lambda *words, on=WINTER: typed("canes", *words, on=on)


def test_the_plan_tells_stools_by_row_time_gaps_and_what_would_sharpen_it(ask):
    status, out, _ = ask()
    assert status == 0
    assert "row  shrub  stand  out" in out
    words = " ".join(out.split())
    for told in (
        "minutes a stool, your own",
        "hours (",
        "Canes wanted on a stool: 17 (learned from 522 crops",
        "stands as it is with 1.7 suckers kept a winter",
        "more winters would halve its width",
        "Few canes of bearing age are coming",
        "Eye protection",
    ):
        assert told in words
    assert max(len(line) for line in out.splitlines()) <= 80


def test_one_stool_tells_a_reason_for_each_cane_and_how_it_stood_the_trial(ask):
    status, out, _ = ask("--shrub", "1-04")
    assert status == 0
    assert re.search(r"saw out \d × age 1\d: overdue", out)
    assert "planned anew for 20 draws" in out
    assert "Crop a year under the plan from 2026" in out


def test_the_outlook_sets_four_ways_side_by_side(ask):
    status, out, _ = ask("--outlook")
    assert status == 0
    for way in ("this plan", "cut nothing", "cut every cane at 10", "as done so far"):
        assert way in out
    assert "2040" in out
    assert "canes.death 0.02" in out
    assert max(len(line) for line in out.splitlines()) <= 80


def test_each_what_if_stands_beside_the_plan_as_it_is_and_all_of_them_together(ask):
    status, out, _ = ask("--max-age", "12", "--target", "8")
    assert status == 0
    head, *rows = out.split("\n\n")[0].splitlines()
    names = ["as it is", "target 8", "max age 12", "all of it"]
    assert [head.find(name) for name in names] == sorted(head.find(name) for name in names)
    assert -1 not in [head.find(name) for name in names]
    told = {row[:28].strip(): row[28:].split() for row in rows}
    assert told["canes wanted on a stool"] == ["17", "8", "17", "8"]
    assert told["overdue from age"] == ["10", "10", "12", "12"]
    assert max(len(line) for line in out.splitlines()) <= 80


def test_what_if_as_json_holds_every_plan_under_its_name(ask):
    _, out, _ = ask("--max-age", "12", "--json")
    found = json.loads(out)
    plans = found["side_by_side"]
    assert (plans["as it is"]["max_age"], plans["max age 12"]["max_age"]) == (10, 12)
    assert found["plan"] == plans["max age 12"]


def test_json_of_one_stool_holds_its_trial(ask):
    _, out, _ = ask("--shrub", "1-04", "--json")
    found = json.loads(out)
    assert found["trial"]["tag"] == "1-04"
    assert len(found["plan"]["tags"]) == len(found["plan"]["must"])


@pytest.mark.parametrize(
    ("words", "told"),
    [
        pytest.param(["--cuts", "-1"], "cuts: found -1, expected 0 to 1000000", id="cuts"),
        pytest.param(["--target", "0"], "target: found 0.0, expected 1 to 60", id="target"),
        pytest.param(["--max-age", "15"], "max-age: found 15, expected 2 to 14", id="max age"),
    ],
)
def test_what_no_plan_can_be_made_for_is_wrong_use(ask, words, told):
    status, _, err = ask(*words)
    assert status == 2
    assert told in err
