from datetime import date

import pytest
from pypdf import PdfReader

from nuttery.book.contents import book_contents
from nuttery.book.setting import BookNotSet, set_book
from nuttery.cli.app import run
from nuttery.season.canes import canes, thin_stools
from nuttery.season.planting import open_planting

APRIL = date(2026, 4, 12)


@pytest.fixture(scope="module")
def contents(sorrel_bank):
    return book_contents(open_planting(sorrel_bank, on=APRIL), ahead=28)


@pytest.fixture(scope="module")
def book(contents, tmp_path_factory):
    path = tmp_path_factory.mktemp("book") / "season-book.pdf"
    set_book(contents, path)
    return path


def test_the_book_holds_the_plan_and_a_card_for_every_shrub(book, contents):
    text = "\n".join(page.extract_text() for page in PdfReader(book).pages)
    assert "Sorrel Bank: season book" in text
    assert "An invented planting" in text
    assert "One card a shrub" in text
    for card in contents["cards"]:
        assert card["tag"] in text
    for subject in contents["subjects"]:
        assert subject["heading"] in text


def test_a_card_holds_its_stool_its_canes_its_crop_and_its_pollen(contents, sorrel_bank):
    planting = open_planting(sorrel_bank, on=APRIL)
    plan = canes(planting)
    card = next(card for card in contents["cards"] if card["tag"] == "1-04")
    facts = {fact["what"]: fact["words"] for fact in card["facts"]}
    assert facts["Canes"].startswith(f"{plan.counts[plan.tags.index('1-04')].sum()} stand: ")
    assert "mean of 3 picked years" in facts["Crop"]
    assert "hang by the harvest of 2026" in facts["Crop"]
    assert facts["Pollen"].startswith("taken in ")
    assert "Stool 1-04 seen from above" in card["stool"]
    drawn = sum(card["stool"] is not None for card in contents["cards"])
    assert drawn == len(plan.tags)


def test_a_card_tells_the_year_in_which_bearing_canes_are_few(contents, sorrel_bank):
    plan = canes(open_planting(sorrel_bank, on=APRIL))
    thin = {plan.tags[k]: year for year, rows in thin_stools(plan).items() for k in rows}
    for card in contents["cards"]:
        said = [fact["words"] for fact in card["facts"] if fact["what"] == "Ahead"]
        tag = card["tag"]
        assert said == ([f"few bearing canes, fewest in {thin[tag]}"] if tag in thin else [])


def test_a_planting_of_which_little_is_known_has_its_book_too(tmp_path):
    where = tmp_path / "planting.db"
    place = ["--latitude", "46", "--longitude", "-91", "--elevation", "300"]
    more = ["--time-zone", "America/Chicago", "--units", "US", "--on", "2024-01-01"]
    assert run(["new", "--planting", str(where), "--name", "Trial", *place, *more]) == 0
    sheet = tmp_path / "shrubs.csv"
    sheet.write_text("kind,shrub,day seen\nshrub planted,A1,2020-05-01\n")
    assert run(["import", str(sheet), "--planting", str(where)]) == 0
    into = tmp_path / "book.pdf"
    assert run(["book", "--planting", str(where), "--on", str(APRIL), "--into", str(into)]) == 0
    text = "\n".join(page.extract_text() for page in PdfReader(into).pages)
    assert "never counted" in text
    assert "no stool was ever counted" in text


def test_cautions_are_printed_once_a_subject(book):
    text = "\n".join(page.extract_text() for page in PdfReader(book).pages)
    assert text.count("Eye protection and gloves") == 1


def test_the_same_contents_make_the_same_bytes(book, contents, tmp_path):
    again = tmp_path / "again.pdf"
    set_book(contents, again)
    assert again.read_bytes() == book.read_bytes()


def test_only_the_book_s_own_type_is_used(book):
    fonts = set()
    for page in PdfReader(book).pages:
        for font in page["/Resources"].get("/Font", {}).values():
            fonts.add(str(font.get_object()["/BaseFont"]))
    assert fonts
    assert all("LibertinusSerif" in name for name in fonts)


def test_a_book_that_would_look_wrong_is_not_written(contents, tmp_path):
    wrong = {**contents, "map": "no picture at all"}
    with pytest.raises(BookNotSet, match="could not be set"):
        set_book(wrong, tmp_path / "wrong.pdf")
    assert not (tmp_path / "wrong.pdf").exists()
