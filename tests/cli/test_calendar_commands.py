"""Bloom, frost and weather in the terminal."""

import json

import pytest

from nuttery.cli.app import run


@pytest.fixture
def ask(sorrel_bank, capsys):
    def asked(*words, on="2026-04-12", planting=sorrel_bank):
        status = run([*words, "--planting", str(planting), "--on", on])
        told = capsys.readouterr()
        return status, told.out, told.err

    return asked


def test_one_shrub_is_told_stage_by_stage_with_what_it_rests_on(ask):
    status, out, _ = ask("bloom", "--shrub", "1-01")
    assert status == 0
    assert "leaf 11" in out
    assert "between" in out
    assert all(len(line) <= 80 for line in out.splitlines())


def test_bloom_as_json_has_every_stage(ask):
    status, out, _ = ask("bloom", "--shrub", "1-01", "--json")
    assert status == 0
    told = json.loads(out)
    assert told["leaf_11"]["basis"] == "learned"
    assert told["leaf_11"]["low"] <= told["leaf_11"]["median"] <= told["leaf_11"]["high"]


def test_a_cold_night_is_told_organ_by_organ_with_its_caution(ask):
    status, out, _ = ask("frost", "--min", "-6", "--night", "2026-05-03")
    assert status == 0
    assert "young leaves and nuts" in out
    assert "Caution: On a clear calm night" in out


def test_a_night_of_another_season_is_wrong_use(ask):
    status, _, err = ask("frost", "--min", "-6", "--night", "2027-05-03")
    assert status == 2
    assert "expected a day from January to mid-November of 2026" in err


def test_weather_names_its_sources(ask):
    status, out, _ = ask("weather")
    assert status == 0
    assert "how the planting's air differs from it" in out


def test_a_forecast_is_typed_in_and_a_lame_one_refused(ask, own_sorrel_bank):
    words = ("weather", "forecast", "--low", "-6", "-4", "--high", "3", "5")
    status, out, _ = ask(*words, planting=own_sorrel_bank)
    assert status == 0
    assert "A forecast of 2 days from 2026-04-13" in out
    status, _, err = ask(*words[:-1], planting=own_sorrel_bank)
    assert status == 2
    assert "found 2 lows and 1 highs" in err
