import json

import pytest

from nuttery.cli.app import run


@pytest.fixture
def ask(sorrel_bank, capsys):
    def asked(*words, on="2026-09-12"):
        status = run(["harvest", *words, "--planting", str(sorrel_bank), "--on", on])
        told = capsys.readouterr()
        return status, told.out, told.err

    return asked


def test_the_rounds_what_waiting_costs_and_the_trays_are_told(ask):
    status, out, _ = ask()
    assert status == 0
    for words in ("Harvest of 2026", "in walking order", "The rounds ahead", "Drying", "Caution"):
        assert words in out
    assert "If it waits a week" in out
    assert "Caution at the trays: Keep the air at or below" in out
    assert "hours to go" in out
    assert "safe to eat" not in out
    assert max(map(len, out.splitlines())) <= 80


def test_json_holds_the_same_and_is_whole(ask):
    status, out, _ = ask("--json")
    found = json.loads(out)
    assert status == 0
    assert found["year"] == 2026
    assert len(found["expected"]["tags"]) == len(found["expected"]["kg"])
    assert found["plan"]["rounds"][0]["shrubs"]
    assert {"batch", "moisture", "ready", "status"} <= set(found["drying"][0])


def test_a_shrub_tells_its_samples_and_grade_by_the_rules_asked_for(ask):
    status, out, _ = ask("--shrub", "1-05", "--rules", "US in shell", on="2026-11-24")
    assert status == 0
    assert "By US in shell the sample meets" in out
    assert "Rules: 7 CFR 51.1995" in " ".join(out.split())
    assert "nuts outside the size class" in " ".join(out.split())
    assert "Sequential plan (secondary source: US Food and Drug" in " ".join(out.split())
    assert "allergen" in out


def test_wrong_use_is_told_and_ends_with_2(ask):
    status, _, err = ask("--shrub", "99-99")
    assert status == 2
    assert "found '99-99', expected the tag of a standing shrub" in err
    status, _, err = ask("--shrub", "1-05", "--rules", "mine")
    assert status == 2
    assert "found 'mine', expected one of US in shell, UNECE kernels, UNECE in shell" in err


def test_out_of_season_the_crop_expected_is_told_alone(ask):
    status, out, _ = ask(on="2026-02-10")
    assert status == 0
    assert "Rounds of picking are planned from July to November" in " ".join(out.split())
    assert "The rounds ahead" not in out
