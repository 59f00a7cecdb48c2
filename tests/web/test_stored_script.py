"""Script stored in every text that a note, a value, a device or a planting can hold stays text."""

import re

import pytest

from nuttery.records import KINDS, new_id, read_note, utc_now

EVIL = "\"'><script>alert(1)</script><img src=x onerror=alert(1)>"
PAGES = (
    "/", "/notes", "/shrubs", "/shrubs/1-01", "/shrubs/9-01", "/map?show=visited", "/values",
    "/values/canes.target", "/values/all/values.csv", "/row", "/tags", "/devices", "/api",
    f"/shrubs/{EVIL}", f"/values?find={EVIL}", f"/notes?kind={EVIL}", f"/tags?only={EVIL}",
    f"/tags?address={EVIL}", f"/map?find={EVIL}&show=visited", f"/siblings?lot={EVIL}",
    f"/?on={EVIL}", f"/?subject={EVIL}", f"/pair/{EVIL}", f"/nope{EVIL}",
)  # fmt: skip


def everything(planting):
    """A note of each kind that holds words of its own, evil in each of them."""
    head = {"planting": str(planting), "seen": "2026-04-10", "by": EVIL, "device": EVIL}
    lot = {"seed_lot": EVIL}
    told = [
        ("shrub_planted", "9-01", lot | {"came_from": EVIL, "x": 1.0, "y": 1.0}),
        ("parents_known", None, lot | {"mother": EVIL, "fathers": [EVIL]}),
        ("alleles_known", None, {"parent": EVIL, "report": EVIL, "first": 1, "second": 2}),
        ("alleles_known", "1-01", {"report": EVIL, "first": 1, "second": 3}),
        ("value_set", None, {"name": "canes.target", "value": 6.5, "source": EVIL}),
        ("cross_made", "1-01", {"pollen_from": EVIL}),
        ("pest_seen", "1-01", {"sign": EVIL}),
        ("picking", "1-01", {"batch": EVIL, "mass_kg": 1.0, "form": "in shell", "state": "fresh"}),
        ("drying_weighed", None, {"batch": EVIL, "mass_kg": 2.0}),
        ("photo", "1-01", {"photo": EVIL}),
        ("remark", "1-01", {"remark": EVIL}),
    ]
    for kind, shrub, values in told:
        body = {"id": str(new_id()), "kind": kind, "recorded": utc_now().isoformat(), **head}
        yield body | values | ({"shrub": shrub} if shrub else {})


def texts_of(kind):
    """Entries of a kind that hold free words: neither tags nor choices."""
    fields = KINDS[kind].model_fields
    own = set(fields) - set(KINDS["remark"].model_fields) | {"remark", "photo"} & {kind}
    return {n for n in own if "str" in str(fields[n].annotation)} - {"copy_of"}


def test_the_notes_below_cover_every_text_of_every_kind():
    covered = {}
    for note in everything(new_id()):
        covered.setdefault(note["kind"], set()).update(
            k for k, v in note.items() if v in (EVIL, [EVIL])
        )
    # A value has a name that ships; the planting is described in the fixture below.
    left = {kind: texts_of(kind) - covered.get(kind, set()) for kind in KINDS}
    left["value_set"] -= {"name"}
    left["planting_described"] -= {"name", "time_zone"}
    assert {kind: names for kind, names in left.items() if names} == {}


def is_clean(text):
    return "<script>alert" not in text and "<img src=x" not in text


@pytest.fixture
def haunted(bank, sharing, monkeypatch):
    """A planting of which every text is evil, and an owner's phone with an evil name."""
    from nuttery.season.planting import open_planting
    from nuttery.web.leaf import Part

    # What takes long on a shrub's page holds no words of a person.
    monkeypatch.setattr("nuttery.web.pages.shrub.part", lambda *_: Part())

    planting = open_planting(bank)
    about = planting.about
    body = about.model_dump(mode="json") | {
        "id": str(new_id()), "name": EVIL, "stands_in_for": str(about.id), "by": EVIL,
    }  # fmt: skip
    planting.register.keep([read_note(body), *map(read_note, everything(about.planting))])
    planting.register.close()
    shared = sharing(bank)
    shared.site.devices.invite(EVIL, "helper", shared.site.clock())
    return shared.let_in(EVIL, "owner", EVIL)


def test_no_page_runs_what_was_stored(haunted):
    seen = 0
    for path in PAGES:
        answer = haunted.get(path, follow_redirects=True)
        assert answer.status_code < 500, (path, answer.text[-300:])
        if answer.headers["content-type"].startswith("text/html"):
            assert is_clean(answer.text), path
            assert "style=" not in answer.text, path
        else:
            assert "attachment" in answer.headers["content-disposition"], path
        seen += answer.text.count("alert(1)")
    assert seen > 20, "the words themselves are shown, as words"


def test_what_is_drawn_and_what_is_handed_to_the_phone_stays_text(haunted):
    drawing = haunted.get("/map/map.svg?show=visited")
    assert drawing.headers["content-disposition"].startswith("attachment")
    assert is_clean(drawing.text)
    for path in ("/api/notes", "/api/shrubs/1-01", "/api/me", "/api/shrubs"):
        answer = haunted.get(path)
        assert answer.headers["content-type"] == "application/json", path
        assert answer.headers["x-content-type-options"] == "nosniff", path


def test_a_name_cannot_end_the_head_of_a_file(haunted):
    """What is asked for lands in no header."""
    answer = haunted.get("/values/all/values%0d%0aset-cookie: a=b.csv")
    assert "set-cookie" not in answer.headers
    assert not re.search(r"[\r\n]", answer.headers.get("content-disposition", ""))
