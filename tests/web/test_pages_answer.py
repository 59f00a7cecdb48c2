"""Every page and answer, in process, on a real register."""

import json
import re

import pytest

PAGES = ["/", "/shrubs", "/notes", "/devices", "/row", "/tag/1-01", "/trust", "/api"]


@pytest.mark.parametrize("path", PAGES)
def test_every_page_answers_and_says_that_the_planting_is_invented(client, path):
    answer = client.get(path)
    assert answer.status_code == 200
    assert "<h1" in answer.text or path in {"/row", "/tag/1-01"}
    assert "invented" in answer.text


@pytest.mark.parametrize("path", PAGES)
def test_no_page_carries_inline_script_or_style(client, path):
    text = client.get(path).text
    assert "<style" not in text
    assert "style=" not in text
    assert " onclick" not in text
    assert all('src="/static/' in tag for tag in text.split("<script")[1:])


@pytest.mark.parametrize(
    ("path", "command"),
    [
        pytest.param("/api/season", ["season"], id="season"),
        pytest.param("/api/shrubs/1-01", ["shrub", "1-01"], id="shrub"),
    ],
)
def test_an_answer_as_json_is_what_the_command_line_prints(client, bank, capsys, path, command):
    from nuttery.cli.app import run

    assert run([*command, "--json", "--on", "2026-04-12", "--planting", str(bank)]) == 0
    assert client.get(path).json() == json.loads(capsys.readouterr().out)


def test_a_strange_tag_is_not_found_and_near_ones_are_told(client):
    page = client.get("/shrubs/1-011")
    assert page.status_code == 404
    assert "Did you mean" in page.text
    assert "found 'zz'" in client.get("/api/shrubs/zz").json()["wrong"]


@pytest.mark.parametrize("on", ["2026-02-30", "yesterday", "1500-01-01"])
def test_a_wrong_day_is_refused_in_words(client, on):
    answer = client.get("/api/shrubs", params={"on": on})
    assert answer.status_code in {404, 422}
    assert on in answer.json()["wrong"] or "pattern" in answer.json()["wrong"]


def test_a_page_of_another_day_carries_the_day_on(client):
    text = client.get("/shrubs?on=2025-12-01").text
    assert 'href="/shrubs/1-01?on=2025-12-01"' in text


def test_an_answer_that_takes_long_is_told_as_such_and_then_there(client):
    from nuttery.season.serving import StillWorking

    served = client.site.served

    def slow(_planting, tell):
        import time

        tell("the slow part")
        time.sleep(0.5)
        return 7

    with pytest.raises(StillWorking, match="slow question is being worked out"):
        served.answer("a slow question", slow, patience=0.05)
    assert served.answer("a slow question", slow, patience=None) == 7


def test_while_new_notes_are_taken_in_the_answer_before_is_shown(client, make_note):
    served = client.site.served

    def slow(planting, _tell):
        import time

        time.sleep(0.0 if planting is first else 1.0)
        return len(list(planting.notes()))

    first = served.planting()
    before = served.answer("how many notes", slow, patience=None)
    client.post("/api/notes", json={"notes": [make_note()]})
    assert served.answer("how many notes", slow) == before
    assert served.is_behind("how many notes")
    assert served.answer("how many notes", slow, patience=None) == before + 1
    assert not served.is_behind("how many notes")


def test_the_worker_keeps_the_shell_and_every_script(client):
    text = client.get("/service-worker.js").text
    kept = json.loads(text.split("const KEPT = ")[1].split(";\n")[0])
    assert "/row" in kept
    assert "/static/js/row.js" in kept
    for path in kept:
        assert client.get(path).status_code == 200, path


def test_the_first_load_of_the_page_in_the_row_is_small(client):
    import gzip

    text = client.get("/service-worker.js").text
    kept = json.loads(text.split("const KEPT = ")[1].split(";\n")[0])
    assert sum(len(gzip.compress(client.get(path).content)) for path in kept) < 60_000


def test_a_form_is_offered_for_every_kind_that_is_written_in_the_row(client):
    from nuttery.records import KINDS

    forms = {form["kind"]: form for form in client.get("/api/kinds").json()}
    assert set(KINDS) - set(forms) == {"planting_described", "value_set", "withdrawn", "photo"}
    mass = next(f for f in forms["picking"]["fields"] if f["name"] == "mass_kg")
    assert (mass["unit"], mass["factor"], mass["needed"]) == ("kg", 1.0, True)
    assert mass["usual"] == [0.005, 12]
    stage = next(f for f in forms["stage_seen"]["fields"] if f["name"] == "stage")
    assert [60, "first pollen"] in stage["choices_by"]["catkin"]


def test_forms_of_a_planting_in_us_units_ask_in_us_units():
    from nuttery.records import stored
    from nuttery.web.forms import forms

    fields = {f.name: f for form in forms("US") for f in form.fields}
    assert fields["mass_kg"].unit == "lb"
    assert fields["mass_kg"].factor == pytest.approx(0.45359237)  # international pound, 1959
    lowest = fields["lowest"]
    assert (23.0 - lowest.offset) * lowest.factor == pytest.approx(
        stored(23.0, "temperature", "US")
    )
    assert (23.0 - lowest.offset) * lowest.factor == pytest.approx(-5.0)


def test_the_round_tells_every_shrub_in_walking_order_with_what_was_seen(client):
    told = client.get("/api/round").json()
    assert [s["tag"] for s in told["stops"]] == [s["tag"] for s in client.get("/api/shrubs").json()]
    assert any(stop["last"] for stop in told["stops"])
    assert all(len(stop["last"]) <= 3 for stop in told["stops"])
    named = {tag for line in told["lines"] for tag in line["shrubs"]}
    assert {s["tag"] for s in told["stops"] if s["lines"]} == named


def test_the_page_of_notes_leads_to_every_earlier_note(client, monkeypatch):
    monkeypatch.setattr("nuttery.web.pages.notes.AT_ONCE", 7)
    everything = client.get("/api/notes", params={"kind": "canes_counted"}).json()
    assert len(everything) > 14
    count, path = 0, "/notes?kind=canes_counted"
    for _ in range(len(everything)):
        text = client.get(path).text
        count += text.count("<tr><td>")
        earlier = re.search(r'href="(/notes\?before=[^"]+)"', text)
        if not earlier:
            break
        path = earlier[1].replace("&amp;", "&")
    assert count == len(everything)


def test_a_strange_kind_and_a_strange_note_are_refused_in_words(client):
    assert "found &#39;prices&#39;, expected one of" in client.get("/notes?kind=prices").text
    strange = "018f3b1c-7a2e-7c11-9f00-3a5b6c7d8e9f"
    answer = client.get("/api/notes", params={"before": strange})
    assert answer.status_code == 404
    assert strange in answer.json()["wrong"]
