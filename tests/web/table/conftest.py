"""One small planting, served in process for all tests that only read it."""

import shutil
import warnings
from datetime import date

import pytest

with warnings.catch_warnings():
    # The test client prefers a successor of httpx that is not among our tools.
    warnings.simplefilter("ignore")
    from starlette.testclient import TestClient


@pytest.fixture(scope="session")
def reader(warm_bank, tmp_path_factory):
    from nuttery.web.app import build

    bank = shutil.copy(warm_bank, tmp_path_factory.mktemp("table") / "bank.db")
    with TestClient(build(bank, on=date(2026, 4, 12)), base_url="http://localhost") as found:
        yield found
