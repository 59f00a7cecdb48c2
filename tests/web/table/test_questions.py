"""Answers of each room as JSON: what the command prints, and nothing for terms that cannot be."""

import json
import shutil

import pytest

ANSWERS = [
    ("/api/bloom", ["bloom"]),
    ("/api/bloom/1-02", ["bloom", "--shrub", "1-02"]),
    ("/api/pollen", ["pollen"]),
    ("/api/pollen/1-02", ["pollen", "--shrub", "1-02"]),
    ("/api/canes", ["canes"]),
    ("/api/canes?target=9", ["canes", "--target", "9"]),
    ("/api/canes/1-02", ["canes", "--shrub", "1-02"]),
    ("/api/siting?places=2&beyond=1", ["pollen", "siting", "--places", "2", "--beyond", "1"]),
    (
        "/api/layout?rows=2&per_row=6&lots=A:6,B:6",
        ["pollen", "siting", "--new-rows", "2", "--per-row", "6", "--lots", "A:6,B:6"],
    ),
    ("/api/outlook", ["canes", "--outlook"]),
    ("/api/harvest", ["harvest"]),
    ("/api/harvest/1-02", ["harvest", "--shrub", "1-02"]),
    ("/api/weather", ["weather"]),
    ("/api/frost?ahead=30", ["frost", "--ahead", "30"]),
    (
        "/api/frost/night?min=-6&night=2026-05-03",
        ["frost", "--min", "-6", "--night", "2026-05-03"],
    ),
]


@pytest.fixture(scope="module")
def bank(warm_bank, tmp_path_factory):
    """A copy for the command line, which keeps answers of its own in it."""
    return shutil.copy(warm_bank, tmp_path_factory.mktemp("commands") / "bank.db")


@pytest.mark.parametrize(("path", "command"), ANSWERS, ids=[path for path, _ in ANSWERS])
def test_an_answer_is_what_the_command_prints(reader, bank, opened, *, capsys, path, command):
    from nuttery.cli.app import run

    answer = opened(reader, path)
    assert answer.status_code == 200, answer.text
    assert run([*command, "--json", "--on", "2026-04-12", "--planting", str(bank)]) == 0
    assert answer.json() == json.loads(capsys.readouterr().out)


def test_an_answer_has_every_entry_that_its_description_tells(reader, opened):
    paths = reader.get("/api/openapi.json").json()["paths"]
    for path in ("/api/bloom", "/api/pollen", "/api/canes", "/api/outlook", "/api/harvest"):
        described = paths[path]["get"]["responses"]["200"]["content"]["application/json"]
        assert set(described["schema"]["required"]) <= set(opened(reader, path).json()), path


@pytest.mark.parametrize(
    "asked",
    [
        "canes?target=0",
        "canes?max_age=x",
        "outlook?cuts=-1",
        "crosses?number=99",
        "frost?ahead=0",
        "frost/night?min=-99",
        "siting?places=0",
        "layout?rows=0&lots=A:1",
    ],
)
def test_terms_that_cannot_be_are_refused(reader, asked):
    answer = reader.get(f"/api/{asked}")
    assert answer.status_code == 422
    assert asked.partition("?")[2].partition("=")[0] in answer.json()["wrong"]


@pytest.mark.parametrize("room", ["bloom", "pollen", "harvest"])
def test_a_strange_tag_is_not_found(reader, opened, room):
    answer = opened(reader, f"/api/{room}/zz")
    assert answer.status_code == 404
    assert "zz" in answer.json()["wrong"]
