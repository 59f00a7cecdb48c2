"""A phone let in over HTTPS or plain HTTP, in Chromium: from the code in the terminal to a note."""

import contextlib
import re
import shutil
import socket
import sqlite3
import subprocess
import sys
import time
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace

import httpx
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from nuttery.web.devices_command import devices

pytestmark = pytest.mark.browser
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}


@pytest.fixture(scope="module")
def strange(browser_type, browser_type_launch_args):
    """A browser that passes our certificate by, and knows barn.local; both as a phone would."""
    told = dict(browser_type_launch_args)
    told["args"] = [
        *told["args"],
        "--ignore-certificate-errors",
        "--host-resolver-rules=MAP barn.local 127.0.0.1",
    ]
    found = browser_type.launch(**told)
    yield found
    found.close()


@pytest.fixture
def share(small_bank, tmp_path, free_port, program):
    """Start `nuttery serve --share`; returns the address, the owner's way in, and the register."""
    running = []

    def start(*more):
        bank = shutil.copy(small_bank, tmp_path / "bank.db")
        port = free_port()
        command = [sys.executable, str(program), "serve", "--planting", str(bank), "--share"]
        command += ["--port", str(port), "--owner", "Ida", *more]
        one = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
        running.append(one)
        lines = []
        for line in one.stdout:
            lines.append(line)
            if "Stop with Ctrl-C" in line:
                break
        link = re.search(r"https?://\S+/pair/\S+", "".join(lines))
        assert link, "".join(lines)
        said = "".join(lines)
        listening(port)
        return SimpleNamespace(bank=bank, port=port, link=link[0], said=said)

    yield start
    for one in running:
        one.kill()
        one.wait()
        one.stdout.close()


def listening(port):
    """Wait until the server, which has told its way in, takes connections."""
    for _ in range(200):
        with contextlib.suppress(OSError):
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
            return
        time.sleep(0.05)
    raise AssertionError("the server told its way in but does not listen")


def seen_by_axe(page):
    found = Axe().run(page).response["violations"]
    return [f"{v['id']}: {node['html'][:120]}" for v in found for node in v["nodes"]]


def let_in(page, link, name="Ida’s phone"):
    page.goto(link)
    assert seen_by_axe(page) == []
    page.get_by_label("What shall this device be called?").fill(name)
    page.get_by_role("button", name="Let this device in").click()
    expect(page.get_by_role("heading", name="Which shrub?")).to_be_visible(timeout=30_000)


def write(page, tag, words):
    page.goto(f"{page.url.split('#')[0]}#{tag}/remark")
    page.get_by_label("remark", exact=True).fill(words)
    page.get_by_role("button", name="Keep", exact=True).click()
    expect(page.get_by_role("heading", name=f"Shrub {tag}")).to_be_visible()


def says(page, words):
    expect(page.locator("#standing")).to_contain_text(words, timeout=30_000)


def bodies(bank, words):
    with sqlite3.connect(bank) as base:
        query = "SELECT body FROM note WHERE body LIKE ?"
        return [body for (body,) in base.execute(query, (f"%{words}%",))]


def test_over_https_a_phone_is_let_in_works_without_a_signal_and_is_shut_out(strange, share):
    server = share("--address", "127.0.0.1", "--on", "2026-04-12")
    phone = strange.new_context(**PHONE)
    page = phone.new_page()
    let_in(page, server.link)
    page.evaluate("navigator.serviceWorker.ready.then(() => 1)")
    phone.set_offline(True)
    page.reload()
    write(page, "1-02", "over HTTPS, without a signal")
    says(page, "1 kept on this phone")
    phone.set_offline(False)
    says(page, "all in the register")
    (kept,) = bodies(server.bank, "over HTTPS, without a signal")
    assert '"by":"Ida"' in kept
    assert '"device":"Ida’s phone"' in kept
    assert devices(planting=str(server.bank), revoke=1) == 0
    write(page, "1-03", "written after the key was taken away")
    expect(page.get_by_text("This phone is not let in any more")).to_be_visible(timeout=30_000)
    says(page, "1 kept on this phone")
    assert bodies(server.bank, "written after") == []
    phone.close()


def test_the_owner_invites_and_shuts_out_on_a_phone(strange, share):
    server = share("--address", "127.0.0.1")
    owner = strange.new_context(**PHONE)
    page = owner.new_page()
    let_in(page, server.link)
    page.goto(f"https://127.0.0.1:{server.port}/devices")
    assert seen_by_axe(page) == []
    page.get_by_label("Whose device is it?").fill("Hans")
    page.get_by_role("button", name="Make an invitation").click()
    expect(page.get_by_role("heading", name="For Hans")).to_be_visible()
    assert seen_by_axe(page) == []
    link = page.locator("code", has_text="/pair/").text_content()
    helper = strange.new_context(**PHONE)
    its = helper.new_page()
    let_in(its, link, "Hans’s phone")
    page.get_by_role("link", name="Back to the devices").click()
    page.get_by_role("button", name="Take away the key of Hans’s phone").click()
    expect(page.get_by_text("taken away").first).to_be_visible()
    its.goto(f"https://127.0.0.1:{server.port}/shrubs")
    expect(its.get_by_role("heading", name="Not let in")).to_be_visible()
    for one in (owner, helper):
        one.close()


def test_the_small_page_hands_out_the_authority_and_tells_nothing_else(share):
    server = share("--address", "127.0.0.1")
    small = f"http://127.0.0.1:{server.port + 1}"
    page = httpx.get(f"{small}/")
    assert "Fetch the certificate" in page.text
    fingerprint = re.search(r"fingerprint ([0-9A-F:]+)", server.said)[1]
    assert fingerprint in page.text
    assert "Sorrel" not in page.text
    assert "BEGIN CERTIFICATE" in httpx.get(f"{small}/nuttery-authority.crt").text
    for path in ("/shrubs", "/api/season", "/authority.key", "/../authority.key", "/devices.db"):
        assert httpx.get(f"{small}{path}").status_code == 404


def test_over_plain_http_the_page_keeps_notes_and_says_what_it_cannot_do(strange, share):
    server = share("--plain", "--address", "barn.local", "--on", "2026-04-12")
    phone = strange.new_context(**PHONE)
    page = phone.new_page()
    let_in(page, server.link)
    expect(page.get_by_text("This page came over plain HTTP")).to_be_visible()
    assert page.evaluate("isSecureContext") is False
    phone.set_offline(True)
    write(page, "1-02", "over plain HTTP")
    says(page, "1 kept on this phone")
    phone.set_offline(False)
    says(page, "all in the register")
    assert len(bodies(server.bank, "over plain HTTP")) == 1
    phone.close()


def test_a_phone_whose_clock_is_years_off_says_so_and_takes_the_servers_day(strange, share):
    server = share("--plain", "--address", "barn.local")
    phone = strange.new_context(**PHONE)
    page = phone.new_page()
    page.clock.install(time=datetime.now(UTC) + timedelta(days=5 * 365))
    let_in(page, server.link)
    expect(page.get_by_text("This phone’s clock is off")).to_be_visible(timeout=30_000)
    write(page, "1-02", "from a clock years ahead")
    says(page, "all in the register")
    (kept,) = bodies(server.bank, "from a clock years ahead")
    seen = re.search(r'"seen":"(\d{4})', kept)[1]
    assert int(seen) <= datetime.now(UTC).year + 1
    phone.close()


def test_a_clock_that_is_set_back_is_told_and_notes_keep_their_order(strange, share):
    server = share("--plain", "--address", "barn.local")
    phone = strange.new_context(**PHONE)
    page = phone.new_page()
    page.clock.install(time=datetime.now(UTC))
    let_in(page, server.link)
    phone.set_offline(True)
    write(page, "1-02", "before the clock was set back")
    page.clock.set_system_time(datetime.now(UTC) - timedelta(days=30))
    write(page, "1-03", "after the clock was set back")
    expect(page.get_by_text("This phone’s clock was set back")).to_be_visible(timeout=30_000)
    phone.set_offline(False)
    says(page, "all in the register")
    with sqlite3.connect(server.bank) as base:
        query = "SELECT body FROM note WHERE body LIKE '%the clock was set back%' ORDER BY n"
        told = [body for (body,) in base.execute(query)]
    assert ["before" in body for body in told] == [True, False]
    phone.close()
