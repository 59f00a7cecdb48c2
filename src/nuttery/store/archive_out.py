"""Writing a whole register to one open file, the same bytes for the same content."""

import csv
import io
import json
import os
import zipfile
from collections.abc import Iterable, Iterator
from hashlib import sha256
from pathlib import Path
from typing import Any
from uuid import UUID

import numpy as np
from sqlalchemy import Connection, func, select

from nuttery.store import archive_format as form
from nuttery.store import tables as t
from nuttery.store.archive_photos import photo_files
from nuttery.store.asking import AsOf, plantings
from nuttery.store.weather_out import table_of
from nuttery.store.weather_types import KINDS, Kind

_MOMENT = (1980, 1, 1, 0, 0, 0)
"""The time given to every file in the zip, so that its bytes tell of the content alone."""


def write_zip(connection: Connection, path: Path, photos: Path | None = None) -> None:
    """Write the archive beside `path`, then put it there whole."""
    part = path.with_name(path.name + ".part")
    try:
        with part.open("wb") as file:
            with zipfile.ZipFile(file, "w") as archive:
                Writer(archive).write(connection, photo_files(photos))
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)


class Writer:
    """Writes files into a zip and keeps count of their checksums."""

    def __init__(self, archive: zipfile.ZipFile) -> None:
        self._archive = archive
        self._sums: dict[str, str] = {}

    def write(self, connection: Connection, photos: Iterable[Path] = ()) -> None:
        """Write everything that the register holds, and the photos that stand beside it."""
        sources = _sources(connection)
        self._file(form.README, [form.page()])
        shown = list(photos)
        self._file(form.ABOUT, [_about(connection, len(sources), len(shown))])
        self._file(form.NOTES, _note_lines(connection))
        self._file(form.PLANTINGS, _csv(form.PLANTING_COLUMNS, _planting_rows(connection)))
        self._file(form.SOURCES, _csv(form.SOURCE_COLUMNS, [(k, *s[1:]) for k, s in sources]))
        for number, source in sources:
            for resolution, kind in KINDS.items():
                self._weather(connection, number, source[0], resolution, kind)
        for photo in shown:
            self._bytes(form.PHOTOS + photo.name, [photo.read_bytes()], zipfile.ZIP_STORED)
        self._file(form.SUMS, (f"{self._sums[name]}  {name}\n" for name in sorted(self._sums)))

    def _weather(
        self, connection: Connection, number: int, source: int, resolution: str, kind: Kind
    ) -> None:
        times, values = table_of(connection, kind, source)
        stamps = times.astype(f"datetime64[{kind.unit}]").astype(str)
        rows = (
            (stamp, *(None if np.isnan(value) else repr(value) for value in row))
            for stamp, row in zip(stamps.tolist(), values.tolist(), strict=True)
        )
        columns = (kind.name, *kind.elements)
        self._file(form.weather_file(number, resolution), _csv(columns, rows))

    def _file(self, name: str, lines: Iterable[str]) -> None:
        self._bytes(name, (line.encode() for line in lines), zipfile.ZIP_DEFLATED)

    def _bytes(self, name: str, parts: Iterable[bytes], packing: int) -> None:
        info = zipfile.ZipInfo(name, _MOMENT)
        info.compress_type = packing
        info.external_attr = 0o644 << 16
        digest = sha256()
        with self._archive.open(info, "w", force_zip64=True) as file:
            for part in parts:
                digest.update(part)
                file.write(part)
        self._sums[name] = digest.hexdigest()


def _about(connection: Connection, sources: int, photos: int) -> str:
    notes = connection.execute(select(func.count()).select_from(t.note)).scalar_one()
    about = {
        "format": form.FORMAT,
        "name": form.NAME,
        "notes": notes,
        "sources": sources,
        "photos": photos,
    }
    return json.dumps(about, indent=1) + "\n"


def _note_lines(connection: Connection) -> Iterator[str]:
    query = select(t.note.c.body).order_by(t.note.c.id)
    for (body,) in connection.execute(query, execution_options={"yield_per": 1000}):
        yield body + "\n"


def _planting_rows(connection: Connection) -> Iterator[tuple[Any, ...]]:
    for note in plantings(connection, AsOf()):
        yield (note.planting, *(getattr(note, name) for name in form.PLANTING_COLUMNS[1:]))


def _sources(connection: Connection) -> list[tuple[int, tuple[Any, ...]]]:
    """Sources as (own number, id of the planting, name, trust, place), numbered afresh from 1."""
    query = (
        select(
            t.weather_source.c.no,
            t.planting.c.id,
            *(t.weather_source.c[name] for name in form.SOURCE_COLUMNS[2:]),
        )
        .join(t.planting)
        .order_by(t.planting.c.id, t.weather_source.c.name)
    )
    rows = connection.execute(query)
    return [(k, (no, UUID(bytes=p), *more)) for k, (no, p, *more) in enumerate(rows, start=1)]


def _csv(columns: Iterable[str], rows: Iterable[Iterable[Any]]) -> Iterator[str]:
    yield _line(columns)
    for row in rows:
        yield _line(row)


def _line(row: Iterable[Any]) -> str:
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerow(row)
    return text.getvalue()
