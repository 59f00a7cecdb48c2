from pathlib import Path

import pytest

from nuttery.season.shapes import ANSWERS, shapes

DOCS = Path(__file__).parents[2] / "docs"


def test_the_page_of_json_shapes_is_what_the_program_says():
    page = (DOCS / "methods" / "answers.md").read_text(encoding="utf-8")
    assert page == shapes(), "run: make docs"


@pytest.mark.parametrize("command", ANSWERS)
def test_every_answer_tells_its_entries(command):
    assert f"## `{command} --json`" in shapes()


def test_every_link_between_pages_leads_somewhere():
    import re

    root = DOCS.parent
    for page in [root / "README.md", root / "CONTRIBUTING.md", *DOCS.rglob("*.md")]:
        for target in re.findall(r"\]\(([^)#:]+)(?:#[^)]*)?\)", page.read_text(encoding="utf-8")):
            assert (page.parent / target).exists(), f"{page.name}: {target}"
