"""What tests of commands share: a command typed on the invented planting."""

import pytest

from nuttery.cli.app import run


@pytest.fixture
def typed(sorrel_bank, capsys):
    """Run a command as of a day: its exit status, what it printed, and what it said of errors."""

    def typed(*words, on):
        status = run([*words, "--planting", str(sorrel_bank), "--on", on])
        said = capsys.readouterr()
        return status, said.out, said.err

    return typed
