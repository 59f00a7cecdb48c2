"""What must not happen to a register: killed, out of room, written by two, or quietly changed."""

import json
import os
import re
import resource
import signal
import sqlite3
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from hashlib import sha256
from pathlib import Path
from uuid import UUID

import pytest
from sqlalchemy import text

from nuttery.records import Remark, Withdrawn
from nuttery.store import NoRoom, Register, RegisterBusy, check_register

WRITER = Path(__file__).with_name("batch_writer.py")


def writer(where, book, size, batches):
    command = [
        sys.executable,
        WRITER,
        str(where),
        str(book.planting),
        str(size),
        str(batches),
    ]
    return subprocess.Popen(command, stdout=subprocess.PIPE, text=True)


@pytest.mark.parametrize(
    ("size", "wait_ms"), [(150, 1), (150, 110), (150, 270), (7000, 60), (7000, 300)]
)
@pytest.mark.usefixtures("planted")
def test_a_writer_that_is_killed_loses_nothing_it_was_told_is_kept(home, book, size, wait_ms):
    process = writer(home, book, size, 10_000)
    assert process.stdout.readline() == "ready\n"
    time.sleep(wait_ms / 1000)
    os.kill(process.pid, signal.SIGKILL)
    told = [line.split() for line in process.stdout if line.endswith("\n")]
    process.wait()
    process.stdout.close()
    with Register.open(home) as register:
        found = {note.id.hex for note in register.notes(kinds="remark")}
        assert {id_ for batch in told for id_ in batch} <= found
        assert len(found) % size == 0
        assert check_register(register) == ()
        assert register.keep([book.note(Remark, remark="goes on")]).added == 1


@pytest.mark.usefixtures("planted")
def test_a_register_opened_twice_keeps_its_log_while_another_program_comes_and_goes(home, book):
    # POSIX: closing any descriptor of a file lets go of all the locks that a process holds on it.
    first, second, third = (book.note(Remark, remark=words) for words in ("one", "two", "three"))
    come_and_go = (
        "import sys; from nuttery.store import Register; Register.open(sys.argv[1]).close()"
    )
    with Register.open(home) as held:
        held.keep([first])
        with Register.open(home) as again:
            again.keep([second])
        subprocess.run([sys.executable, "-c", come_and_go, str(home)], check=True)
        held.keep([third])
        with Register.open(home) as fresh:
            assert {n.id for n in fresh.notes(kinds="remark")} == {first.id, second.id, third.id}
    with Register.open(home) as register:
        assert check_register(register) == ()


def test_two_programs_that_write_at_once_both_get_their_notes_in(planted, home, book):
    processes = [writer(home, book, 20, 5) for _ in range(2)]
    ids = []
    for process in processes:
        lines = process.communicate(timeout=60)[0].splitlines()
        assert process.returncode == 0
        ids += [id_ for line in lines[1:] for id_ in line.split()]
    found = {note.id.hex for note in planted.notes(kinds="remark")}
    assert len(ids) == len(set(ids)) == 200
    assert found == set(ids)
    assert check_register(planted) == ()


def test_two_threads_that_write_at_once_both_get_their_notes_in(planted, book):
    batches = [[book.note(Remark, "A-1", remark=f"{k}") for _ in range(5)] for k in range(12)]
    with ThreadPoolExecutor(4) as threads:
        kept = list(threads.map(planted.keep, batches))
    assert sum(k.added for k in kept) == planted.shrub(book.planting, "A-1").n_notes - 1 == 60
    assert check_register(planted) == ()


def test_a_tag_planted_by_two_programs_at_once_is_planted_once(planted, book):
    batches = [[book.planted("B-1")] for _ in range(4)]

    def outcome(batch):
        try:
            return planted.keep(batch).added
        except ValueError as problem:
            return "planted twice" in str(problem)

    with ThreadPoolExecutor(4) as threads:
        assert sorted(threads.map(outcome, batches)) == [True, True, True, 1]
    assert planted.shrub(book.planting, "B-1").n_notes == 1


def test_a_reader_sees_the_register_as_it_was_when_it_began(planted, book):
    notes = planted.notes()
    first = next(notes)
    planted.keep([book.note(Remark, remark="rain", seen=first.seen)])
    assert [note.kind for note in notes] == ["shrub_planted"] * 5


def test_a_writer_does_not_wait_for_ever(tmp_path, book, monkeypatch):
    monkeypatch.setattr("nuttery.store.connection.PATIENCE_S", 0.05)
    path = tmp_path / "planting.db"
    with Register.create(path) as register:
        register.keep([book.described()])
        with register.writing(), pytest.raises(RegisterBusy, match="another program has been wri"):
            register.keep([book.note(Remark, remark="rain")])


def test_on_a_full_disk_a_batch_is_refused_whole(tmp_path, book):
    with Register.create(tmp_path / "planting.db") as register:
        register.keep([book.described(), book.planted("A-1")])
        # Pages that the file may have: a full disk, without one.
        with register.reading() as connection:
            pages = connection.exec_driver_sql("PRAGMA page_count").scalar()
            connection.exec_driver_sql(f"PRAGMA max_page_count = {pages + 3}")
        batch = [book.note(Remark, remark="x" * 4000) for _ in range(50)]
        with pytest.raises(NoRoom, match="there is no room to write"):
            register.keep(batch)
        assert [n.kind for n in register.notes()] == ["planting_described", "shrub_planted"]
        assert check_register(register) == ()
        assert register.keep([book.note(Remark, remark="a short one")]).added == 1


def test_a_file_that_may_not_grow_keeps_what_it_has(tmp_path, book):
    path = tmp_path / "planting.db"
    with Register.create(path) as register:
        register.keep([book.described(), *(book.planted(f"A-{k}") for k in range(1, 6))])
    process = subprocess.run(
        [sys.executable, WRITER, str(path), str(book.planting), "500", "100"],
        capture_output=True,
        text=True,
        check=False,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (900_000, 900_000)),
    )
    assert "NoRoom: there is no room to write" in process.stderr
    told = [line.split() for line in process.stdout.splitlines()[1:]]
    with Register.open(path) as register:
        found = [note.id.hex for note in register.notes(kinds="remark")]
        assert sorted(found) == sorted(id_ for batch in told for id_ in batch)
        assert check_register(register) == ()


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ("UPDATE note SET body = replace(body, 'Ida', 'Eve') WHERE n = 3", "is not as it was kept"),
        ("UPDATE note SET seen = seen + 1 WHERE n = 3", "is filed wrongly: its seen and its text"),
        ("UPDATE note SET kind = 'picking' WHERE n = 3", "is filed wrongly: its kind"),
        ("UPDATE note SET shrub = NULL WHERE n = 3", "is filed wrongly: its shrub"),
        ("UPDATE shrub_now SET digest = '{}' WHERE shrub = 2", "shrub A-2: what was worked out"),
        ("DELETE FROM shrub_now WHERE shrub = 2", "shrub A-2: what was worked out"),
        ("DELETE FROM stand_in", "what was worked out about it standing in for another"),
        ("UPDATE stand_in SET depth = 7", "what was worked out about it standing in for another"),
        ("DELETE FROM note WHERE n = 1", "expected a planting set up by a note that describes it"),
        ("DELETE FROM note WHERE n = 4", "'A-3'.*expected the tag of a shrub that was planted"),
    ],
)
def test_what_was_changed_behind_the_registers_back_is_told(planted, book, change, told):
    """Notes 1 to 6 are the planting and its shrubs."""
    remarks = [book.note(Remark, "A-3", remark="rain") for _ in range(2)]
    planted.keep([*remarks, book.note(Withdrawn, stands_in_for=remarks[0].id)])
    assert check_register(planted) == ()
    with planted.writing() as connection:
        connection.execute(text(change))
    assert re.search(told, "\n".join(map(str, check_register(planted))))


def test_a_trouble_names_the_note(planted):
    (note,) = planted.notes(shrub="A-3")
    with planted.writing() as connection:
        change = text("UPDATE note SET hash = :h WHERE n = 4")
        connection.execute(change, {"h": b"\x00" * 32})
    assert check_register(planted)[0].note == note.id


def test_a_note_that_is_no_note_any_more_is_told(planted):
    body = json.dumps({"kind": "remark", "id": str(UUID(int=5))})
    with planted.writing() as connection:
        change = text("UPDATE note SET body = :b, hash = :h WHERE n = 4")
        connection.execute(change, {"b": body, "h": sha256(body.encode()).digest()})
    assert "cannot be read: Field required" in check_register(planted)[0].what


def test_rows_that_refer_to_nothing_are_told(tmp_path, book):
    with Register.create(tmp_path / "planting.db") as register:
        register.keep([book.described(), book.planted("A-1")])
        connection = sqlite3.connect(tmp_path / "planting.db")
        connection.execute("INSERT INTO weather_day VALUES (9, 0, 1.0, 2.0, 0.0)")
        connection.commit()
        connection.close()
        (trouble,) = check_register(register)
    assert "weather_day refers to a row of weather_source that is gone" in trouble.what
