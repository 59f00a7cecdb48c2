"""Every file of checks against the world says in its head whose figures they are, and of when."""

import ast
import re
from pathlib import Path

import pytest

FILES = sorted((Path(__file__).parents[1] / "outside").glob("test_*.py"))
NAME_AND_YEAR = re.compile(r"[A-Z]\w{2,}.{,80}(?<![\d.-])(1[89]|20)\d\d(?![\d-])")
WORKED_OUT = re.compile("derived|by hand", re.IGNORECASE)


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_a_file_of_outside_checks_names_its_source_and_its_year(file):
    head = ast.get_docstring(ast.parse(file.read_text(encoding="utf-8"))) or ""
    told = head.replace("et al. ", "").replace("\n", " ")
    assert NAME_AND_YEAR.search(told) or WORKED_OUT.search(told), f"head of {file.name}: {head!r}"
    assert len(head.split()) >= 12, "a line or two on what is compared with what"
