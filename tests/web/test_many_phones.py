"""Two hundred phones, away for a month, all sending at once: counts and words match to the note."""

import hashlib
import json
import random
import shutil
import sqlite3
import ssl
from collections import Counter
from concurrent.futures import ThreadPoolExecutor

import httpx
import pytest

from nuttery.records import new_id, utc_now
from nuttery.season.own_folder import folder_of
from nuttery.web.security.devices import Devices

TRUST = ssl.create_default_context()
PHONES, NOTES, AT_ONCE = 200, 20, 10


def written(phone):
    """What a phone wrote in the row while it was away."""
    rng = random.Random(phone)  # noqa: S311 - made-up notes
    return [
        {
            "id": str(new_id()),
            "kind": "remark",
            "shrub": f"1-{rng.randint(1, 12):02d}",
            "seen": f"2026-03-{rng.randint(1, 28):02d}",
            "remark": f"phone {phone}, note {k}, {rng.random()}",
        }
        for k in range(NOTES)
    ]


def mark(note):
    """Hash of what a note says; the server adds only who, on what, and when it came."""
    told = {k: note[k] for k in ("id", "kind", "shrub", "seen", "remark")}
    return hashlib.sha256(json.dumps(told, sort_keys=True).encode()).hexdigest()


def replayed(address, key, notes, seed):
    """Send as a phone does: a few at a time, now and then losing the reply and sending again."""
    rng = random.Random(seed)  # noqa: S311 - made-up trouble
    outcomes = []
    with httpx.Client(
        base_url=address, timeout=120, verify=TRUST, cookies={"nuttery-key": key}
    ) as client:
        client.headers["x-nuttery-token"] = client.get("/api/me").json()["token"]
        for start in range(0, len(notes), AT_ONCE):
            some = {"notes": notes[start : start + AT_ONCE]}
            for _ in range(2 if rng.random() < 0.3 else 1):
                answer = client.post("/api/notes", json=some)
                assert answer.status_code == 200, answer.text
                outcomes += [one["outcome"] for one in answer.json()["outcomes"]]
    return outcomes


def keys_of(bank):
    """Let every phone in, each with a key of its own."""
    known = Devices(folder_of(bank) / "devices.db")
    found = []
    for phone in range(PHONES):
        invitation = known.invite(f"person {phone}", "helper", utc_now())
        found.append(known.pair(invitation.token, f"phone {phone}", utc_now())[1])
    return found


@pytest.mark.slow
def test_two_hundred_phones_at_once_lose_and_double_nothing(
    small_bank, tmp_path, serving, free_port
):
    bank = shutil.copy(small_bank, tmp_path / "bank.db")
    keys = keys_of(bank)
    server = serving(bank, free_port(), "--share", "--plain", "--address", "127.0.0.1")
    phones = [written(phone) for phone in range(PHONES)]
    try:
        with ThreadPoolExecutor(PHONES) as all_at_once:
            sent = [
                all_at_once.submit(replayed, server.address, keys[k], notes, k)
                for k, notes in enumerate(phones)
            ]
            outcomes = Counter(told for one in sent for told in one.result())
    finally:
        server.kill()
    with sqlite3.connect(bank) as base:
        rows = base.execute("SELECT body FROM note WHERE body LIKE '%phone %, note %'").fetchall()
    held = [json.loads(body) for (body,) in rows]
    assert Counter(map(mark, held)) == Counter(mark(note) for notes in phones for note in notes)
    assert outcomes["kept"] == PHONES * NOTES
    assert set(outcomes) == {"kept", "already"}
    writers = {note["id"]: f"person {k}" for k, notes in enumerate(phones) for note in notes}
    assert all(note["by"] == writers[note["id"]] for note in held)
