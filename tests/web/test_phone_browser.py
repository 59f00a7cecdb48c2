"""The page in the row in Chromium, at phone size: no signal, crashes, two tabs, lost replies."""

import json
import os
import re
import shutil
import signal
import sqlite3
import time

import pytest
from playwright.sync_api import expect

pytestmark = pytest.mark.browser
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}


@pytest.fixture(scope="module")
def server(small_bank, free_port, tmp_path_factory, serving):
    """One server for all tests here; each test knows its own notes by their words."""
    bank = shutil.copy(small_bank, tmp_path_factory.mktemp("phones") / "bank.db")
    found = serving(bank, free_port())
    yield found
    found.kill()


@pytest.fixture
def phone(browser, server):
    """A phone: one browser context, its own storage, pointed at the server."""
    context = browser.new_context(**PHONE, base_url=server.address)
    context.set_default_timeout(20_000)
    yield context
    context.close()


def opened(phone):
    """The page in the row, open, its worker ready to open it without a signal."""
    page = phone.new_page()
    page.goto("/row")
    expect(page.get_by_role("heading", name="Which shrub?")).to_be_visible(timeout=20_000)
    page.evaluate("navigator.serviceWorker.ready.then(() => 1)")
    return page


def write(page, tag, words):
    """Write a remark about a shrub, as a person does."""
    page.goto(f"/row#{tag}/remark")
    page.get_by_label("remark", exact=True).fill(words)
    page.get_by_role("button", name="Keep", exact=True).click()
    expect(page.get_by_role("heading", name=f"Shrub {tag}")).to_be_visible()


def says(page, words):
    expect(page.locator("#standing")).to_contain_text(words, timeout=30_000)


def register(server, words):
    """Notes of the register that hold some words, read past the program."""
    with sqlite3.connect(server.bank) as base:
        rows = base.execute("SELECT body FROM note WHERE body LIKE ?", (f"%{words}%",))
        notes = [json.loads(body) for (body,) in rows.fetchall()]
    return [one for one in notes if one["device"] == "this computer"]


def test_notes_written_without_a_signal_survive_a_reload_and_reach_the_register(phone, server):
    page = opened(phone)
    phone.set_offline(True)
    page.reload()
    write(page, "1-02", "first without signal")
    says(page, "1 kept on this phone")
    write(page, "1-03", "second without signal")
    page.reload()
    says(page, "2 kept on this phone")
    assert register(server, "without signal") == []
    phone.set_offline(False)
    says(page, "all in the register")
    kept = register(server, "without signal")
    assert [(n["shrub"], n["by"], n["device"]) for n in kept] == [
        ("1-02", "Ida", "this computer"),
        ("1-03", "Ida", "this computer"),
    ]


def test_a_closed_tab_and_a_cold_start_without_a_signal_lose_nothing(phone, server):
    page = opened(phone)
    phone.set_offline(True)
    write(page, "1-02", "before the crash")
    page.close()
    again = phone.new_page()
    again.goto("/row")
    says(again, "1 kept on this phone")
    expect(again.get_by_role("heading", name="Which shrub?")).to_be_visible()
    phone.set_offline(False)
    says(again, "all in the register")
    assert len(register(server, "before the crash")) == 1


def test_a_server_killed_and_started_again_gets_every_note_once(phone, server):
    page = opened(phone)
    write(page, "1-02", "the server runs")
    says(page, "all in the register")
    server.kill()
    write(page, "1-03", "the server is dead")
    write(page, "1-04", "the server is still dead")
    says(page, "2 kept on this phone")
    server.start()
    says(page, "all in the register")
    assert len(register(server, "the server ")) == 3


def test_a_reply_lost_on_the_way_leaves_one_note(phone, server):
    page = opened(phone)
    lost = []

    def lose(route):
        if len(lost) < 2:
            lost.append(route.fetch())
            route.abort()
        else:
            route.continue_()

    page.route("**/api/notes", lose)
    write(page, "1-02", "the reply was lost")
    says(page, "kept on this phone")
    page.goto("/row#!kept")
    page.get_by_role("button", name="Send now").click()
    page.get_by_role("button", name="Send now").click()
    says(page, "all in the register")
    assert lost[0].status == 200
    assert len(register(server, "the reply was lost")) == 1


def test_a_double_tap_keeps_one_note(phone, server):
    page = opened(phone)
    page.goto("/row#1-02/remark")
    page.get_by_label("remark", exact=True).fill("tapped twice")
    page.get_by_role("button", name="Keep", exact=True).dblclick()
    says(page, "all in the register")
    assert len(register(server, "tapped twice")) == 1


def test_two_tabs_share_what_is_kept_and_send_it_once(phone, server):
    one = opened(phone)
    two = opened(phone)
    phone.set_offline(True)
    write(one, "1-02", "from tab one")
    write(two, "1-03", "from tab two")
    says(one, "2 kept on this phone")
    says(two, "2 kept on this phone")
    phone.set_offline(False)
    says(one, "all in the register")
    says(two, "all in the register")
    assert len(register(server, "from tab ")) == 2


def test_a_form_half_filled_is_there_again_after_a_reload(phone, server):
    page = opened(phone)
    page.goto("/row#1-02/picking")
    mass = page.get_by_label("mass kg", exact=True)
    mass.fill("0.85")
    page.get_by_role("button", name="in shell").click()
    page.wait_for_timeout(200)
    page.reload()
    expect(mass).to_have_value("0.85")
    page.get_by_role("button", name="fresh").click()
    page.get_by_role("button", name="Keep", exact=True).click()
    says(page, "all in the register")
    (kept,) = register(server, '"mass_kg":0.85')
    assert (kept["form"], kept["state"], kept["seen"]) == ("in shell", "fresh", "2026-04-12")


def test_a_conflict_is_shown_and_settled_by_the_person_alone(phone, server):
    page = opened(phone)
    changed = []

    def change(route):
        """The register gets other words under the same id, and the reply is lost."""
        if not changed:
            told = route.request.post_data_json
            told["notes"][0]["remark"] = "someone else’s words"
            changed.append(route.fetch(post_data=json.dumps(told)))
        route.abort()

    page.route("**/api/notes", change)
    write(page, "1-02", "my own words")
    page.wait_for_timeout(500)
    page.unroute("**/api/notes")
    page.goto("/row#!kept")
    page.get_by_role("button", name="Send now").click()
    says(page, "1 needs you")
    expect(
        page.get_by_text("The register holds under the same id: remark. someone else’s words")
    ).to_be_visible()
    assert register(server, "my own words") == []
    page.get_by_role("button", name="Send mine as a note of its own").click()
    says(page, "all in the register")
    assert len(register(server, "my own words")) == 1
    assert len(register(server, "someone else’s words")) == 1


def test_what_the_register_refuses_is_shown_with_its_faults_and_can_be_mended(phone, server):
    page = opened(phone)
    page.goto("/row#1-02/canes_counted")
    page.get_by_label("canes standing", exact=True).fill("9")
    page.locator("[data-entry=by_age] summary").click()
    page.get_by_label("canes of age 3", exact=True).fill("4")
    page.get_by_role("button", name="Keep", exact=True).click()
    says(page, "1 needs you")
    page.locator("#standing").click()
    expect(page.get_by_text("canes standing: found 9, expected the sum, 4.")).to_be_visible()
    page.get_by_role("link", name="Mend").click()
    page.get_by_label("canes standing", exact=True).fill("4")
    page.get_by_role("button", name="Keep", exact=True).click()
    says(page, "all in the register")
    (kept,) = register(server, '"standing":4')
    assert kept["by_age"] == {"3": 4}


def test_a_slip_is_asked_about_before_it_is_kept(phone, server):
    page = opened(phone)
    page.goto("/row#1-02/picking")
    page.get_by_label("mass kg", exact=True).fill("20")
    page.get_by_role("button", name="in shell").click()
    page.get_by_role("button", name="fresh").click()
    page.get_by_role("button", name="Keep", exact=True).click()
    expect(page.get_by_role("alert")).to_contain_text("mass is usually 0.005 to 12 kg")
    page.get_by_role("button", name="I mean it: keep it so").click()
    says(page, "all in the register")
    assert register(server, '"mass_kg":20.0')[0]["means_it"]


def test_undo_and_the_same_again_are_notes_of_their_own(phone, server):
    page = opened(phone)
    write(page, "1-02", "to be said twice")
    page.goto("/row#1-03")
    page.get_by_role("button", name="The same again").click()
    page.get_by_role("button", name="Undo").click()
    expect(page.locator("#word")).to_contain_text("Taken back")
    page.goto("/row#!kept")
    expect(page.get_by_role("heading", name="In the register (3)")).to_be_visible(timeout=30_000)
    kept = register(server, "to be said twice")
    assert [n["shrub"] for n in kept] == ["1-02", "1-03"]
    (back,) = register(server, f'"stands_in_for":"{kept[1]["id"]}"')
    assert back["kind"] == "withdrawn"


def test_a_photo_waits_with_its_note_and_comes_first(phone, server, tmp_path):
    from PIL import Image

    file = tmp_path / "shrub.jpg"
    Image.new("RGB", (3000, 2000), "green").save(file)
    page = opened(phone)
    phone.set_offline(True)
    page.goto("/row#1-02/remark")
    page.get_by_label("remark", exact=True).fill("with a photo")
    page.get_by_text("Day and photo").click()
    page.get_by_label("Photo").set_input_files(file)
    page.get_by_role("button", name="Keep", exact=True).click()
    says(page, "1 kept on this phone")
    phone.set_offline(False)
    says(page, "all in the register")
    (kept,) = register(server, "with a photo")
    photo = server.bank.with_name("bank-served") / "photos" / kept["photo"]
    with Image.open(photo) as image:
        assert image.size == (1600, 1067)


def test_unsent_notes_can_be_saved_to_a_file_that_import_reads(phone, server, tmp_path):
    from nuttery.cli.app import run

    page = opened(phone)
    phone.set_offline(True)
    write(page, "1-02", "saved to a file")
    page.goto("/row#!kept")
    with page.expect_download() as download:
        page.get_by_role("button", name=re.compile("Save 1 unsent")).click()
    file = tmp_path / "unsent.jsonl"
    download.value.save_as(file)
    assert run(["import", str(file), "--planting", str(server.bank), "--yes"]) == 0
    assert len(register(server, "saved to a file")) == 1
    phone.set_offline(False)
    page.get_by_role("button", name="Send now").click()
    says(page, "all in the register")
    assert len(register(server, "saved to a file")) == 1


def test_the_keypad_finds_a_shrub_with_its_dashes_left_out(phone):
    page = opened(phone)
    for sign in "106":
        page.get_by_role("button", name=sign, exact=True).click()
    page.get_by_role("button", name="1-06", exact=True).click()
    expect(page.get_by_role("heading", name="Shrub 1-06")).to_be_visible()


def test_a_qr_tag_opens_its_shrub_even_without_a_signal(phone):
    page = opened(phone)
    phone.set_offline(True)
    page.goto("/tag/1-06")
    expect(page.get_by_role("heading", name="Shrub 1-06")).to_be_visible()


def test_the_nearest_shrub_is_found_by_gps(browser, server):
    """Half a metre north of the origin; metres per degree by the ellipsoid at 46.1° N."""
    context = browser.new_context(
        **PHONE,
        base_url=server.address,
        permissions=["geolocation"],
        geolocation={"latitude": 46.1 + 0.5 / 111_142, "longitude": -91.2, "accuracy": 3},
    )
    page = opened(context)
    page.get_by_role("button", name="Nearest").click()
    expect(page.locator(".tags a").first).to_contain_text(re.compile(r"^1-01, [01] m"))
    context.close()


def test_a_tap_on_the_plan_opens_the_shrub_nearest_to_it(phone):
    page = opened(phone)
    page.goto("/row#!plan")
    page.locator("svg.plan circle").nth(4).click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Shrub 1-05")


def test_script_in_a_note_is_shown_as_text_on_the_phone(phone):
    evil = '<img src=x onerror="document.title=1"><script>document.title=1</script>'
    page = opened(phone)
    write(page, "1-02", evil)
    says(page, "all in the register")
    page.goto("/row#!kept")
    expect(page.get_by_text(evil, exact=False).first).to_be_visible()
    page.goto("/row")
    page.reload()
    page.goto("/row#1-02")
    expect(page.get_by_role("heading", name="Shrub 1-02")).to_be_visible()
    assert page.title() != "1"


def test_a_battery_that_runs_flat_loses_nothing(
    browser_type, browser_type_launch_args, server, tmp_path
):
    """The whole browser is killed at once, as when the power goes, and started again."""
    told = browser_type_launch_args | {
        "user_data_dir": tmp_path / "phone",
        "base_url": server.address,
    }
    phone = browser_type.launch_persistent_context(**told, **PHONE)
    page = opened(phone)
    phone.set_offline(True)
    write(page, "1-02", "before the battery ran flat")
    says(page, "1 kept on this phone")
    kill_browser_of(tmp_path / "phone")
    again = browser_type.launch_persistent_context(**told, **PHONE)
    page = again.new_page()
    page.goto("/row")
    says(page, "all in the register")
    assert len(register(server, "before the battery ran flat")) == 1
    again.close()


def kill_browser_of(folder):
    """Kill the browser that keeps its things in a folder; its lock names its process."""
    lock = (folder / "SingletonLock").readlink().name
    os.kill(int(lock.rpartition("-")[2]), signal.SIGKILL)
    time.sleep(0.5)
    (folder / "SingletonLock").unlink(missing_ok=True)
