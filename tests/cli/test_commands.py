"""The terminal face, run in process on the invented planting and on registers made by hand."""

import json
import os
import subprocess
import sys

import pytest

from nuttery.cli.app import COMMANDS, NOBODY_READS, run

ON = "2026-04-12"


@pytest.fixture
def ask(typed):
    return lambda *words, on=ON: typed(*words, on=on)[:2]


@pytest.fixture
def fresh(tmp_path, capsys):
    where = tmp_path / "planting.db"
    place = ["--latitude", "46", "--longitude", "-91", "--elevation", "300"]
    more = ["--time-zone", "America/Chicago", "--units", "US"]
    assert run(["new", "--planting", str(where), "--name", "Trial", *place, *more]) == 0
    capsys.readouterr()
    return where


def test_help_names_every_command(capsys):
    assert run(["--help"]) == 0
    out = capsys.readouterr().out
    assert all(name in out for name in COMMANDS)


def test_help_starts_light():
    # What takes long to import is imported by the commands that need it, never by help.
    heavy = ["numpy", "scipy", "numba", "sqlalchemy", "openpyxl", "altair", "fastapi", "pydantic"]
    check = (
        "import sys; from nuttery.cli.app import run; run(['--help']); "
        f"print([m for m in {heavy!r} if m in sys.modules], file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", check], capture_output=True, text=True, check=True)
    assert done.stderr.strip() == "[]"


def test_canes_name_the_cuts_and_the_caution(ask):
    status, out = ask("canes")
    assert status == 0
    assert "Canes to saw out in the winter before the summer of 2026" in out
    assert "Eye protection" in out


def test_canes_of_one_shrub_give_a_reason_for_each(ask):
    status, out = ask("canes", "--shrub", "8-05")
    assert status == 0
    assert "Stool 8-05" in out


def test_a_shrub_tells_its_story(ask):
    status, out = ask("shrub", "3-07")
    assert status == 0
    assert "Shrub 3-07" in out
    assert "Row 3, number 7" in out


def test_an_unknown_shrub_is_wrong_use(ask):
    assert ask("shrub", "3-7")[0] == 2


def test_answers_as_json_can_be_read_back(ask):
    for command in (["shrub", "3-07"], ["weather"], ["frost"], ["canes"], ["bloom"]):
        status, out = ask(*command, "--json")
        assert status == 0
        assert json.loads(out)


def test_no_colour_codes_go_into_a_pipe(ask):
    assert "\033" not in ask("canes")[1]


def test_a_missing_register_needs_attention(tmp_path, capsys):
    assert run(["season", "--planting", str(tmp_path / "none.db")]) == 1
    assert "none.db" in capsys.readouterr().err


@pytest.mark.parametrize("command", [["shrub", "3-07"], ["canes", "--json"]])
def test_a_reader_who_has_left_ends_a_command_quietly(command, sorrel_bank, monkeypatch, capsys):
    read, write = os.pipe()
    os.close(read)
    with os.fdopen(write, "w") as nobody, monkeypatch.context() as piped:
        piped.setattr(sys, "stdout", nobody)
        assert run([*command, "--planting", str(sorrel_bank), "--on", ON]) == NOBODY_READS
        nobody.write("what is still to be written goes nowhere")
    assert capsys.readouterr().err == ""


def test_an_unknown_option_is_wrong_use():
    assert run(["season", "--ahaed", "5"]) == 2


def test_a_note_is_kept_in_the_planting_s_units(fresh, tmp_path, capsys):
    sheet = tmp_path / "shrubs.csv"
    sheet.write_text("kind,shrub,day seen,seed lot\nshrub planted,A1,2020-05-01,Lot X\n")
    where = ["--planting", str(fresh)]
    assert run(["import", str(sheet), *where]) == 0
    words = ["shrub=A1", "mass=1.5", "form=in shell", "fresh or dry=dry"]
    assert run(["note", "picking", *words, "--by", "Ida", *where]) == 0
    capsys.readouterr()
    assert run(["shrub", "A1", *where]) == 0
    assert "picked 1.50 lb in shell, dry" in capsys.readouterr().out


def test_a_slip_is_asked_about_and_can_be_meant(fresh, tmp_path, capsys):
    sheet = tmp_path / "shrubs.csv"
    sheet.write_text("kind,shrub,day seen\nshrub planted,A1,2020-05-01\n")
    where = ["--planting", str(fresh)]
    run(["import", str(sheet), *where])
    words = ["cane labelled", "shrub=A1", "cane=a", "cane base=250 mm"]
    assert run(["note", *words, *where]) == 1
    assert "expected 0.118 to 4.72 in" in capsys.readouterr().err
    assert run(["note", *words, "--i-mean-it", *where]) == 0


def test_a_kind_of_note_that_is_not_one_is_wrong_use(fresh, capsys):
    assert run(["note", "pickin", "shrub=A1", "--planting", str(fresh)]) == 2
    assert "Did you mean picking" in capsys.readouterr().err


def test_a_value_that_is_not_one_is_not_kept(fresh, capsys):
    words = ["name=pollen.drift.power.exponnt", "value=1.2", "source=own traps"]
    assert run(["note", "value set", *words, "--planting", str(fresh)]) == 2
    assert "Did you mean pollen.drift.power.exponent" in capsys.readouterr().err


def test_the_same_sheet_twice_adds_nothing(fresh, tmp_path, capsys):
    sheet = tmp_path / "shrubs.csv"
    sheet.write_text("kind,shrub,day seen\nshrub planted,A1,2020-05-01\n")
    for told in ("1 note added; 0 there already", "0 notes added; 1 there already"):
        assert run(["import", str(sheet), "--planting", str(fresh)]) == 0
        assert told in capsys.readouterr().out


def test_one_bad_cell_changes_nothing_and_is_named(fresh, tmp_path, capsys):
    sheet = tmp_path / "shrubs.csv"
    sheet.write_text(
        "kind,shrub,day seen\nshrub planted,A1,2020-05-01\nshrub planted,A2,20O0-05-01\n"
    )
    assert run(["import", str(sheet), "--planting", str(fresh)]) == 1
    told = capsys.readouterr().err
    assert "row 3" in told
    assert "20O0-05-01" in told
    assert run(["shrub", "A1", "--planting", str(fresh)]) == 2


def test_check_archive_and_restore_go_round(own_sorrel_bank, tmp_path, capsys):
    where, back = ["--planting", str(own_sorrel_bank)], ["--planting", str(tmp_path / "back.db")]
    assert run(["check", *where]) == 0
    assert run(["archive", str(tmp_path / "all.zip"), *where]) == 0
    assert run(["archive", str(tmp_path / "all.zip"), "--restore", *back]) == 0
    assert run(["check", *back]) == 0
    capsys.readouterr()
    told = []
    for planting in (where, back):
        assert run(["shrub", "3-07", "--on", ON, *planting]) == 0
        told.append(capsys.readouterr().out)
    assert told[0] == told[1]


def test_exports_are_written(ask, tmp_path):
    for name in ("notes.jsonl", "map.geojson"):
        assert ask("export", str(tmp_path / name))[0] == 0
        assert (tmp_path / name).stat().st_size > 1000
