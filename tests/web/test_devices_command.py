"""nuttery devices: who is let in, invitations, keys taken away."""

import json
import re

import pytest

from nuttery.records import utc_now
from nuttery.season import WrongQuestion
from nuttery.season.own_folder import folder_of
from nuttery.web.devices_command import devices
from nuttery.web.security.devices import Devices


def paired(bank, capsys):
    """Invite Hans from the terminal and take the invitation up."""
    assert devices(planting=str(bank), invite="Hans", address="https://192.168.1.5:8790") == 0
    said = capsys.readouterr().out
    token = re.search(r"https://192\.168\.1\.5:8790/pair/([\w-]+)", said)[1]
    known = Devices(folder_of(bank) / "devices.db")
    known.pair(token, "Hans’s phone", utc_now())
    return known


def test_before_anyone_is_let_in_it_says_how(bank, capsys):
    assert devices(planting=str(bank)) == 0
    assert "nuttery serve --share" in capsys.readouterr().out


def test_an_invitation_from_the_terminal_lets_a_device_in(bank, capsys):
    paired(bank, capsys)
    devices(planting=str(bank))
    said = capsys.readouterr().out
    assert "Hans’s phone" in said
    assert "helper" in said
    assert max(len(line) for line in said.splitlines()) <= 80


def test_a_key_taken_away_is_shown_as_such_in_words_and_as_json(bank, capsys):
    known = paired(bank, capsys)
    assert devices(planting=str(bank), revoke=1) == 0
    assert "taken away" in capsys.readouterr().out
    devices(planting=str(bank), json=True)
    (told,) = json.loads(capsys.readouterr().out)
    assert told["revoked"] is not None
    assert [event.what for event in known.events()] == [
        "revoked",
        "paired",
        "invited Hans as helper",
    ]


def test_a_number_that_is_no_device_is_refused(bank):
    with pytest.raises(WrongQuestion, match="found 7, expected the number of a device"):
        devices(planting=str(bank), revoke=7)
