"""Two hundred phones, away for a month, all sending at once: counts and words match to the note."""

import hashlib
import json
import random
import sqlite3
from collections import Counter
from concurrent.futures import ThreadPoolExecutor

import httpx
import pytest

from nuttery.records import new_id

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


def replayed(address, notes, seed):
    """Send as a phone does: a few at a time, now and then losing the reply and sending again."""
    rng = random.Random(seed)  # noqa: S311 - made-up trouble
    outcomes = []
    with httpx.Client(base_url=address, timeout=60) as client:
        token = client.get("/api/me").json()["token"]
        for start in range(0, len(notes), AT_ONCE):
            for _ in range(2 if rng.random() < 0.3 else 1):
                answer = client.post(
                    "/api/notes",
                    json={"notes": notes[start : start + AT_ONCE]},
                    headers={"x-nuttery-token": token},
                )
                while answer.status_code == 429:
                    import time

                    time.sleep(int(answer.headers["retry-after"]))
                    answer = client.send(answer.request)
                assert answer.status_code == 200, answer.text
                outcomes += [one["outcome"] for one in answer.json()["outcomes"]]
    return outcomes


@pytest.mark.slow
def test_two_hundred_phones_at_once_lose_and_double_nothing(
    small_bank, tmp_path, serving, free_port
):
    import shutil

    bank = shutil.copy(small_bank, tmp_path / "bank.db")
    server = serving(bank, free_port())
    phones = [written(phone) for phone in range(PHONES)]
    try:
        with ThreadPoolExecutor(PHONES) as all_at_once:
            sent = [
                all_at_once.submit(replayed, server.address, notes, seed)
                for seed, notes in enumerate(phones)
            ]
            outcomes = Counter(told for one in sent for told in one.result())
    finally:
        server.kill()
    wanted = Counter(mark(note) for notes in phones for note in notes)
    with sqlite3.connect(bank) as base:
        rows = base.execute("SELECT body FROM note WHERE body LIKE '%phone %, note %'").fetchall()
    assert Counter(mark(json.loads(body)) for (body,) in rows) == wanted
    assert outcomes["kept"] == PHONES * NOTES
    assert set(outcomes) == {"kept", "already"}
