"""Words that stand in no file of the project."""

import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PLACES = r"/(?:work|tmp|home|root)/"
HOSTS = r"https?://[\w.]*(?:index|registry|packages)[\w.]*/|registry\.|artifactory|/simple/"
NEVER = re.compile(rf"{PLACES}|{HOSTS}", re.IGNORECASE)
PROMISES = re.compile("safe to eat|disease[- ]free|legal to move", re.IGNORECASE)
NEVER_PRINTED = re.compile(r"\b(?:never|not|no|nothing)\b", re.IGNORECASE)
BINARY = {".db", ".gif", ".jpg", ".otf", ".pdf", ".png", ".ttf", ".webp", ".woff2", ".xlsx"}


def tracked():
    """Files that belong to the project; a copy without its history has none to look at."""
    found = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=False)
    if found.returncode:
        pytest.skip("not a checkout: the files of the project are not known")
    names = found.stdout.decode().split("\0")[:-1]
    paths = (ROOT / name for name in names if Path(name).suffix not in BINARY)
    return [path for path in paths if path.is_file() and path != Path(__file__)]


def lines_with(pattern):
    for path in tracked():
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1):
            if pattern.search(line):
                yield path.relative_to(ROOT), number, line.strip()


def test_no_file_tells_of_one_machine_or_of_how_it_came_about():
    assert [f"{path}:{number}: {line}" for path, number, line in lines_with(NEVER)] == []


def test_nothing_promises_what_only_a_laboratory_or_the_law_can():
    told = [
        f"{path}:{number}: {line}"
        for path, number, line in lines_with(PROMISES)
        if path.parts[0] == "src" or not (path.parts[0] == "tests" or NEVER_PRINTED.search(line))
    ]
    assert told == []
