"""Every page at the table, in process, on a real register."""

import csv
import io
import re
from datetime import date

import pytest
from defusedxml import ElementTree

from nuttery.figures.chart import Sheet, cell_told, csv_text, places_of
from nuttery.web.leaf import SHOWN_COLUMNS, SHOWN_ROWS
from nuttery.web.rendering import template

PAGES = [
    "/", "/?subject=counting", "/map", "/map?show=canes&find=1-01", "/map?show=bloom",
    "/map?show=ripe", "/map?show=crop", "/map?show=visited", "/shrubs/1-01", "/shrubs/1-01/cuts",
    "/bloom", "/pollen",
    "/canes", "/canes/what-if", "/canes/what-if?target=9&max_age=&cuts=", "/picking", "/siblings",
    "/siblings?by=crop", "/weather", "/values", "/values?find=frost", "/values/canes.target",
]  # fmt: skip


@pytest.mark.parametrize("path", PAGES)
def test_every_page_answers_without_inline_script_or_style(reader, opened, path):
    answer = opened(reader, path)
    assert answer.status_code == 200, answer.text
    assert "<h1" in answer.text
    assert "invented" in answer.text
    assert "<style" not in answer.text
    assert "style=" not in answer.text
    assert "nan" not in re.sub(r"<[^>]*>", " ", answer.text).lower().split()


def drawn(text):
    """Every picture on a page, read as XML."""
    return [ElementTree.fromstring(svg) for svg in re.findall(r"<svg.*?</svg>", text, re.DOTALL)]


@pytest.mark.parametrize(
    "path", ["/map", "/shrubs/1-01", "/bloom", "/pollen", "/canes", "/weather"]
)
def test_pictures_are_sound_and_tell_their_title(reader, opened, path):
    pictures = drawn(opened(reader, path).text)
    assert pictures
    for picture in pictures:
        assert picture.find("{http://www.w3.org/2000/svg}title").text


def test_every_chart_can_be_taken_away_as_figures_and_as_a_picture(reader, opened):
    for path in ("/map", "/bloom", "/pollen", "/canes", "/siblings", "/weather", "/picking"):
        text = opened(reader, path).text
        files = re.findall(r'href="([^"]+\.(?:csv|svg)[^"]*)" download', text)
        assert files, path
        for file in files:
            answer = reader.get(file.replace("&amp;", "&"))
            assert answer.status_code == 200, file
            assert "attachment" in answer.headers["content-disposition"]
            if ".csv" in file:
                rows = list(csv.reader(io.StringIO(answer.content.decode("utf-8-sig"))))
                assert len({len(row) for row in rows}) == 1, file
                assert len(rows) > 1, file


def test_the_pollen_page_shows_the_flow_to_the_shrub_asked_for(reader, opened):
    text = opened(reader, "/pollen?to=1-02").text
    assert "who feeds 1-02" in text
    assert "When 1-02 and its donors bloom" in text
    assert 'href="/pollen/overlap.csv?to=1-02"' in text
    days = reader.get("/pollen/overlap.csv?to=1-02").content.decode("utf-8-sig").splitlines()
    assert days[0].startswith("day,1-02: stigmas out,met")
    assert reader.get("/pollen?to=77-1").status_code == 404
    assert "/pollen?to=1-02" in opened(reader, "/shrubs/1-02").text


def test_a_wide_sheet_shows_its_first_columns_and_its_file_has_them_all():
    sheet = Sheet("Wide", tuple(f"c{k}" for k in range(60)), (tuple(range(60)),))
    told = {"shown_rows": SHOWN_ROWS, "shown_columns": SHOWN_COLUMNS}
    told |= {"cell": cell_told, "places_of": places_of}
    macro = template("charts.html").make_module(told).sheet_of
    assert macro(sheet).count("<td") + macro(sheet).count('<th scope="row"') == SHOWN_COLUMNS
    assert "The first 44 of 60 columns" in macro(sheet)
    assert len(csv_text(sheet).splitlines()[0].split(",")) == 60


def test_numbers_of_a_column_have_the_same_decimals():
    sheet = Sheet("Crop", ("shrub", "kg"), (("1-01", 0.5), ("1-02", 1.64), ("1-03", None)))
    told = {"shown_rows": 9, "shown_columns": 9, "cell": cell_told, "places_of": places_of}
    text = template("charts.html").make_module(told).sheet_of(sheet)
    assert re.findall('<td class="n">([^<]+)</td>', text) == ["0.50", "1.64", "–"]


def test_a_chart_that_is_not_there_is_told_with_those_that_are(reader, opened):
    opened(reader, "/pollen")
    answer = reader.get("/pollen/nothing.csv")
    assert answer.status_code == 404
    assert "who-feeds-whom" in answer.text


def test_the_map_shows_every_shrub_as_a_link_and_the_classes_add_up(reader, opened):
    text = opened(reader, "/map?show=visited").text
    tags = re.findall(r'data-tag="([^"]+)"', text)
    shrubs = reader.get("/api/shrubs").json()
    assert sorted(tags) == sorted(s["tag"] for s in shrubs)
    counts = [int(n) for n in re.findall(r"\((\d+)\)</text>", text)]
    assert sum(counts) == len(shrubs)
    assert 'href="/shrubs/1-01"' in text


def test_the_map_finds_a_shrub_whatever_the_case_and_tells_when_there_is_none(reader, opened):
    assert "last noted" in opened(reader, "/map?show=visited&find=1-01").text
    assert "No shrub zz stands here" in opened(reader, "/map?show=visited&find=zz").text


def test_a_question_the_map_does_not_know_names_those_it_does(reader):
    answer = reader.get("/map?show=prices")
    assert answer.status_code == 404
    assert "pollen, canes, bloom, ripe, crop, visited" in answer.text


def test_a_what_if_stands_beside_the_plan_and_empty_fields_ask_nothing(reader, opened):
    text = opened(reader, "/canes/what-if?target=9&max_age=&cuts=").text
    assert "as planned" in text
    assert "what if" in text
    row = re.search(r"canes wanted on a stool</th>\s*<td[^>]*>(\d+)</td><td[^>]*>(\d+)", text)
    assert row.groups() == ("6", "9")


@pytest.mark.parametrize("asked", ["target=0", "max_age=99", "cuts=-1", "target=x"])
def test_a_what_if_that_cannot_be_is_refused_in_words(reader, asked):
    assert reader.get(f"/canes/what-if?{asked}").status_code == 422


def send(client, path, **told):
    return client.post(path, data=told, follow_redirects=True)


def test_a_value_is_set_shown_as_the_growers_own_and_taken_back(client):
    text = send(client, "/values/canes.target", number="7.5", source="my own trial").text
    assert "7.5 canes a stool" in text
    assert "grower&#39;s own" in text
    assert "my own trial" in text
    assert client.site.served.planting().value("canes.target").value == 7.5
    undo = re.search(r'action="(/values/canes.target/undo/[^"?]+)', text)[1]
    text = client.post(undo, follow_redirects=True).text
    assert client.site.served.planting().value("canes.target").value == 6
    assert "Undo" not in text


def test_undoing_the_later_of_two_changes_leaves_the_earlier(client):
    send(client, "/values/canes.target", number="7")
    text = send(client, "/values/canes.target", number="8").text
    newest = re.search(r'action="(/values/canes.target/undo/[^"?]+)', text)[1]
    client.post(newest)
    assert client.site.served.planting().value("canes.target").value == 7
    send(client, "/values/canes.target")
    assert client.site.served.planting().value("canes.target").value == 6


@pytest.mark.parametrize(
    ("name", "number", "words"),
    [
        ("canes.share", "1.4", "found 1.4, expected a share from 0 to 1"),
        ("canes.target", "-3", "found -3 canes a stool, expected more than 0"),
        ("canes.target", "500", "expected within 10 times of 6 canes a stool"),
        ("canes.target", "many", "found &#39;many&#39;, expected a number"),
    ],
)
def test_a_value_that_cannot_be_is_refused_in_words_and_not_kept(client, name, number, words):
    before = client.site.served.version
    answer = send(client, f"/values/{name}", number=number)
    assert answer.status_code == 422
    assert words in answer.text
    assert client.site.served.version == before


def test_a_value_far_off_is_kept_when_it_is_meant(client):
    send(client, "/values/canes.target", number="90", means_it="true")
    assert client.site.served.planting().value("canes.target").value == 90


def test_an_unknown_value_is_not_found_and_near_ones_are_told(reader):
    answer = reader.get("/values/canes.targets")
    assert answer.status_code == 404
    assert "canes.target" in answer.text


def test_only_the_owner_sets_values(shared):
    helper = shared.let_in("Bo", "helper")
    answer = helper.post("/values/canes.target", data={"number": "7"})
    assert answer.status_code == 403
    assert "Set it" not in helper.get("/values/canes.target").text


def test_figures_that_a_spreadsheet_would_run_are_held_back():
    from nuttery.figures.chart import Sheet, csv_text

    told = csv_text(Sheet("t", ("a",), (("=cmd()",), ("+1*2",), ("@x",), ("-2 °C",), (-2.0,))))
    assert told.splitlines()[1:] == ["'=cmd()", "'+1*2", "'@x", "-2 °C", "-2.0"]


def test_a_page_of_another_day_keeps_the_day_in_its_files(reader, opened):
    text = opened(reader, "/weather?on=2025-12-01").text
    assert "so-far.csv?on=2025-12-01" in text
    day = date(2025, 12, 1)
    assert f"{day.day} Dec" in text


def test_a_stool_that_was_never_counted_has_no_cuts_to_try(reader):
    answer = reader.get("/shrubs/9-99/cuts")
    assert answer.status_code == 404
    assert "found &#39;9-99&#39;, expected the tag of a standing shrub" in answer.text


def test_photos_stand_on_their_shrubs_page_under_their_own_ids_alone(
    client, opened, make_note, monkeypatch
):
    from uuid import uuid4

    from nuttery.web.leaf import Part

    monkeypatch.setattr("nuttery.web.pages.shrub.part", lambda *_: Part())
    shown = uuid4()
    own = make_note(photo=f"{shown}.jpg", remark="the stool in bloom")
    notes = [own, make_note(photo="IMG_0001.jpg"), make_note(photo="../../etc/passwd.jpg")]
    client.post("/api/notes", json={"notes": notes})
    text = opened(client, "/shrubs/1-01").text
    assert re.findall(r'<img src="([^"]+)"', text) == [f"/api/photos/{shown}"]
    assert 'alt="remark. the stool in bloom"' in text
    links = re.findall(r'href="(/api/photos/[^"]+)"', client.get("/notes").text)
    assert links == [f"/api/photos/{shown}"]
