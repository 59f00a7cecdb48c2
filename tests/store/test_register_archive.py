import hashlib
import json
import zipfile
from types import SimpleNamespace

import numpy as np
import pytest

from nuttery.records import CanesCounted, LayerMade, Remark, Withdrawn, new_id
from nuttery.store import (
    ArchiveRefused,
    Register,
    RegisterExists,
    check_register,
    restore_archive,
    write_archive,
)


@pytest.fixture
def full(planted, book):
    return filled(planted, book)


def filled(planted, book):
    """Return a register with corrections, a layer, two plantings and weather."""
    wrong = book.note(CanesCounted, "A-1", standing=70)
    lone = book.note(Remark, "A-2", remark='rain, "much" of it\nand wind – 30 °')
    other = new_id()
    planted.keep([wrong, lone])
    planted.keep(
        [
            book.note(CanesCounted, "A-1", standing=7, stands_in_for=wrong.id),
            book.note(Withdrawn, stands_in_for=lone.id),
            book.note(LayerMade, "B-1", copy_of="A-1"),
            book.described(planting=other, name="Far field, north"),
        ]
    )
    rng = np.random.default_rng(3)
    for source, trust in (("near, new", 1), ("far", 2)):
        tmin = rng.normal(0, 9, 40)
        tmin[3] = np.nan
        record = SimpleNamespace(
            time=np.datetime64("2026-01-01") + np.arange(40), resolution="daily", utc_offset=-6.0,
            latitude=46.1, longitude=-91.2, elevation=None, tmin=tmin, tmax=tmin + 8.1,
            rain=np.zeros(40),
        )  # fmt: skip
        planted.keep_weather(record, planting=book.planting, source=source, trust=trust)
    hours = np.datetime64("2026-01-01T00", "h") + np.arange(30)
    record.time, record.resolution = hours, "hourly"
    for name in ("temp", "rh", "wind_speed", "wind_from", "rain"):
        setattr(record, name, rng.normal(0, 1, 30))
    planted.keep_weather(record, planting=book.planting, source="far")
    return planted


@pytest.fixture
def archive(tmp_path, book):
    path = tmp_path / "sorrel-bank.zip"
    with Register.create(tmp_path / "first.db") as register:
        shrubs = (book.planted(f"A-{k}", x=1.8 * k, y=0.0) for k in range(1, 6))
        register.keep([book.described(), *shrubs])
        write_archive(filled(register, book), path)
    return path


def rewritten(path, changes, *, sums=True):
    """Write an archive again with some files changed, and their checksums with them."""
    with zipfile.ZipFile(path) as zipped:
        files = {name: zipped.read(name) for name in zipped.namelist()}
    for name, change in changes.items():
        files[name] = change(files.get(name, b""))
    files = {name: data for name, data in files.items() if data is not None}
    if sums:
        lines = [
            f"{hashlib.sha256(data).hexdigest()}  {name}\n"
            for name, data in files.items()
            if name != "SHA256SUMS"
        ]
        files["SHA256SUMS"] = "".join(lines).encode()
    with zipfile.ZipFile(path, "w") as zipped:
        for name, data in files.items():
            zipped.writestr(name, data)


def test_a_restored_register_answers_every_question_identically(full, tmp_path, book):
    archive = tmp_path / "full.zip"
    write_archive(full, archive)
    with restore_archive(archive, tmp_path / "again.db") as again:
        assert list(again.notes(standing=False)) == list(full.notes(standing=False))
        assert list(again.notes()) == list(full.notes())
        assert again.plantings() == full.plantings()
        assert again.shrubs(book.planting) == full.shrubs(book.planting)
        for note in full.notes(standing=False):
            assert again.history(note.id) == full.history(note.id)
        assert again.weather_sources(book.planting) == full.weather_sources(book.planting)
        for source in (None, "far", "near, new"):
            same_weather(again.daily(book.planting, source), full.daily(book.planting, source))
        same_weather(again.hourly(book.planting), full.hourly(book.planting))
        assert check_register(again) == ()


def same_weather(found, expected):
    for name, values in vars(expected).items():
        if isinstance(values, np.ndarray):
            np.testing.assert_array_equal(getattr(found, name), values)
    assert found.sources == expected.sources
    for name, index in expected.source.items():
        np.testing.assert_array_equal(found.source[name], index)


def test_the_same_content_gives_the_same_bytes(full, tmp_path):
    archive = tmp_path / "full.zip"
    write_archive(full, archive)
    write_archive(full, tmp_path / "twice.zip")
    with restore_archive(archive, tmp_path / "again.db") as again:
        write_archive(again, tmp_path / "thrice.zip")
    first = archive.read_bytes()
    assert (tmp_path / "twice.zip").read_bytes() == first
    assert (tmp_path / "thrice.zip").read_bytes() == first


def test_an_archive_is_restored_into_either_database(archive, where, tmp_path):
    with (
        restore_archive(archive, tmp_path / "again.db") as again,
        restore_archive(archive, where) as other,
    ):
        assert list(other.notes(standing=False)) == list(again.notes(standing=False))
        assert check_register(other) == ()


def test_an_archive_is_open_to_anyone(archive):
    with zipfile.ZipFile(archive) as zipped:
        assert zipped.namelist() == [
            "README.md",
            "about.json",
            "notes.jsonl",
            "plantings.csv",
            "weather/sources.csv",
            "weather/1-daily.csv",
            "weather/1-hourly.csv",
            "weather/2-daily.csv",
            "weather/2-hourly.csv",
            "SHA256SUMS",
        ]
        notes = [json.loads(line) for line in zipped.read("notes.jsonl").splitlines()]
        assert [n["id"] for n in notes] == sorted(n["id"] for n in notes)
        for line in zipped.read("SHA256SUMS").decode().splitlines():
            digest, name = line.split("  ")
            assert hashlib.sha256(zipped.read(name)).hexdigest() == digest
            # What the page inside tells of is what is there.
            told = zipped.read("README.md").decode()
            assert name.replace("1-", "N-").replace("2-", "N-") in told or name == "README.md"


@pytest.mark.parametrize("name", ["notes.jsonl", "weather/sources.csv", "README.md"])
def test_an_archive_with_a_changed_file_is_refused_whole(archive, tmp_path, name):
    rewritten(archive, {name: lambda data: data.replace(b"e", b"3", 1)}, sums=False)
    with pytest.raises(ArchiveRefused, match=f"{name} is damaged: its content and its checksum"):
        restore_archive(archive, tmp_path / "again.db")
    assert not (tmp_path / "again.db").exists()


def test_an_archive_with_a_flipped_byte_is_refused(archive, tmp_path):
    whole = archive.read_bytes()
    rng = np.random.default_rng(5)
    refused = 0
    for at in rng.integers(0, len(whole), 16):
        archive.write_bytes(whole[:at] + bytes([whole[at] ^ 0x10]) + whole[at + 1 :])
        try:
            restore_archive(archive, tmp_path / "again.db").discard()
        except ArchiveRefused:
            refused += 1
        assert not (tmp_path / "again.db").exists()
    # A byte of the zip's own dress (a date, say) may change without any content changing.
    assert refused >= 12


@pytest.mark.parametrize("share", [0.0, 0.3, 0.99])
def test_an_archive_that_was_cut_short_is_refused(archive, tmp_path, share):
    whole = archive.read_bytes()
    archive.write_bytes(whole[: int(len(whole) * share)])
    with pytest.raises(ArchiveRefused, match="this is no whole archive"):
        restore_archive(archive, tmp_path / "again.db")


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"notes.jsonl": lambda _: None}, "notes.jsonl is missing"),
        (
            {"about.json": lambda d: d.replace(b"nuttery register", b"other")},
            "about.json: found 'other archive', expected 'nuttery register archive'",
        ),
        (
            {"about.json": lambda d: d.replace(b'"format": 1', b'"format": 2')},
            "found format 2, expected 1; a newer Nuttery may",
        ),
        (
            {"about.json": lambda d: d.replace(b"1", b"")},
            "about.json: not laid out as it should be",
        ),
        ({"notes.jsonl": lambda d: d + b'{"kind": "remark"}\n'}, "line 13: Field required"),
        (
            {"notes.jsonl": lambda d: d.replace(b'":"', b'": "', 1)},
            "line 1: found a note that",
        ),
        (
            {"notes.jsonl": lambda d: d[d.index(b"\n") + 1 :]},
            "expected a planting set up by a note",
        ),
        (
            {"about.json": lambda d: d.replace(b'"notes": 12', b'"notes": 14')},
            "notes.jsonl: found 12 notes, expected 14",
        ),
        (
            {"weather/1-daily.csv": lambda d: d.replace(b"2026-01-02", b"2026-01-01")},
            r"time\[1\]: found 2026-01-01, expected a time after",
        ),
        (
            {"weather/1-daily.csv": lambda d: d.replace(b"2026-01-02", b"yesterday")},
            "weather/1-daily.csv: not laid out as it should be .*yesterday",
        ),
        (
            {"weather/2-daily.csv": lambda _: None},
            "weather/2-daily.csv: not laid out as it should be",
        ),
    ],
)
def test_an_archive_that_no_register_wrote_is_refused_whole(archive, tmp_path, changes, told):
    rewritten(archive, changes)
    with pytest.raises(ArchiveRefused, match=told):
        restore_archive(archive, tmp_path / "again.db")
    assert not (tmp_path / "again.db").exists()


def test_a_file_without_a_checksum_is_refused(archive, tmp_path):
    rewritten(archive, {"more.txt": lambda _: b"more"}, sums=False)
    with pytest.raises(ArchiveRefused, match=r"more\.txt has no checksum"):
        restore_archive(archive, tmp_path / "again.db")


def test_no_archive_at_all_is_said_so(tmp_path):
    with pytest.raises(ArchiveRefused, match=r"none\.zip: there is no such file"):
        restore_archive(tmp_path / "none.zip", tmp_path / "again.db")


def test_a_register_is_never_restored_over_another(archive, tmp_path):
    Register.create(tmp_path / "there.db").close()
    with pytest.raises(RegisterExists, match=r"there\.db: there is a file already"):
        restore_archive(archive, tmp_path / "there.db")
    with Register.open(tmp_path / "there.db") as register:
        assert register.plantings() == ()


def test_an_archive_is_there_whole_or_not_at_all(full, tmp_path, monkeypatch):
    archive = tmp_path / "full.zip"
    write_archive(full, archive)
    before = archive.read_bytes()

    def breaks(_connection):
        raise OSError("the stick was pulled out")
        yield

    monkeypatch.setattr("nuttery.store.archive_out._note_lines", breaks)
    with pytest.raises(OSError, match="pulled out"):
        write_archive(full, archive)
    assert archive.read_bytes() == before
    assert not list(tmp_path.glob("*.part"))


def test_a_refused_archive_leaves_nothing_behind(archive, where):
    rewritten(archive, {"notes.jsonl": lambda d: d[d.index(b"\n") + 1 :]})
    with pytest.raises(ArchiveRefused, match="expected a planting"):
        restore_archive(archive, where)
    Register.create(where).close()
