"""What all tests share: one invented planting a run, and no skipping where nothing may be."""

import os
import sqlite3
import time
from contextlib import closing

import pytest


def pytest_sessionfinish(session, exitstatus):
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    strict = os.environ.get("NUTTERY_SKIP_NOTHING") == "1"
    if strict and reporter is not None and exitstatus == 0 and reporter.stats.get("skipped"):
        for report in reporter.stats["skipped"]:
            reporter.write_line(f"skipped where nothing may be: {report.nodeid}", red=True)
        session.exitstatus = 1


@pytest.fixture(scope="session")
def made(tmp_path_factory, worker_id):
    """Folder with Sorrel Bank and its truth, made once a run, whatever the number of workers."""
    from nuttery.demo.make import make_with_truth

    base = tmp_path_factory.getbasetemp()
    folder = (base if worker_id == "master" else base.parent) / "sorrel-bank"
    done = folder / "done"
    try:
        folder.mkdir()
    except FileExistsError:
        while not done.exists():
            time.sleep(0.1)
        return folder
    make_with_truth(folder)
    done.touch()
    return folder


@pytest.fixture(scope="session")
def sorrel_bank(made):
    """Register of the invented planting; tests only read it."""
    return made / "sorrel-bank.db"


@pytest.fixture(scope="session")
def copied(sorrel_bank):
    """Copy the shared register into a file, through SQLite.

    Read as a plain file it would lose the locks that this process holds on it, and the other worker
    would take away the log under the registers that are open here.
    """

    def copy(into):
        with closing(sqlite3.connect(sorrel_bank)) as source, closing(sqlite3.connect(into)) as own:
            source.backup(own)
        return into

    return copy


@pytest.fixture
def own_sorrel_bank(copied, tmp_path):
    """A copy of the invented planting's register that a test may write to."""
    return copied(tmp_path / "sorrel-bank.db")


@pytest.fixture(scope="session")
def worker_id(request):
    """Name of the worker; "master" where tests run in one process."""
    return getattr(request.config, "workerinput", {}).get("workerid", "master")
