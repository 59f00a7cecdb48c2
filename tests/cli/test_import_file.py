import json

import pytest

from nuttery.cli.app import run

SHRUB = "kind,shrub,day seen\nshrub planted,A1,2020-05-01\n"
PICKED = 'shrub,day,mass (kg),form,fresh or dry\nA1,9/11/2025,"1,234",in shell,dry\n'


@pytest.fixture
def fresh(tmp_path):
    where = tmp_path / "planting.db"
    place = ["--latitude", "46", "--longitude", "-91", "--elevation", "300"]
    more = ["--time-zone", "America/Chicago", "--units", "US"]
    assert run(["new", "--planting", str(where), "--name", "Trial", *place, *more]) == 0
    return where


@pytest.fixture
def bring(fresh, tmp_path, capsys):
    """Import a file of pickings into a planting with one shrub; its status, out and err."""
    where = ["--planting", str(fresh)]
    shrubs, pickings = tmp_path / "shrubs.csv", tmp_path / "picking.csv"
    shrubs.write_text(SHRUB)
    pickings.write_text(PICKED)
    assert run(["import", str(shrubs), *where]) == 0
    capsys.readouterr()

    def brought(*words):
        status = run(["import", str(pickings), *words, *where])
        told = capsys.readouterr()
        return status, " ".join(told.out.split()), " ".join(told.err.split())

    return brought


def test_a_file_that_can_be_read_two_ways_is_refused_and_says_how_to_go_on(bring):
    status, _, err = bring("--dates", "day first")
    assert status == 1
    assert "a decimal comma, or thousands?" in err
    status, _, err = bring("--decimal", "comma")
    assert status == 1
    assert "9 November 2025 or 11 September 2025" in err


def test_declared_marks_and_dates_are_shown_before_they_are_believed(bring, fresh, capsys):
    status, out, _ = bring("--decimal", "comma", "--dates", "month first", "--look")
    assert status == 0
    assert "decimal comma in numbers typed as text" in out
    assert "9/11/2025 is 11 September 2025" in out
    assert "Nothing was kept." in out
    assert bring("--decimal", "comma", "--dates", "month first")[1].endswith("0 there already.")
    run(["shrub", "A1", "--planting", str(fresh)])
    assert "picked 2.72 lb in shell, dry" in capsys.readouterr().out


def test_a_look_as_json_is_json_and_keeps_nothing(bring):
    status, out, _ = bring("--decimal", "comma", "--dates", "day first", "--look", "--json")
    assert status == 0
    assert json.loads(out)["added"] == 0


def test_the_other_mark_than_the_declared_is_named(bring):
    status, _, err = bring("--decimal", "point", "--dates", "day first")
    assert status == 1
    assert "found '1,234', expected a number with a decimal point" in err


def test_a_value_of_an_unknown_name_is_refused_whole_and_a_known_one_kept(fresh, tmp_path, capsys):
    file, where = tmp_path / "values.csv", ["--planting", str(fresh)]
    head = "kind,day seen,name,value\nvalue set,2026-04-01,canes.target,9\n"
    file.write_text(head + "value set,2026-04-01,canes.targit,12\n")
    assert run(["import", str(file), *where]) == 2
    told = " ".join(capsys.readouterr().err.split())
    assert "values.csv: value: found 'canes.targit'" in told
    assert "canes.target" in told
    file.write_text(head)
    assert run(["import", str(file), *where]) == 0
    assert "1 note added" in capsys.readouterr().out
