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


@pytest.fixture
def small(tmp_path, capsys):
    """A planting of two shrubs: a function that types a command on it and returns what it said."""
    where = ["--planting", str(tmp_path / "small.db")]
    place = ["--latitude", "46", "--longitude", "-91", "--elevation", "300"]
    assert run(["new", "--name", "Small", *place, "--time-zone", "America/Chicago", *where]) == 0

    def typed(*words):
        status = run([*words, *where])
        told = capsys.readouterr()
        return status, " ".join(told.out.split()), " ".join(told.err.split())

    shrubs = tmp_path / "shrubs.csv"
    shrubs.write_text(
        "kind,shrub,day seen\nshrub planted,A1,2015-05-01\nshrub planted,A2,2015-05-01\n"
    )
    typed("import", str(shrubs))
    return typed


def test_a_nut_without_fill_is_not_graded_and_a_shrub_without_nuts_says_how_to_bring_some(
    small, tmp_path
):
    nuts = tmp_path / "sample.csv"
    head = "shrub,day,which sample,nut mass (g),kernel mass (g),fresh or dry"
    nuts.write_text(f"{head}\nA1,2025-09-20,s1,2.1,0.95,dry\n")
    assert small("import", str(nuts))[0] == 0
    out = small("harvest", "--shrub", "A1", "--on", "2025-11-12")[1]
    assert "No class by UNECE in shell can be told: the fill of no nut was noted." in out
    assert "not Extra" not in out
    none = small("harvest", "--shrub", "A2", "--on", "2025-11-12")[1]
    assert "No nuts of it are on record: crack ten and bring them in" in none


def test_what_to_do_about_a_tray_is_told_under_it(small):
    for day, mass in (("01", "10"), ("03", "10.4"), ("05", "10.9")):
        words = (f"day seen=2026-09-{day}", "batch=T1", f"mass={mass}")
        assert small("note", "drying weighed", *words)[0] == 0
    out = small("harvest", "--on", "2026-09-05")[1]
    assert "no lighter than at first" in out
    assert "Look at T1: no lighter than at first; this air does not dry it" in out


def test_a_crop_of_a_few_kilograms_is_told_to_a_tenth(small):
    out = small("harvest", "--on", "2026-09-05")[1]
    assert "0.4 kg in shell (0.1 kg to 1.6 kg" in out
