"""Photos in an archive: carried along, restored byte by byte, and missed when they are gone."""

import hashlib
import zipfile

import pytest

from nuttery.records import Photo, Remark, new_id
from nuttery.store import (
    ArchiveRefused,
    Register,
    check_register,
    restore_archive,
    write_archive,
)

JPEG = b"\xff\xd8\xff\xe0 any picture \xff\xd9"


@pytest.fixture
def photos(planted, book, tmp_path):
    """A register of which two notes name photos of their own, and one names another program's."""
    folder = tmp_path / "photos"
    folder.mkdir()
    shown = [new_id(), new_id()]
    for k, photo in enumerate(shown):
        (folder / f"{photo}.jpg").write_bytes(JPEG + bytes([k]) + b"\xff\xd9")
    (folder / "half-sent.part").write_bytes(b"no photo")
    planted.keep(
        [
            book.note(Remark, "A-1", remark="with a photo", photo=f"{shown[0]}.jpg"),
            book.note(Photo, "A-2", photo=f"{shown[1]}.jpg"),
            book.note(Photo, "A-3", photo="IMG_0001.jpg"),
        ]
    )
    return folder


def content(folder):
    return {file.name: file.read_bytes() for file in folder.glob("*.jpg")}


def test_photos_come_back_byte_by_byte_and_the_archive_is_the_same_again(planted, photos, tmp_path):
    write_archive(planted, tmp_path / "one.zip", photos=photos)
    back = tmp_path / "back"
    with restore_archive(tmp_path / "one.zip", tmp_path / "again.db", photos=back) as again:
        assert content(back) == content(photos)
        assert len(content(back)) == 2
        write_archive(again, tmp_path / "two.zip", photos=back)
        assert check_register(again, photos=back) == ()
    assert (tmp_path / "one.zip").read_bytes() == (tmp_path / "two.zip").read_bytes()


def test_a_general_tool_finds_photos_with_their_checksums(planted, photos, tmp_path):
    write_archive(planted, tmp_path / "one.zip", photos=photos)
    with zipfile.ZipFile(tmp_path / "one.zip") as zipped:
        assert zipped.testzip() is None
        sums = dict(
            line.split("  ")[::-1] for line in zipped.read("SHA256SUMS").decode().splitlines()
        )
        for name, data in content(photos).items():
            assert zipped.read(f"photos/{name}") == data
            assert sums[f"photos/{name}"] == hashlib.sha256(data).hexdigest()


def test_a_photo_that_is_gone_or_cut_short_is_told_by_the_check(planted, photos):
    assert check_register(planted, photos=photos) == ()
    first, second = sorted(photos.glob("*.jpg"))
    first.unlink()
    second.write_bytes(second.read_bytes()[:-1])
    told = [str(trouble) for trouble in check_register(planted, photos=photos)]
    assert len(told) == 2
    assert any("its photo is not at" in one and first.name in one for one in told)
    assert any("is damaged" in one and second.name in one for one in told)


def test_another_photo_under_the_same_name_is_never_written_over(planted, photos, tmp_path):
    write_archive(planted, tmp_path / "one.zip", photos=photos)
    back = tmp_path / "back"
    back.mkdir()
    last = max(photos.glob("*.jpg")).name
    (back / last).write_bytes(b"another")
    with pytest.raises(ArchiveRefused, match=f"{last}: another photo stands at"):
        restore_archive(tmp_path / "one.zip", tmp_path / "again.db", photos=back)
    assert content(back) == {last: b"another"}
    assert not (tmp_path / "again.db").exists()


@pytest.mark.parametrize("name", ["photos/../../evil.jpg", "photos/evil.sh", "photos/a/b.jpg"])
def test_a_strange_name_among_the_photos_is_refused(planted, tmp_path, name):
    write_archive(planted, tmp_path / "one.zip")
    with zipfile.ZipFile(tmp_path / "one.zip") as zipped:
        files = {n: zipped.read(n) for n in zipped.namelist()} | {name: JPEG}
    files["SHA256SUMS"] += f"{hashlib.sha256(JPEG).hexdigest()}  {name}\n".encode()
    with zipfile.ZipFile(tmp_path / "one.zip", "w") as zipped:
        for each, data in files.items():
            zipped.writestr(each, data)
    with pytest.raises(ArchiveRefused, match="expected an id and"):
        restore_archive(tmp_path / "one.zip", tmp_path / "again.db", photos=tmp_path / "back")
    assert not (tmp_path / "again.db").exists()


def test_an_archive_without_photos_is_restored_as_before(planted, tmp_path):
    write_archive(planted, tmp_path / "one.zip", photos=tmp_path / "none")
    with restore_archive(tmp_path / "one.zip", tmp_path / "b.db", photos=tmp_path / "p") as again:
        assert isinstance(again, Register)
    assert not (tmp_path / "p").exists()
