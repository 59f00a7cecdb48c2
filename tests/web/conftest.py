"""What the tests of the browser's face share: a small planting, served in process or alone."""

import shutil
import socket
import subprocess
import sys
import time
import warnings
from datetime import date
from pathlib import Path
from types import SimpleNamespace

import httpx
import pytest

from nuttery.records import new_id

with warnings.catch_warnings():
    # The test client prefers a successor of httpx that is not among our tools.
    warnings.simplefilter("ignore")
    from starlette.testclient import TestClient

ON = date(2026, 4, 12)


LIGHT = Path(__file__).with_name("light_server.py")


WORKED_OUT = (
    "/", "/map", "/map?show=canes", "/map?show=bloom", "/map?show=ripe", "/map?show=crop",
    "/map?show=visited", "/shrubs/1-01", "/shrubs/1-01/cuts", "/bloom", "/pollen", "/canes",
    "/canes/what-if?target=9", "/picking", "/siblings", "/weather", "/weather?on=2025-12-01",
)  # fmt: skip
"""Pages whose answers take long; they are worked out once for all tests that only look."""


def quick_sections():
    """Sections of the season plan that take no forecast, as the program under test has them."""
    import importlib.util

    spec = importlib.util.spec_from_file_location("light_server", LIGHT)
    light = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(light)
    return light.quick_sections


@pytest.fixture(autouse=True)
def quick_plan(monkeypatch):
    """The season plan's quick sections alone: these tests are about what is shown and kept."""
    monkeypatch.setattr("nuttery.season.plan.sections", quick_sections())


@pytest.fixture(scope="session")
def small_bank(tmp_path_factory):
    """A register of twelve invented shrubs; only read."""
    from nuttery.demo.make import make_planting

    file = tmp_path_factory.mktemp("small") / "bank.db"
    make_planting(file, shrubs=12, years=3)
    return file


@pytest.fixture(scope="session")
def warm_bank(small_bank, tmp_path_factory, worker_id):
    """The small planting with every page's answers kept in it, worked out once a run; only read."""
    base = tmp_path_factory.getbasetemp()
    folder = (base if worker_id == "master" else base.parent) / "warm-bank"
    file, done = folder / "bank.db", folder / "done"
    try:
        folder.mkdir()
    except FileExistsError:
        while not done.exists():
            time.sleep(0.2)
        return file
    shutil.copy(small_bank, file)
    try:
        _work_out(file)
    finally:
        done.touch()
    return file


def _work_out(file):
    from nuttery.web.app import build

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("nuttery.season.plan.sections", quick_sections())
        with TestClient(build(file, on=ON), base_url="http://localhost") as found:
            for path in WORKED_OUT:
                opened(found, path)


def opened(client, path):
    """The answer of a page once it is worked out, from a client in process or over the network."""
    for _ in range(600):
        answer = client.get(path)
        if answer.status_code != 202 and "being worked out" not in answer.text:
            return answer
        time.sleep(0.2)
    raise AssertionError(f"{path}: never worked out")


@pytest.fixture(scope="session", name="opened")
def opened_():
    return opened


@pytest.fixture(scope="session")
def standing(small_bank, free_port, tmp_path_factory, serving):
    """The program, serving a copy of the planting to all browser tests that only look."""
    yield from _stands(small_bank, free_port, tmp_path_factory, serving)


@pytest.fixture(scope="session")
def warm_standing(warm_bank, free_port, tmp_path_factory, serving):
    """The same, with every page's answers worked out."""
    yield from _stands(warm_bank, free_port, tmp_path_factory, serving)


def _stands(bank, free_port, tmp_path_factory, serving):
    own = shutil.copy(bank, tmp_path_factory.mktemp("standing") / "bank.db")
    found = serving(own, free_port())
    yield found
    found.kill()


@pytest.fixture
def bank(small_bank, tmp_path):
    """A copy of the small planting that a test may write to."""
    return Path(shutil.copy(small_bank, tmp_path / "bank.db"))


@pytest.fixture
def client(bank):
    """The planting served to this computer alone, in process."""
    from nuttery.web.app import build

    app = build(bank, on=ON, owner="Ida")
    with TestClient(app, base_url="http://localhost") as found:
        found.site = app.state.site
        found.headers["x-nuttery-token"] = found.get("/api/me").json()["token"]
        yield found


WAY_IN = "https://192.168.1.5:8790"


@pytest.fixture
def sharing(request):
    """Share a planting with other devices, in process; `let_in` gives a paired client."""
    from nuttery.web.app import build
    from nuttery.web.site import Shared

    def share(where, **told):
        way = Shared(("192.168.1.5",), WAY_IN, secure=True)
        app = build(where, on=ON, owner="Ida", shared=way, **told)
        site = app.state.site
        request.addfinalizer(site.served.close)

        def client_of(**told):
            return TestClient(app, base_url=WAY_IN, **told)

        def let_in(person, role, name="a phone"):
            client = client_of()
            invitation = site.devices.invite(person, role, site.clock())
            pair(client, invitation.token, name)
            client.headers["x-nuttery-token"] = client.get("/api/me").json()["token"]
            return client

        return SimpleNamespace(app=app, site=site, client=client_of, let_in=let_in)

    return share


@pytest.fixture
def shared(bank, sharing):
    """The small planting, shared with other devices."""
    return sharing(bank)


def pair(client, token, name):
    """Take up an invitation, as the page does."""
    import re

    page = client.get(f"/pair/{token}")
    assert page.status_code == 200, page.text
    mark = re.search(r"/pair\?token=([0-9a-f]+)", page.text)[1]
    answer = client.post(
        f"/pair?token={mark}", data={"invitation": token, "name": name}, follow_redirects=False
    )
    assert answer.status_code == 303, answer.text


def note(kind="remark", shrub="1-01", **told):
    """One note as a phone sends it."""
    body = {"id": str(new_id()), "kind": kind, "shrub": shrub, "seen": "2026-04-12"}
    return body | ({"remark": "a nest in the crown"} if kind == "remark" else {}) | told


@pytest.fixture
def make_note():
    return note


@pytest.fixture(scope="session")
def free_port():
    def found():
        with socket.socket() as asked:
            asked.bind(("127.0.0.1", 0))
            return asked.getsockname()[1]

    return found


class Server:
    """The program itself, serving a planting; it can be killed and started again."""

    def __init__(self, bank, port, *more):
        self.bank, self.port, self.more = bank, port, more
        self.address = f"http://localhost:{port}"
        self._running = None

    def start(self):
        command = [sys.executable, str(LIGHT), "serve", "--planting", str(self.bank)]
        command += ["--port", str(self.port), "--owner", "Ida", *self.more]
        self._running = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
        for _ in range(300):
            if self._running.poll() is not None:
                raise RuntimeError(self._running.stdout.read().decode())
            try:
                httpx.get(f"{self.address}/static/look.css", timeout=1)
            except httpx.TransportError:
                time.sleep(0.1)
            else:
                return self
        raise RuntimeError("the server did not start in 30 s")

    def kill(self):
        if self._running is not None:
            self._running.kill()
            self._running.wait()
            self._running.stdout.close()
            self._running = None


@pytest.fixture(scope="session")
def program():
    """The program with the quick sections of the plan alone."""
    return LIGHT


@pytest.fixture(scope="session")
def serving():
    """Start the program itself, serving a planting as of ON; whoever starts it kills it."""

    def start(bank, port, *more):
        return Server(Path(bank), port, "--on", ON.isoformat(), *more).start()

    return start


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args):
    """The system's Chromium, quiet; the flags that it needs where it runs as root."""
    program = shutil.which("chromium") or shutil.which("chromium-browser")
    if program is None:
        pytest.skip("no Chromium on this machine (Debian: apt-get install chromium)")
    flags = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"]
    flags += ["--disable-background-networking", "--disable-component-update", "--disable-sync"]
    return browser_type_launch_args | {"executable_path": program, "args": flags}
