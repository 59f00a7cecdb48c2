"""Notes from phones: kept once, whatever happens on the way; what is wrong is said note by note."""

import json
import threading
from datetime import timedelta
from uuid import uuid4

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st


def sent(client, *notes):
    answer = client.post("/api/notes", json={"notes": list(notes)})
    assert answer.status_code == 200, answer.text
    return [outcome["outcome"] for outcome in answer.json()["outcomes"]]


def held(client, note_id):
    from uuid import UUID

    return client.site.served.planting().register.note(UUID(note_id))


def test_a_note_is_kept_and_the_same_again_changes_nothing(client, make_note):
    one = make_note()
    assert sent(client, one) == ["kept"]
    version = client.site.served.version
    assert sent(client, one) == ["already"]
    assert client.site.served.version == version


def test_the_writer_and_the_device_are_set_here_whatever_the_phone_says(client, make_note):
    one = make_note(by="Someone Else", device="a forged device", recorded="1999-01-01T00:00:00Z")
    assert sent(client, one) == ["kept"]
    kept = held(client, one["id"])
    assert (kept.by, kept.device) == ("Ida", "this computer")
    assert abs(kept.recorded - client.site.clock()) < timedelta(minutes=1)


def test_a_note_of_another_planting_is_kept_for_this_one_only(client, make_note):
    one = make_note(planting=str(uuid4()))
    assert sent(client, one) == ["kept"]
    assert held(client, one["id"]).planting == client.site.served.about.planting


def test_an_id_with_other_words_is_a_conflict_that_shows_what_is_kept(client, make_note):
    one = make_note()
    sent(client, one)
    answer = client.post("/api/notes", json={"notes": [one | {"remark": "something else"}]})
    (outcome,) = answer.json()["outcomes"]
    assert outcome["outcome"] == "conflict"
    assert "a nest in the crown" in outcome["standing"]
    assert held(client, one["id"]).remark == "a nest in the crown"


def test_one_bad_note_does_not_keep_the_others_out(client, make_note):
    good = [make_note(), make_note()]
    bad = [
        make_note(shrub="9-99"),
        make_note("picking", mass_kg=90.0, form="in shell", state="fresh"),
        make_note("no_such_kind"),
    ]
    found = sent(client, good[0], *bad, good[1])
    assert found == ["kept", "refused", "refused", "refused", "kept"]


def test_a_refused_note_says_entry_found_and_expected(client, make_note):
    bad = make_note("picking", mass_kg=20.0, form="in shell", state="fresh")
    answer = client.post("/api/notes", json={"notes": [bad]}).json()["outcomes"][0]
    (fault,) = answer["faults"]
    assert fault["entry"] == "mass"
    assert fault["found"] == "20 kg"
    assert fault["overrulable"]
    assert sent(client, bad | {"means_it": True}) == ["kept"]


def test_many_notes_of_shrubs_that_never_were_are_each_refused(client, make_note):
    strange = [make_note(shrub=f"9-{k:02d}") for k in range(12)]
    good = make_note()
    assert sent(client, *strange, good) == ["refused"] * 12 + ["kept"]


def test_taking_back_what_was_refused_is_refused_too(client, make_note):
    bad = make_note(shrub="9-99")
    back = make_note("withdrawn", shrub="1-01", stands_in_for=bad["id"])
    assert sent(client, bad, back) == ["refused", "refused"]


def test_undo_is_a_note_of_its_own_and_the_first_stays_in_the_register(client, make_note):
    one = make_note()
    back = make_note("withdrawn", stands_in_for=one["id"])
    assert sent(client, one, back) == ["kept", "kept"]
    standing = {str(n.id) for n in client.site.served.planting().notes()}
    assert one["id"] not in standing
    assert held(client, one["id"]).remark == "a nest in the crown"


def test_the_same_note_twice_in_one_go_is_kept_once(client, make_note):
    one = make_note()
    assert sent(client, one, one) == ["kept", "already"]
    other = make_note()
    assert sent(client, other, other | {"remark": "changed"}) == ["kept", "conflict"]


def test_a_note_from_a_clock_far_ahead_is_refused_for_its_day(client, make_note):
    ahead = make_note(seen="2099-01-01")
    answer = client.post("/api/notes", json={"notes": [ahead]}).json()["outcomes"][0]
    assert answer["outcome"] == "refused"
    assert answer["faults"][0]["entry"] == "day seen"


def test_a_month_old_note_is_kept_with_its_own_day(client, make_note):
    old = make_note(seen="2026-03-01", seen_at="09:30:00")
    assert sent(client, old) == ["kept"]
    assert str(held(client, old["id"]).seen) == "2026-03-01"


def test_tabs_sending_the_same_notes_at_once_keep_each_once(client, make_note):
    notes = [make_note() for _ in range(20)]
    results = []
    tabs = [threading.Thread(target=lambda: results.append(sent(client, *notes))) for _ in range(6)]
    for tab in tabs:
        tab.start()
    for tab in tabs:
        tab.join()
    # Two that arrive in the same moment, equal to the last letter, may both be told "kept".
    for outcomes in zip(*results, strict=True):
        assert "kept" in outcomes
        assert set(outcomes) <= {"kept", "already"}
    there = [one["id"] for one in client.get("/api/notes?at_most=500").json()]
    assert [there.count(note["id"]) for note in notes] == [1] * 20


def test_two_programs_writing_at_once_do_not_lose_a_note(bank, make_note):
    """Another process may keep the very same note between our look and our write."""
    from nuttery.records import utc_now
    from nuttery.season.notes_in import keep_each
    from nuttery.season.planting import open_planting

    notes = [make_note() for _ in range(10)]
    outcomes = []

    def write(who):
        planting = open_planting(bank)
        told = keep_each(planting, notes, by=who, device=who, now=utc_now())
        outcomes.append([one.outcome for one in told])
        planting.register.close()

    writers = [threading.Thread(target=write, args=(f"writer {k}",)) for k in range(4)]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
    for found in zip(*outcomes, strict=True):
        assert sorted(found) == ["already"] * 3 + ["kept"]


@pytest.mark.parametrize(
    "body",
    [
        pytest.param(b"{", id="cut short"),
        pytest.param(b'{"notes": 7}', id="no list"),
        pytest.param(b'{"notes": [{"kind": "remark"}]}', id="no id"),
        pytest.param(b'{"notes": [{"id": "x"}]}', id="no UUID"),
        pytest.param(b'{"notes": [], "more": 1}', id="an entry too many"),
        pytest.param(b'{"notes": [{"id": "\\ud800"}]}', id="half a sign"),
        pytest.param(b"[" * 100_000, id="very deep"),
        pytest.param(b'{"notes": [[[]]]}', id="lists for notes"),
        pytest.param(b"\xff\xfe\x00", id="no text"),
    ],
)
def test_a_malformed_batch_is_refused_whole(client, body):
    answer = client.post("/api/notes", content=body, headers={"content-type": "application/json"})
    assert answer.status_code in {400, 422}, answer.text


def test_odd_values_in_a_note_are_faults_of_that_note(client, make_note):
    odd = [
        make_note(remark="\u0000"),
        make_note(remark=["a"]),
        make_note("picking", mass_kg="1.2", form="in shell", state="fresh"),
        make_note("picking", mass_kg=True, form="in shell", state="fresh"),
        make_note(shrub="../../etc/passwd"),
        make_note(shrub="1-01'; DROP TABLE note; --"),
        make_note(seen="2026-02-30"),
        make_note(unknown_entry=1),
        make_note(remark="x" * 5000),
    ]
    assert sent(client, *odd) == ["refused"] * len(odd)
    half = make_note(remark="HALF")
    body = json.dumps({"notes": [half]}).replace("HALF", "\\ud800")
    answer = client.post(
        "/api/notes",
        content=body.encode(),
        headers={"content-type": "application/json"},
    )
    assert answer.status_code == 200
    assert answer.json()["outcomes"][0]["outcome"] == "refused"


@settings(
    max_examples=25,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(data=st.data())
def test_replies_lost_on_the_way_never_lose_or_double_a_note(client, make_note, data):
    """A phone sends batches in any overlap and order; each note ends up once in the register."""
    notes = [make_note() for _ in range(6)]
    batches = data.draw(st.lists(st.lists(st.sampled_from(notes), min_size=1), max_size=5))
    results = [outcome for batch in [*batches, notes] for outcome in sent(client, *batch)]
    assert results.count("kept") == len(notes)
    assert set(results) <= {"kept", "already"}
    standing = [str(n.id) for n in client.site.served.planting().notes()]
    assert all(standing.count(n["id"]) == 1 for n in notes)
