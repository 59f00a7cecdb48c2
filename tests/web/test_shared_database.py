"""The planting served from PostgreSQL: the same answers, many phones on two servers, roles."""

import os
import re
import uuid
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from uuid import UUID

import pytest

from nuttery.season.upkeep import archive_planting, check_planting, restore_planting

POSTGRES = os.environ.get("NUTTERY_TEST_POSTGRES", "")
pytestmark = [
    pytest.mark.postgres,
    pytest.mark.skipif(not POSTGRES, reason="PostgreSQL: NUTTERY_TEST_POSTGRES names no server"),
]
PHONES, NOTES = 8, 25


@pytest.fixture
def database(small_bank, tmp_path, monkeypatch):
    """A schema of its own that holds the small planting, restored from its archive."""
    import psycopg

    monkeypatch.setenv("HOME", str(tmp_path))
    schema = f"web_{uuid.uuid4().hex}"
    with psycopg.connect(POSTGRES, autocommit=True) as server:
        server.execute(f"CREATE SCHEMA {schema}")
        where = f"{POSTGRES}?options=-csearch_path%3D{schema}"
        archive_planting(small_bank, tmp_path / "bank.zip")
        restore_planting(tmp_path / "bank.zip", where)
        yield where
        server.execute(f"DROP SCHEMA {schema} CASCADE")


@pytest.fixture
def served(database, tmp_path, sharing):
    """Start a server of the database; every server knows the devices that any of them let in."""
    return lambda: sharing(database, folder=tmp_path / "own")


def test_answers_are_those_of_the_file(served, client):
    visitor = served().let_in("Vera", "visitor")
    for path in ("/api/shrubs", "/api/shrubs/1-01", "/api/notes?at_most=50", "/api/season"):
        assert visitor.get(path).json() == client.get(path).json(), path
    for path in ("/", "/map?show=visited", "/shrubs/1-01", "/notes", "/values", "/row"):
        assert visitor.get(path).status_code == 200, path


def test_many_phones_on_two_servers_at_once_lose_and_double_nothing(served, database, make_note):
    servers = [served(), served()]
    phones = [servers[k % 2].let_in(f"person {k}", "helper", f"phone {k}") for k in range(PHONES)]
    written = [
        [make_note(remark=f"phone {k}, note {n}") for n in range(NOTES)] for k in range(PHONES)
    ]

    def send(k):
        """A phone sends thrice, each time from a little further back: replies were lost."""
        told = []
        for start in (0, 12, 6):
            answer = phones[k].post("/api/notes", json={"notes": written[k][start : start + 13]})
            assert answer.status_code == 200, answer.text
            told += [one["outcome"] for one in answer.json()["outcomes"]]
        return told

    with ThreadPoolExecutor(PHONES) as at_once:
        outcomes = Counter(one for told in at_once.map(send, range(PHONES)) for one in told)
    assert outcomes["kept"] == PHONES * NOTES
    assert set(outcomes) == {"kept", "already"}
    register = servers[1].site.served.planting().register
    for k, notes in enumerate(written):
        for note in notes:
            kept = register.note(UUID(note["id"]))
            assert (kept.remark, kept.by) == (note["remark"], f"person {k}")
    assert check_planting(database) == ()


def test_one_servers_notes_are_seen_by_the_other_and_a_conflict_is_told(served, make_note):
    first, second = served(), served()
    here, there = first.let_in("Hans", "helper"), second.let_in("Bo", "helper")
    note = make_note(remark="a nest by the path")
    here.post("/api/notes", json={"notes": [note]})
    assert "a nest by the path" in there.get("/notes").text
    other = {"notes": [note | {"remark": "something else"}]}
    (outcome,) = there.post("/api/notes", json=other).json()["outcomes"]
    assert outcome["outcome"] == "conflict"
    assert "a nest by the path" in outcome["standing"]


def test_roles_hold_and_a_value_is_set_and_undone(served, make_note):
    server = served()
    visitor, helper = server.let_in("Vera", "visitor"), server.let_in("Hans", "helper")
    owner = server.let_in("Ida", "owner")
    batch = {"notes": [make_note()]}
    assert visitor.post("/api/notes", json=batch).status_code == 403
    assert helper.post("/api/notes", json=batch).status_code == 200
    value = "/values/canes.target"
    assert helper.post(value, data={"number": "7"}).status_code == 403
    text = owner.post(value, data={"number": "7"}).text
    assert server.site.served.planting().value("canes.target").value == 7
    owner.post(re.search(r'action="([^"?]+/undo/[^"?]+)', text)[1])
    assert server.site.served.planting().value("canes.target").value == 6
