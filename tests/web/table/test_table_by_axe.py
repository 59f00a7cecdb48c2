"""Pages at the table in the system's Chromium: axe, keys alone, twice the size, no movement."""

import httpx
import pytest
from axe_playwright_python.sync_playwright import Axe

pytestmark = pytest.mark.browser
PAGES = [
    "/", "/map", "/map?show=canes&find=1-01", "/shrubs/1-01", "/shrubs/1-01/cuts", "/bloom",
    "/pollen", "/canes", "/canes/what-if?target=9", "/picking", "/siblings", "/weather", "/values",
    "/values/canes.target",
]  # fmt: skip
SIZES = {
    "phone": {"viewport": {"width": 390, "height": 844}, "color_scheme": "light"},
    "desk at dusk": {"viewport": {"width": 1280, "height": 900}, "color_scheme": "dark"},
}


@pytest.fixture
def server(warm_standing):
    return warm_standing


@pytest.fixture(scope="module")
def settle(opened):
    """Open a page once what it asks is worked out; until then it would open itself anew."""

    def at(page, address, path):
        with httpx.Client(base_url=address, timeout=30) as asking:
            opened(asking, path)
        page.goto(path)

    return at


def wrong(page):
    """What axe finds, in words, and whether the page is wider than the screen."""
    found = Axe().run(page).response["violations"]
    words = [f"{v['id']}: {node['html'][:160]}" for v in found for node in v["nodes"]]
    if page.evaluate("document.scrollingElement.scrollWidth > innerWidth"):
        words.append("the page is wider than the screen")
    return words


@pytest.mark.parametrize("size", SIZES)
def test_no_page_has_a_violation(browser, server, settle, size):
    context = browser.new_context(**SIZES[size], base_url=server.address, reduced_motion="reduce")
    page = context.new_page()
    errors = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.on("console", lambda m: errors.append(m.text) if m.type == "error" else None)
    found = {}
    for path in PAGES:
        settle(page, server.address, path)
        for details in page.locator(".take > details").all()[:1]:
            details.locator("summary").click()
        if words := wrong(page):
            found[path] = words
    context.close()
    assert found == {}
    assert errors == []


def test_nothing_is_cut_off_at_twice_the_size(browser, server, settle):
    """A desk of 1280 px at 200 % is 640 px wide; a small phone is 320."""
    for width in (640, 320):
        context = browser.new_context(
            viewport={"width": width, "height": 700}, base_url=server.address
        )
        page = context.new_page()
        for path in PAGES:
            settle(page, server.address, path)
            wide = page.evaluate("document.scrollingElement.scrollWidth > innerWidth")
            assert not wide, (width, path)
        context.close()


def test_a_shrub_is_reached_on_the_map_by_keys_alone(browser, server, settle):
    context = browser.new_context(base_url=server.address, viewport=SIZES["phone"]["viewport"])
    page = context.new_page()
    settle(page, server.address, "/map?show=visited")
    for _ in range(60):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.classList.contains('paper')"):
            break
    page.keyboard.press("ArrowRight")
    first = page.locator(".said").text_content()
    page.keyboard.press("ArrowRight")
    second = page.locator(".said").text_content()
    assert first
    assert second
    assert first != second
    page.keyboard.press("Enter")
    page.wait_for_url("**/shrubs/**")
    assert second.partition(":")[0] in page.url
    context.close()


def test_a_tag_typed_marks_its_shrub_and_a_tap_tells_a_mark(browser, server, settle):
    context = browser.new_context(base_url=server.address, viewport={"width": 1280, "height": 900})
    page = context.new_page()
    settle(page, server.address, "/map?show=visited")
    page.locator("#find").fill("1-02")
    assert "1-02" in page.locator("#hit a").text_content()
    assert page.locator("circle.found").count() == 1
    settle(page, server.address, "/picking")
    page.locator("#crop-years .paper g rect").last.hover()
    assert "shrubs" in page.locator("#crop-years .said").text_content()
    context.close()


MIDDLE = """paper => {
  const frame = paper.getBoundingClientRect();
  const here = paper.querySelector("[data-here]").getBoundingClientRect();
  const middle = here.left + here.width / 2 - frame.left + paper.scrollLeft - frame.width / 2;
  return [paper.scrollLeft, Math.min(Math.max(0, middle), paper.scrollWidth - paper.clientWidth)];
}"""


@pytest.mark.parametrize("shrub", ["1-01", "1-04"])
def test_the_plan_of_pollen_begins_at_the_shrub_chosen_where_it_is_wider_than_the_page(
    browser, server, settle, shrub
):
    context = browser.new_context(base_url=server.address, viewport=SIZES["phone"]["viewport"])
    page = context.new_page()
    settle(page, server.address, f"/pollen?to={shrub}")
    paper = page.locator(".paper", has=page.locator("[data-here]"))
    begins, middle = paper.evaluate(MIDDLE)
    assert begins == pytest.approx(middle, abs=2)
    assert page.evaluate("window.scrollY") == 0
    context.close()
