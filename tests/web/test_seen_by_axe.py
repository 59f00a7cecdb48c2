"""Every page of the frame and of the row, looked at by axe, at both sizes, by day and at dusk."""

import shutil

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

pytestmark = pytest.mark.browser
SIZES = {
    "phone": {"viewport": {"width": 390, "height": 844}, "color_scheme": "light"},
    "phone at dusk": {"viewport": {"width": 390, "height": 844}, "color_scheme": "dark"},
    "desk": {"viewport": {"width": 1280, "height": 900}, "color_scheme": "light"},
}
TABLE = ["/", "/shrubs", "/notes", "/devices", "/trust", "/api", "/nope"]
ROW = ["", "#1-02", "#1-02/picking", "#1-02/canes_counted", "#1-02/stage_seen", "#!plan", "#!kept"]


@pytest.fixture(scope="module")
def server(small_bank, free_port, tmp_path_factory, serving):
    bank = shutil.copy(small_bank, tmp_path_factory.mktemp("axe") / "bank.db")
    found = serving(bank, free_port())
    yield found
    found.kill()


@pytest.fixture(params=SIZES)
def context(browser, server, request):
    found = browser.new_context(
        **SIZES[request.param], base_url=server.address, reduced_motion="reduce"
    )
    yield found
    found.close()


def told(page):
    """Violations that axe finds, in words, and whatever is wider than the page."""
    found = Axe().run(page).response["violations"]
    words = [f"{v['id']}: {node['html'][:120]}" for v in found for node in v["nodes"]]
    if page.evaluate("document.scrollingElement.scrollWidth > innerWidth"):
        words.append("the page is wider than the screen")
    return words


def test_no_page_of_the_table_has_a_violation(context):
    page = context.new_page()
    for path in TABLE:
        page.goto(path)
        assert told(page) == [], path


def test_no_page_of_the_row_has_a_violation(context):
    page = context.new_page()
    page.goto("/row")
    expect(page.get_by_role("heading", name="Which shrub?")).to_be_visible(timeout=30_000)
    for part in ROW:
        page.goto(f"/row{part}")
        page.wait_for_timeout(150)
        assert told(page) == [], part


def test_targets_in_the_row_are_large_enough_for_gloves(browser, server):
    """48 px is the size that common practice gives for a thumb."""
    context = browser.new_context(**SIZES["phone"], base_url=server.address)
    page = context.new_page()
    page.goto("/row")
    expect(page.get_by_role("heading", name="Which shrub?")).to_be_visible(timeout=30_000)
    for part in ROW:
        page.goto(f"/row{part}")
        page.wait_for_timeout(150)
        for target in page.locator("#row button:visible, #row a:visible, #standing").all():
            box = target.bounding_box()
            assert box["height"] >= 47.5, (part, target.text_content())
            assert box["width"] >= 47.5, (part, target.text_content())
    context.close()


def test_nothing_is_cut_off_at_twice_the_size(browser, server):
    """A desk of 1280 px at 200 % is 640 px wide; a small phone is 320."""
    for width in (640, 320):
        context = browser.new_context(
            viewport={"width": width, "height": 700}, base_url=server.address
        )
        page = context.new_page()
        for path in (*TABLE, "/row"):
            page.goto(path)
            page.wait_for_timeout(100)
            wide = page.evaluate("document.scrollingElement.scrollWidth > innerWidth")
            assert not wide, (width, path)
        context.close()
