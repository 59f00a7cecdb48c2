"""Every row of the reference room says what it is, where it is from, and is used."""

import ast
import inspect
import re
import tomllib
from functools import cache
from pathlib import Path
from typing import get_args

import pytest

import nuttery
from nuttery import reference
from nuttery.science import canes, weather

SOURCE = Path(nuttery.__file__).parent
FILES = sorted((SOURCE / "reference").glob("*.toml"))
CERTAINTIES = get_args(reference.Certainty)
FACT_ONLY = "fact only"  # how the note of a value begins that no answer rests on
DEFAULTS = {  # values that stand as defaults of an agreed interface, and where
    "canes.overdue": (canes.plan_renewal, "max_age"),
    "canes.share": (canes.plan_renewal, "max_share"),
    "chilling.hours.lower": (weather.chill_hours, "low"),
    "chilling.hours.upper": (weather.chill_hours, "high"),
    "daily.hours.fewest": (weather.daily_from_hourly, "min_hours"),
    "degree_hours.base": (weather.growing_degree_hours, "base"),
    "degree_hours.critical": (weather.growing_degree_hours, "critical"),
    "degree_hours.optimum": (weather.growing_degree_hours, "optimum"),
}


def written(file):
    return tomllib.loads(file.read_text(encoding="utf-8"))


VALUES = [
    pytest.param(name, row, id=name)
    for file in FILES
    for name, row in written(file).items()
    if name != "rows"
]
ROWS = [
    pytest.param(row, id=f"{file.stem}-{place}")
    for file in FILES
    for place, row in enumerate(written(file).get("rows", ()))
]


@pytest.mark.parametrize(("name", "row"), VALUES)
def test_a_value_says_what_it_is_and_where_it_is_from(name, row):
    assert row["unit"].strip()
    assert len(row["source"].strip()) > 10
    assert row["certainty"] in CERTAINTIES
    assert row.get("low", row["value"]) <= row["value"] <= row.get("high", row["value"])
    assert reference.value(name).value == row["value"]


@pytest.mark.parametrize("row", ROWS)
def test_a_row_of_a_table_has_a_source_and_a_certainty(row):
    assert len(row["source"].strip()) > 5
    assert row["certainty"] in CERTAINTIES


@cache
def names_in_code():
    """Strings of the program, and patterns of those that it puts together."""
    words, patterns = set(), set()
    for file in SOURCE.rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.JoinedStr):
                parts = [re.escape(p.value) if hasattr(p, "value") and isinstance(p, ast.Constant)
                         else "[^.]+" for p in node.values]  # fmt: skip
                patterns.add("".join(parts))
            elif isinstance(node, ast.Constant) and isinstance(node.value, str):
                words.add(node.value)
    return words, {p for p in patterns if re.search(r"\\\.", p) and re.search("[a-z_]{3}", p)}


def is_used(name):
    words, patterns = names_in_code()
    return name in words or any(re.fullmatch(p, name) for p in patterns)


@pytest.mark.parametrize(("name", "row"), VALUES)
def test_a_value_is_used_or_said_to_be_a_fact_only(name, row):
    fact_only = row.get("note", "").startswith(FACT_ONLY)
    assert fact_only != (is_used(name) or name in DEFAULTS)


@pytest.mark.parametrize("file", [f for f in FILES if "rows" in written(f)], ids=lambda f: f.stem)
def test_a_table_is_read_by_the_program_or_said_to_be_a_fact_only(file):
    fact_only = file.read_text(encoding="utf-8").lower().startswith(f"# {FACT_ONLY}")
    assert fact_only != is_used(file.stem)


@pytest.mark.parametrize("name", DEFAULTS)
def test_a_default_of_an_interface_is_the_value_of_the_reference_room(name):
    function, parameter = DEFAULTS[name]
    default = inspect.signature(function).parameters[parameter].default
    assert default == pytest.approx(reference.value(name).value, rel=1e-3)
