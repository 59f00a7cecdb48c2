"""Every page of the frame and of the row, looked at by axe, at both sizes, by day and at dusk."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

pytestmark = pytest.mark.browser
SIZES = {
    "phone": {"viewport": {"width": 390, "height": 844}, "color_scheme": "light"},
    "phone at dusk": {"viewport": {"width": 390, "height": 844}, "color_scheme": "dark"},
    "desk": {"viewport": {"width": 1280, "height": 900}, "color_scheme": "light"},
}
TABLE = ["/", "/shrubs", "/tags", "/notes", "/devices", "/trust", "/api", "/nope"]
ROW = ["", "#1-02", "#1-02/picking", "#1-02/canes_counted", "#1-02/stage_seen", "#!plan", "#!kept"]
SMALL = """() => {
  const asked = 'a, button, input, select, textarea, summary';
  const here = [...document.querySelectorAll(asked)].filter((one) => one.checkVisibility());
  return here.filter((one) => !one.matches('.skip, [type=file]')).flatMap((one) => {
    const { width, height } = (one.closest('label') ?? one).getBoundingClientRect();
    return height < 47.5 || width < 47.5 ? [one.outerHTML.slice(0, 100)] : [];
  });
}"""


@pytest.fixture
def server(standing):
    return standing


@pytest.fixture(params=SIZES)
def context(browser, server, request):
    found = browser.new_context(
        **SIZES[request.param], base_url=server.address, reduced_motion="reduce"
    )
    yield found
    found.close()


SUNLIGHT = {"rules": {"color-contrast-enhanced": {"enabled": True}}}
"""Text of at least 7 : 1, large type 4.5 : 1: WCAG 2.2 (2023), success criterion 1.4.6."""
MOVES = """() => document.getAnimations().length > 0 || [...document.querySelectorAll('*')].some(
  (one) => parseFloat(getComputedStyle(one).transitionDuration) > 0)"""


def told(page, options=None):
    """Violations that axe finds, in words; what is wider than the page; what moves all the same."""
    found = Axe().run(page, options=options).response["violations"]
    words = [f"{v['id']}: {node['html'][:120]}" for v in found for node in v["nodes"]]
    if page.evaluate("document.scrollingElement.scrollWidth > innerWidth"):
        words.append("the page is wider than the screen")
    if page.evaluate(MOVES):
        words.append("something moves, though less movement was asked for")
    return words


def test_no_page_of_the_table_has_a_violation(context):
    page = context.new_page()
    for path in TABLE:
        page.goto(path)
        assert told(page) == [], path


def test_no_page_of_the_row_has_a_violation_and_all_can_be_read_in_the_sun(context):
    page = context.new_page()
    page.goto("/row")
    expect(page.get_by_role("heading", name="Which shrub?")).to_be_visible(timeout=30_000)
    for part in ROW:
        page.goto(f"/row{part}")
        page.wait_for_timeout(150)
        assert told(page, SUNLIGHT) == [], part


def test_targets_in_the_row_are_large_enough_for_gloves(browser, server):
    """48 px is the size that common practice gives for a thumb."""
    context = browser.new_context(**SIZES["phone"], base_url=server.address)
    page = context.new_page()
    page.goto("/row")
    expect(page.get_by_role("heading", name="Which shrub?")).to_be_visible(timeout=30_000)
    for part in ROW:
        page.goto(f"/row{part}")
        page.wait_for_timeout(150)
        small = page.evaluate(SMALL)
        assert small == [], part
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
