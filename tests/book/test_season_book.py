from datetime import date

import pytest
from pypdf import PdfReader

from nuttery.book.contents import book_contents
from nuttery.book.setting import BookNotSet, set_book
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
