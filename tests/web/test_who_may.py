"""Who may come in, and what they may do: keys, roles, invitations, strange pages, sizes, pace."""

import re
from datetime import timedelta

import pytest

from nuttery.web import pages
from nuttery.web.api import answers, notes, photos, questions
from nuttery.web.security.rules import OPEN


def paths():
    """Every path and method that is answered, with something put in for its parts."""
    found = {("GET", "/api/openapi.json")}
    for module in (answers, questions, notes, photos, *pages.modules()):
        for route in module.router.routes:
            told = re.sub(r"\{tag\}", "1-01", route.path)
            found |= {(method, re.sub(r"\{\w+\}", "7", told)) for method in route.methods}
    return sorted(found)


def test_every_path_without_a_key_is_refused_when_shared(shared):
    stranger = shared.client()
    told = paths()
    assert len(told) > 20
    for method, path in told:
        if any(path == start or path.startswith(start.rstrip("/") + "/") for start in OPEN):
            continue
        answer = stranger.request(method, path)
        assert answer.status_code == 401, (method, path)
        assert "Sorrel" not in answer.text


def test_what_is_open_to_all_tells_nothing_of_the_planting(shared):
    stranger = shared.client()
    for path in ("/static/look.css", "/static/js/row.js", "/trust", "/service-worker.js"):
        answer = stranger.get(path)
        assert answer.status_code == 200, path
        assert "Sorrel" not in answer.text
        assert "1-01" not in answer.text


def test_a_stranger_gets_nothing_through_odd_spellings_of_a_path(shared):
    stranger = shared.client()
    for path in (
        "//shrubs", "/static/../shrubs", "/static/%2e%2e/shrubs", "/static/..%2fshrubs",
        "/pair/../shrubs", "/SHRUBS", "/shrubs/", "/static/js/../../app.py",
        "/static/%2e%2e/%2e%2e/app.py", "/static/..\\..\\app.py", "/pair%2f..%2fshrubs",
    ):  # fmt: skip
        answer = stranger.get(path)
        assert answer.status_code in {401, 404}, (path, answer.status_code)
        assert "Sorrel" not in answer.text
        assert "import" not in answer.text


def test_roles_reach_what_they_may_and_no_more(shared, make_note):
    visitor = shared.let_in("Vera", "visitor")
    helper = shared.let_in("Hans", "helper")
    owner = shared.let_in("Ida", "owner")
    batch = {"notes": [make_note()]}
    assert [c.get("/shrubs").status_code for c in (visitor, helper, owner)] == [200] * 3
    assert [c.get("/devices").status_code for c in (visitor, helper, owner)] == [403, 403, 200]
    assert [c.post("/api/notes", json=batch).status_code for c in (visitor, helper)] == [403, 200]
    told = {"person": "X", "role": "owner"}
    assert [c.post("/devices/invite", data=told).status_code for c in (visitor, helper)] == [
        403
    ] * 2
    assert owner.post("/devices/invite", data=told).status_code == 200


def test_notes_carry_the_person_and_the_device_that_sent_them(shared, make_note):
    helper = shared.let_in("Hans", "helper", "Hans’s old phone")
    one = make_note(by="Ida")
    helper.post("/api/notes", json={"notes": [one]})
    row = next(r for r in helper.get("/api/notes").json() if r["id"] == one["id"])
    assert (row["by"], row["device"]) == ("Hans", "Hans’s old phone")
    assert "Hans’s old phone" in helper.get("/notes").text


def test_an_invitation_works_once(shared):
    invitation = shared.site.devices.invite("Hans", "helper", shared.site.clock())
    first, second = shared.client(), shared.client()
    page = first.get(f"/pair/{invitation.token}")
    mark = re.search(r"/pair\?token=([0-9a-f]+)", page.text)[1]
    told = {"invitation": invitation.token, "name": "one"}
    assert first.post(f"/pair?token={mark}", data=told).status_code == 200
    again = second.post(f"/pair?token={mark}", data=told | {"name": "two"})
    assert again.status_code == 401
    assert "was used before" in again.text
    assert second.get("/shrubs").status_code == 401
    assert [d.name for d in shared.site.devices.all()] == ["one"]


def test_looking_at_an_invitation_does_not_use_it_up(shared):
    invitation = shared.site.devices.invite("Hans", "helper", shared.site.clock())
    stranger = shared.client()
    for _ in range(3):
        assert stranger.get(f"/pair/{invitation.token}").status_code == 200
    assert shared.site.devices.all() == ()


def test_an_invitation_grows_too_old(shared):
    early = shared.site.clock() - timedelta(minutes=16)
    invitation = shared.site.devices.invite("Hans", "helper", early)
    answer = shared.client().get(f"/pair/{invitation.token}")
    assert answer.status_code == 401
    assert "too old" in answer.text


@pytest.mark.parametrize("token", ["a" * 43, "", "..", "%00", "x" * 5000, "' OR 1=1 --"])
def test_a_forged_invitation_lets_nobody_in(shared, token):
    assert shared.client().get(f"/pair/{token}").status_code in {401, 404, 405}


@pytest.mark.parametrize("key", ["a" * 43, "' OR '1'='1", "\u00e9", "1", "x" * 9000])
def test_a_forged_key_lets_nobody_in(shared, key):
    stranger = shared.client()
    answer = stranger.get("/shrubs", headers={"cookie": f"nuttery-key={key}".encode()})
    assert answer.status_code == 401


def test_a_revoked_key_is_dead_at_once_and_for_good(shared):
    helper = shared.let_in("Hans", "helper")
    assert helper.get("/shrubs").status_code == 200
    owner = shared.let_in("Ida", "owner")
    number = next(d.id for d in shared.site.devices.all() if d.person == "Hans")
    assert owner.post(f"/devices/{number}/revoke").status_code == 200
    assert helper.get("/shrubs").status_code == 401
    assert "taken away" in owner.get("/devices").text


def test_keys_stand_only_as_hashes_and_the_file_is_the_owners_alone(shared):
    helper = shared.let_in("Hans", "helper")
    file = shared.site.devices.file
    assert helper.cookies["nuttery-key"].encode() not in file.read_bytes()
    assert file.stat().st_mode & 0o077 == 0


def test_the_key_cannot_be_read_by_scripts_nor_travel_with_strange_pages(shared):
    client = shared.client()
    invitation = shared.site.devices.invite("Hans", "helper", shared.site.clock())
    page = client.get(f"/pair/{invitation.token}")
    mark = re.search(r"/pair\?token=([0-9a-f]+)", page.text)[1]
    told = {"invitation": invitation.token, "name": "one"}
    answer = client.post(f"/pair?token={mark}", data=told, follow_redirects=False)
    cookie = answer.headers["set-cookie"].lower()
    assert all(word in cookie for word in ("httponly", "secure", "samesite=strict"))


def test_what_strange_pages_send_is_refused(client, make_note):
    batch = {"notes": [make_note()]}
    for headers in (
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": "http://localhost.evil.example"},
        {"x-nuttery-token": "0" * 64},
        {"x-nuttery-token": ""},
    ):
        answer = client.post("/api/notes", json=batch, headers=headers)
        assert answer.status_code == 403, headers
    assert client.post("/api/notes", json=batch).status_code == 200


def test_the_mark_of_one_device_is_no_use_to_another(shared, make_note):
    one, two = shared.let_in("Hans", "helper"), shared.let_in("Olga", "helper")
    two.headers["x-nuttery-token"] = one.headers["x-nuttery-token"]
    answer = two.post("/api/notes", json={"notes": [make_note()]})
    assert answer.status_code == 403
    assert answer.json()["stale"]


def test_a_name_that_is_not_ours_is_refused_so_that_no_page_can_pass_as_ours(client):
    for host in ("evil.example", "localhost.evil.example", "127.0.0.1.evil.example", ""):
        answer = client.get("/api/me", headers={"host": host})
        assert answer.status_code == 421, host
        assert "token" not in answer.json()


def test_every_answer_is_strict_about_scripts(client):
    for path in ("/", "/api/me", "/nope", "/static/look.css", "/row"):
        headers = client.get(path).headers
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "script-src 'self'" in policy
        assert "unsafe" not in policy
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["referrer-policy"] == "same-origin"


def test_a_body_that_is_too_large_is_refused_told_or_not(client):
    large = b'{"notes": [' + b" " * (2 * 1024 * 1024) + b"]}"
    told = client.post("/api/notes", content=large)
    assert told.status_code == 413

    def pieces():
        for _ in range(40):
            yield b" " * 65536

    untold = client.post(
        "/api/notes", content=pieces(), headers={"content-type": "application/json"}
    )
    assert untold.status_code == 413
    assert client.post("/devices/invite", content=b"x" * 70_000).status_code == 413
    assert client.get("/", headers={"content-length": "-1"}).status_code == 413


def test_too_many_notes_at_once_are_refused(client, make_note):
    answer = client.post("/api/notes", json={"notes": [make_note() for _ in range(201)]})
    assert answer.status_code == 422


def test_guessing_at_invitations_is_slowed_down(shared):
    stranger = shared.client()
    found = [stranger.get(f"/pair/{'a' * 43}").status_code for _ in range(14)]
    assert found[:10] == [401] * 10
    assert set(found[10:]) == {429}


def test_the_pace_lets_go_again_with_time():
    from nuttery.web.security.limits import Pace

    now = [0.0]
    pace = Pace(per_second=2, burst=3, clock=lambda: now[0])
    assert [pace.wait("one") for _ in range(3)] == [0, 0, 0]
    assert pace.wait("one") == pytest.approx(0.5)
    assert pace.wait("another") == 0
    now[0] = 0.5
    assert pace.wait("one") == 0


def test_only_this_computer_is_served_unless_told_otherwise(client):
    assert "nuttery serve --share" in client.get("/devices").text
    answer = client.post("/devices/invite", data={"person": "X", "role": "owner"})
    assert answer.status_code == 409
    assert client.get("/pair/" + "a" * 43).status_code == 404


def test_a_new_page_that_changes_something_is_the_owners_by_default():
    from nuttery.web.security.rules import needed

    assert needed("POST", "/a-page-of-tomorrow") == "owner"
    assert needed("DELETE", "/api/notes-of-tomorrow") == "owner"
    assert needed("GET", "/a-page-of-tomorrow") == "visitor"


def test_the_owner_makes_an_invitation_with_a_code_to_scan(shared):
    owner = shared.let_in("Ida", "owner")
    page = owner.post("/devices/invite", data={"person": "Hans", "role": "helper"})
    assert "https://192.168.1.5:8790/pair/" in page.text
    assert "<svg" in page.text
    address = re.search(r"https://[^<\s]+/pair/[\w-]+", page.text)[0]
    assert shared.client().get(address).status_code == 200
