"""Tags to print: each code opens its own shrub, and a sheet holds as many as it says."""

import io
import re
from itertools import pairwise

import pytest
import segno
from pypdf import PdfReader


def codes(text):
    """What each code says that it holds, and its drawing."""
    found = re.findall(r"<li>(<svg.*?</svg>)\s*<p><b>([^<]+)</b>", text, re.DOTALL)
    return {tag: (re.search(r"<title>(.*?)</title>", svg)[1], svg) for svg, tag in found}


def modules(svg):
    """The dark modules of a drawn code, read back from its path: (row, column)."""
    path = re.search(r' d="([^"]+)"', svg)[1]
    x = y = 0.0
    dark = set()
    for act, told in re.findall(r"([Mmh])([-\d. ]+)", path):
        numbers = [float(n) for n in re.findall(r"-?\d*\.?\d+", told)]
        if act == "M":
            x, y = numbers
        elif act == "m":
            x, y = x + numbers[0], y + numbers[1]
        else:
            dark |= {(int(y), int(x) + k) for k in range(int(numbers[0]))}
            x += numbers[0]
    return dark


def test_a_code_holds_the_address_of_its_shrub_or_its_tag_alone(client):
    address = "https://barn.local:8790"
    found = codes(client.get("/tags", params={"address": f"{address}/"}).text)
    assert len(found) == len(client.get("/api/shrubs").json())
    for tag, (held, svg) in found.items():
        assert held == f"{address}/tag/{tag}"
        code = segno.make(held, error="m", micro=False)
        dark = {
            (row, column)
            for row, line in enumerate(code.matrix_iter(border=4))
            for column, is_dark in enumerate(line)
            if is_dark
        }
        assert modules(svg) == dark
        assert client.get(held.removeprefix(address)).status_code == 200
    assert {tag: held for tag, (held, _) in codes(client.get("/tags").text).items()} == {
        tag: tag for tag in found
    }


def test_when_shared_a_code_holds_the_servers_own_address(shared):
    owner = shared.let_in("Ida", "owner")
    held = {held for held, _ in codes(owner.get("/tags").text).values()}
    assert "https://192.168.1.5:8790/tag/1-01" in held


def test_only_the_shrubs_that_are_asked_for_have_tags(client):
    assert list(codes(client.get("/tags?only=1-03, 1-01").text)) == ["1-01", "1-03"]
    answer = client.get("/tags?only=1-01,zz")
    assert answer.status_code == 404
    assert "found &#39;zz&#39;, expected the tag of a standing shrub" in answer.text


@pytest.mark.parametrize("address", ["barn.local", "javascript:alert(1)", "https://"])
def test_what_is_no_address_is_refused(client, address):
    answer = client.get("/tags", params={"address": address})
    assert answer.status_code == 404
    assert "expected one such as https://" in answer.text


def test_more_tags_than_a_page_holds_follow_part_by_part(client, monkeypatch):
    monkeypatch.setattr("nuttery.web.pages.tags.AT_ONCE", 5)
    parts = [list(codes(client.get(f"/tags?part={k}").text)) for k in (1, 2)]
    tags = [shrub["tag"] for shrub in client.get("/api/shrubs").json()]
    assert [tag for part in parts for tag in part] == tags


@pytest.mark.browser
@pytest.mark.parametrize(("size", "paper"), [("small", "A4"), ("large", "A4"), ("large", "Letter")])
def test_a_printed_sheet_holds_whole_tags_and_nothing_else(browser, standing, size, paper):
    page = browser.new_page(base_url=standing.address)
    page.goto(f"/tags?size={size}")
    sheets = PdfReader(io.BytesIO(page.pdf(format=paper, prefer_css_page_size=False))).pages
    told = [sheet.extract_text() for sheet in sheets]
    held = [re.findall(r"\b1-\d\d\b", text) for text in told]
    assert [len(tags) for tags in held] == [10]
    assert all(a != b for tags in held for a, b in pairwise(tags))
    assert "Tags to print" not in "".join(told)
    page.close()
