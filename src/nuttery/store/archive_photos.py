"""Photos in an archive: those that stand beside the register, under the ids that notes name."""

import re
from collections.abc import Iterator
from pathlib import Path

from sqlalchemy import Connection, select

from nuttery.store import archive_format as form
from nuttery.store import tables as t
from nuttery.store.archive_file import ArchiveFile
from nuttery.store.checking import Trouble
from nuttery.store.errors import ArchiveRefused
from nuttery.store.rows import note_of

_NAMED = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}\.jpg")


def is_photo_name(name: str) -> bool:
    """Whether a file name is one that a photo is kept under: an id, and .jpg.

    Examples
    --------
    >>> is_photo_name("018f3b1c-7a2e-7c11-9f00-3a5b6c7d8e9f.jpg"), is_photo_name("../secret.jpg")
    (True, False)
    """
    return _NAMED.fullmatch(name) is not None


def photo_files(folder: Path | None) -> list[Path]:
    """Photos of a folder in order of name; none where there is no folder."""
    if folder is None or not folder.is_dir():
        return []
    return sorted(file for file in folder.iterdir() if is_photo_name(file.name))


def unpack_photos(archive: ArchiveFile, folder: Path) -> list[Path]:
    """Put an archive's photos into a folder; return those that were not there before.

    Raises
    ------
    ArchiveRefused
        If a name is none of a photo, or another photo stands under it. Nothing is left behind.
    """
    written: list[Path] = []
    try:
        for name in archive.photos():
            file = folder / _own_name(name)
            if _put(file, archive.content(name), name):
                written.append(file)
    except BaseException:
        take_away(written)
        raise
    return written


def take_away(files: list[Path]) -> None:
    """Remove photos again that were just put there."""
    for file in files:
        file.unlink(missing_ok=True)


def _own_name(name: str) -> str:
    own = name.removeprefix(form.PHOTOS)
    if not is_photo_name(own):
        raise ArchiveRefused([f"{name}: found a strange name, expected an id and .jpg"])
    return own


def _put(file: Path, content: bytes, name: str) -> bool:
    """Write one photo whole; False if it is there already."""
    if file.exists():
        if file.read_bytes() == content:
            return False
        raise ArchiveRefused([f"{name}: another photo stands at {file}"])
    file.parent.mkdir(parents=True, exist_ok=True)
    part = file.with_suffix(".part")
    part.write_bytes(content)
    part.replace(file)
    return True


def photo_troubles(connection: Connection, folder: Path) -> Iterator[Trouble]:
    """Notes whose photo should stand in a folder and does not; other programs' names are passed by.

    Parameters
    ----------
    connection : to the register
    folder : where photos stand
    """
    query = select(t.note.c.body).where(t.note.c.body.contains('"photo":"')).order_by(t.note.c.n)
    for (body,) in connection.execute(query, execution_options={"yield_per": 1000}):
        note = note_of(body)
        if note.photo is None or not is_photo_name(note.photo):
            continue
        file = folder / note.photo
        if not file.is_file():
            yield Trouble(f"note {note.id}: its photo is not at {file}", note.id)
        elif not _is_whole(file):
            yield Trouble(f"note {note.id}: its photo {file} is damaged", note.id)


def _is_whole(file: Path) -> bool:
    """Whether a JPEG begins and ends as one does (ISO/IEC 10918-1: SOI and EOI markers)."""
    with file.open("rb") as opened:
        start = opened.read(2)
        opened.seek(0, 2)
        if opened.tell() < 4:
            return False
        opened.seek(-2, 2)
        return start == b"\xff\xd8" and opened.read(2) == b"\xff\xd9"
