"""What is said to a grower who chose US units: no metric figure without its own beside it."""

import re

import pytest

from nuttery.cli.app import run

METRIC = re.compile(r"\d ?(?:°C|kg|g|mm|cm|km|m|L|litres)\b(?! (?:\(\d|shows))")


@pytest.fixture
def ask(own_sorrel_bank, capsys):
    where = ["--planting", str(own_sorrel_bank)]
    words = ["name=Sorrel Bank", "latitude=46.1", "longitude=-91.2", "elevation=330 m"]
    more = ["time zone=America/Chicago", "units=US", "invented=yes", "--on", "2013-05-01"]
    assert run(["note", "planting described", *words, *more, *where]) == 0

    def asked(*words, on="2026-04-12"):
        capsys.readouterr()
        status = run([*words, *where, "--on", on])
        said = capsys.readouterr()
        return status, said.out, said.err

    return asked


def test_no_metric_figure_is_printed(ask):
    for words in (
        ["weather"],
        ["frost", "--min", "22", "--within", "3"],
        ["shrub", "3-07", "--all"],
    ):
        status, out, _ = ask(*words)
        assert status == 0
        assert METRIC.findall(out) == []


def test_the_pattern_would_find_one():
    assert METRIC.findall("0.35 kg, 10.8 m east, 145 °C d, 32 to 38 °C (100 °F)") == [
        "5 kg", "8 m", "5 °C",
    ]  # fmt: skip


def test_totals_of_the_weather_are_in_degrees_fahrenheit_and_inches(ask):
    _, out, _ = ask("weather")
    assert "heat above 36 °F since 1 January" in out
    assert re.search(r"rain since 1 January +\d+\.\d in ", out)


def test_a_slip_is_told_as_it_was_typed(ask):
    words = ["picking", "shrub=3-07", "mass=1200 lb", "form=in husk", "fresh or dry=fresh"]
    assert ask("note", *words) == (
        1, "", "nuttery: mass: found 1200 lb, expected 0 to 132 lb\n",
    )  # fmt: skip
