"""From the page in the row to a value at the table by Tab, arrows and Enter alone, in one go."""

import json
import re
import shutil
import sqlite3

import pytest
from playwright.sync_api import expect

pytestmark = pytest.mark.browser
FOCUS = """() => {
  const at = document.activeElement, look = getComputedStyle(at), box = at.getBoundingClientRect();
  const x = Math.min(Math.max(box.x + box.width / 2, 0), innerWidth - 1);
  const y = Math.min(Math.max(box.y + box.height / 2, 0), innerHeight - 1);
  const over = document.elementFromPoint(x, y);
  return {
    away: at === document.body,
    told: `${at.getAttribute('aria-label') ?? ''}|${at.innerText ?? ''}`,
    outline: look.outlineStyle === 'none' ? 0 : parseFloat(look.outlineWidth),
    seen: box.bottom > 0 && box.top < innerHeight && box.right > 0 && box.left < innerWidth,
    covered: !over || !(at.contains(over) || over.contains(at)),
  };
}"""


@pytest.fixture
def server(small_bank, free_port, tmp_path, serving):
    found = serving(shutil.copy(small_bank, tmp_path / "bank.db"), free_port())
    yield found
    found.kill()


class Keys:
    """Someone without a mouse; every stop of the Tab key must be seen and not be covered."""

    def __init__(self, page):
        self.page = page
        self.stops = 0

    def to(self, words, key="Tab"):
        """Press Tab until what has the focus says those words."""
        for _ in range(120):
            self.page.keyboard.press(key)
            found = self.page.evaluate(FOCUS)
            if found["away"]:  # past the last stop of the page, in the browser's own bar
                continue
            self.stops += 1
            assert found["outline"] >= 2, f"the focus cannot be seen on {found['told']!r}"
            assert found["seen"], f"the focus is off the screen on {found['told']!r}"
            assert not found["covered"], f"something covers {found['told']!r}"
            if re.search(words, found["told"]):
                return
        raise AssertionError(f"{words} was not reached with the {key} key")

    def enter(self, words, key="Tab"):
        self.to(words, key)
        self.page.keyboard.press("Enter")

    def type(self, text):
        self.page.keyboard.type(text)


def bodies(bank, words):
    with sqlite3.connect(bank) as base:
        rows = base.execute("SELECT body FROM note WHERE body LIKE ?", (f"%{words}%",))
        return [json.loads(body) for (body,) in rows.fetchall()]


def arrived(page, bank, words, patience_s=30):
    """The notes of those words, once there are any; the page goes on sending meanwhile."""
    for _ in range(10 * patience_s):
        if found := bodies(bank, words):
            return found
        page.wait_for_timeout(100)
    return []


@pytest.mark.parametrize("width", [390, 1280])
def test_a_note_and_a_value_are_made_and_undone_by_keys_alone(browser, server, width):
    context = browser.new_context(base_url=server.address, viewport={"width": width, "height": 844})
    page = context.new_page()
    page.goto("/row")
    expect(page.get_by_role("heading", name="Which shrub?")).to_be_visible(timeout=30_000)
    keys = Keys(page)
    for sign in "104":
        keys.enter(rf"^\|{sign}$")
    keys.enter(r"^\|1-04$", "Shift+Tab")
    expect(page.get_by_role("heading", name="Shrub 1-04")).to_be_focused()
    keys.to("kind of note")
    if not page.evaluate("document.activeElement.parentElement.open"):
        page.keyboard.press("Enter")
    keys.enter(r"^\|Remark$")
    expect(page.get_by_role("heading", name="1-04: remark")).to_be_focused()
    keys.to(r"^remark\|")
    keys.type("by keys alone")
    keys.enter(r"^\|Keep$")
    expect(page.get_by_role("heading", name="Shrub 1-04")).to_be_focused()
    expect(page.locator("#standing")).to_contain_text("all in the register", timeout=30_000)
    expect(page.get_by_role("heading", name="Shrub 1-04")).to_be_focused()
    keys.enter(r"^\|Undo$", "Shift+Tab")
    expect(page.locator("#word")).to_contain_text("Taken back")
    (kept,) = bodies(server.bank, "by keys alone")
    assert len(arrived(page, server.bank, f'"stands_in_for":"{kept["id"]}"')) == 1

    keys.enter("Sorrel Bank", "Shift+Tab")
    expect(page.get_by_role("heading", name="What to do now")).to_be_visible(timeout=60_000)
    keys.enter(r"^\|Values$")
    expect(page.get_by_role("heading", name="What the answers rest on")).to_be_visible()
    keys.to(r"^\|$")  # the field: its name is in its label
    keys.type("canes.target")
    page.keyboard.press("Enter")
    expect(page.get_by_role("status")).to_contain_text("found")
    keys.enter(r"^\|target$")
    expect(page.get_by_role("heading", name="Your own value")).to_be_visible()
    keys.to(r"^\|$")
    keys.type("7")
    page.keyboard.press("Enter")
    expect(page.get_by_text("grower's own").first).to_be_visible()
    keys.enter("Undo")
    expect(page.get_by_text("Undo")).to_have_count(0)
    expect(page.get_by_text("6 canes a stool").first).to_be_visible()
    assert keys.stops > 30
    context.close()
