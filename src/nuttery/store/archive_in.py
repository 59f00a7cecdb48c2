"""Making a register from an archive, or refusing the archive whole with the reasons."""

import csv
import io
import json
import zipfile
import zlib
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path
from typing import Any
from uuid import UUID

import numpy as np
from pydantic import ValidationError
from sqlalchemy import Connection

from nuttery.records import Note, note_text, trusted_note
from nuttery.store import archive_format as form
from nuttery.store.asking import planting_number
from nuttery.store.errors import ArchiveRefused, RegisterRefused, WeatherRefused
from nuttery.store.keeping import keep_notes
from nuttery.store.weather_in import keep_table
from nuttery.store.weather_types import KINDS, PLACE, WeatherTable

_BLOCK = 1 << 20


class ArchiveFile:
    """An archive that is there and whole: every file's checksum was verified."""

    def __init__(self, archive: zipfile.ZipFile) -> None:
        self._archive = archive
        reasons = self._name_reasons() or self._sum_reasons() or self._format_reasons()
        if reasons:
            raise ArchiveRefused(reasons)

    def _name_reasons(self) -> list[str]:
        names = self._archive.namelist()
        reasons = [f"{name} is missing" for name in (*form.ALWAYS, form.SUMS) if name not in names]
        twice = sorted(name for name in set(names) if names.count(name) > 1)
        return reasons + [f"{name} is there twice" for name in twice]

    def _sum_reasons(self) -> list[str]:
        told = dict(self._told_sums())
        found = set(self._archive.namelist()) - {form.SUMS}
        reasons = [f"{name} has no checksum" for name in sorted(found - told.keys())]
        reasons += [f"{name} is missing" for name in sorted(told.keys() - found)]
        for name in sorted(found & told.keys()):
            if self._sum(name) != told[name]:
                reasons.append(f"{name} is damaged: its content and its checksum do not match")
        return reasons

    def _told_sums(self) -> Iterator[tuple[str, str]]:
        for line in self.lines(form.SUMS):
            digest, _, name = line.partition("  ")
            yield name, digest

    def _sum(self, name: str) -> str:
        digest = sha256()
        try:
            with self._archive.open(name) as file:
                while block := file.read(_BLOCK):
                    digest.update(block)
        except (zipfile.BadZipFile, OSError, ValueError, zlib.error):
            return "unreadable"
        return digest.hexdigest()

    def _format_reasons(self) -> list[str]:
        about = self.about()
        if about.get("name") != form.NAME:
            return [f"about.json: found {about.get('name')!r}, expected {form.NAME!r}"]
        if about.get("format") != form.FORMAT:
            found = f"found format {about.get('format')!r}, expected {form.FORMAT}"
            return [f"about.json: {found}; a newer Nuttery may be able to read it"]
        return []

    def about(self) -> dict[str, Any]:
        """Return what the archive says of itself."""
        found = json.loads(self._archive.read(form.ABOUT))
        return found if isinstance(found, dict) else {}

    def lines(self, name: str) -> Iterator[str]:
        """Lines of a file, without their ends."""
        with self._archive.open(name) as file:
            for line in io.TextIOWrapper(file, encoding="utf-8", newline="\n"):
                yield line.rstrip("\n")

    def notes(self) -> Iterator[Note]:
        """Notes of the archive, in its order."""
        for number, line in enumerate(self.lines(form.NOTES), start=1):
            yield _note(number, line)

    def table(self, name: str) -> Iterator[dict[str, str]]:
        """Rows of a CSV file, as their cells by column."""
        text = self._archive.read(name).decode()
        yield from csv.DictReader(io.StringIO(text, newline=""))


def _record(archive: ArchiveFile, source: dict[str, str], resolution: str) -> WeatherTable:
    kind = KINDS[resolution]
    rows = list(archive.table(form.weather_file(int(source["source"]), resolution)))
    cells = [[float(row[name] or "nan") for name in kind.elements] for row in rows]
    return WeatherTable(
        kind=kind,
        time=np.array([row[kind.name] for row in rows], dtype=f"datetime64[{kind.unit}]"),
        values=np.array(cells, dtype=np.float64).reshape(len(rows), len(kind.elements)),
        place={name: float(source[name]) if source[name] else None for name in PLACE},
    )


def _note(number: int, line: str) -> Note:
    try:
        note = trusted_note(line)
    except ValidationError as problem:
        told = problem.errors(include_url=False)[0]["msg"]
        raise ArchiveRefused([f"{form.NOTES}, line {number}: {told}"]) from problem
    if note_text(note) != line:
        raise ArchiveRefused(
            [f"{form.NOTES}, line {number}: found a note not written as Nuttery writes it"]
        )
    return note


def verified(path: Path) -> zipfile.ZipFile:
    """Open a file that is a zip at all."""
    try:
        return zipfile.ZipFile(path)
    except FileNotFoundError:
        raise ArchiveRefused([f"{path}: there is no such file"]) from None
    except (zipfile.BadZipFile, OSError) as problem:
        reason = f"{path}: this is no whole archive ({problem})"
        raise ArchiveRefused([reason]) from problem


def take_in(connection: Connection, archive: ArchiveFile) -> None:
    """Keep everything that an archive holds, within the transaction that is open."""
    try:
        kept = keep_notes(connection, archive.notes(), None)
        for source in archive.table(form.SOURCES):
            planting = planting_number(connection, UUID(source["planting"]))
            for resolution in KINDS:
                keep_table(
                    connection,
                    _record(archive, source, resolution),
                    planting=planting,
                    source=source["name"],
                    trust=int(source["trust"]),
                    replace=False,
                )
    except ArchiveRefused:
        raise
    except (RegisterRefused, WeatherRefused) as problem:
        raise ArchiveRefused([str(fault) for fault in problem.faults]) from problem
    except (KeyError, ValueError) as problem:
        raise ArchiveRefused(
            [f"a file of it is not laid out as it should be: {problem}"]
        ) from problem
    if kept.added != archive.about()["notes"]:
        told = archive.about()["notes"]
        raise ArchiveRefused([f"{form.NOTES}: found {kept.added} notes, expected {told}"])
