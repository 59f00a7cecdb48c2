"""An archive opened for reading: whole, and of a format that is known, or refused."""

import csv
import io
import json
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from hashlib import sha256
from pathlib import Path
from typing import Any

from nuttery.store import archive_format as form
from nuttery.store.errors import ArchiveRefused

_BLOCK = 1 << 20
# What reading a damaged zip may raise.
_UNREADABLE = (zipfile.BadZipFile, zlib.error, NotImplementedError, RuntimeError, EOFError, OSError)


@contextmanager
def opened_archive(path: Path) -> Iterator["ArchiveFile"]:
    """Give an archive of which every checksum was verified.

    Raises
    ------
    ArchiveRefused
        If there is none, with everything that is wrong with it.
    """
    try:
        zipped = zipfile.ZipFile(path)
    except FileNotFoundError:
        raise ArchiveRefused([f"{path}: there is no such file"]) from None
    except (*_UNREADABLE, ValueError) as problem:
        raise ArchiveRefused([f"{path}: this is no whole archive ({problem})"]) from problem
    with zipped:
        yield ArchiveFile(zipped)


class ArchiveFile:
    """The files of an archive, by name."""

    def __init__(self, zipped: zipfile.ZipFile) -> None:
        self._zipped = zipped
        reasons = self._name_reasons() or self._sum_reasons()
        if reasons:
            raise ArchiveRefused(reasons)
        self.about = self._read_about()

    def _name_reasons(self) -> list[str]:
        names = self._zipped.namelist()
        reasons = [f"{name} is missing" for name in (*form.ALWAYS, form.SUMS) if name not in names]
        twice = sorted(name for name in set(names) if names.count(name) > 1)
        return reasons + [f"{name} is there twice" for name in twice]

    def _sum_reasons(self) -> list[str]:
        told = {name: digest for digest, _, name in (s.partition("  ") for s in self._sums())}
        found = set(self._zipped.namelist()) - {form.SUMS}
        reasons = [f"{name} has no checksum" for name in sorted(found - told.keys())]
        reasons += [f"{name} is missing" for name in sorted(told.keys() - found)]
        damaged = (name for name in sorted(found & told.keys()) if self._sum(name) != told[name])
        told_damage = "is damaged: its content and its checksum do not match"
        return reasons + [f"{name} {told_damage}" for name in damaged]

    def _sums(self) -> list[str]:
        with told_of(form.SUMS):
            return self._zipped.read(form.SUMS).decode().splitlines()

    def _sum(self, name: str) -> str | None:
        digest = sha256()
        try:
            with self._zipped.open(name) as file:
                while block := file.read(_BLOCK):
                    digest.update(block)
        except _UNREADABLE:
            return None
        return digest.hexdigest()

    def _read_about(self) -> dict[str, Any]:
        with told_of(form.ABOUT):
            about = json.loads(self._zipped.read(form.ABOUT))
            found = (about["name"], about["format"])
        if found[0] != form.NAME:
            raise ArchiveRefused([f"{form.ABOUT}: found {found[0]!r}, expected {form.NAME!r}"])
        if found[1] != form.FORMAT:
            told = f"found format {found[1]!r}, expected {form.FORMAT}"
            raise ArchiveRefused([f"{form.ABOUT}: {told}; a newer Nuttery may be able to read it"])
        return dict(about)

    def lines(self, name: str) -> Iterator[str]:
        """Lines of a file, without their ends."""
        with self._zipped.open(name) as file:
            for line in io.TextIOWrapper(file, encoding="utf-8", newline="\n"):
                yield line.rstrip("\n")

    def photos(self) -> list[str]:
        """Names of the photos, in order."""
        return sorted(n for n in self._zipped.namelist() if n.startswith(form.PHOTOS))

    def content(self, name: str) -> bytes:
        """Bytes of a file."""
        with told_of(name):
            return self._zipped.read(name)

    def table(self, name: str) -> list[dict[str, str]]:
        """Rows of a CSV file, as their cells by column."""
        with told_of(name):
            text = self._zipped.read(name).decode()
            return list(csv.DictReader(io.StringIO(text, newline=""), strict=True))


@contextmanager
def told_of(name: str) -> Iterator[None]:
    """Say of what goes wrong inside which file of the archive it is about."""
    try:
        yield
    except (*_UNREADABLE, KeyError, TypeError, ValueError, csv.Error) as problem:
        if isinstance(problem, ArchiveRefused):
            raise
        reason = f"{name}: not laid out as it should be ({problem})"
        raise ArchiveRefused([reason]) from problem
