"""Making a register from an archive, or refusing the archive whole with the reasons."""

from collections.abc import Iterator
from uuid import UUID

import numpy as np
from pydantic import ValidationError
from sqlalchemy import Connection

from nuttery.records import Note, note_text, trusted_note
from nuttery.store import archive_format as form
from nuttery.store.archive_file import ArchiveFile, told_of
from nuttery.store.asking import planting_number
from nuttery.store.errors import ArchiveRefused, RegisterRefused, WeatherRefused
from nuttery.store.keeping import keep_notes
from nuttery.store.weather_in import checked_table, keep_table
from nuttery.store.weather_types import KINDS, PLACE, WeatherTable


def take_in(connection: Connection, archive: ArchiveFile) -> None:
    """Keep everything that an archive holds, within the transaction that is open."""
    try:
        kept = keep_notes(connection, _notes(archive), None)
    except RegisterRefused as problem:
        reasons = [f"{form.NOTES}: {fault}" for fault in problem.faults]
        raise ArchiveRefused(reasons) from problem
    if kept.added != archive.about.get("notes"):
        told = archive.about.get("notes")
        raise ArchiveRefused([f"{form.NOTES}: found {kept.added} notes, expected {told}"])
    for source in archive.table(form.SOURCES):
        for resolution in KINDS:
            _take_weather(connection, archive, source, resolution)


def _notes(archive: ArchiveFile) -> Iterator[Note]:
    for number, line in enumerate(archive.lines(form.NOTES), start=1):
        where = f"{form.NOTES}, line {number}"
        try:
            note = trusted_note(line)
        except ValidationError as problem:
            told = problem.errors(include_url=False)[0]["msg"]
            raise ArchiveRefused([f"{where}: {told}"]) from problem
        if note_text(note) != line:
            told = "found a note that is not written as Nuttery writes it"
            raise ArchiveRefused([f"{where}: {told}"])
        yield note


def _take_weather(
    connection: Connection, archive: ArchiveFile, source: dict[str, str], resolution: str
) -> None:
    with told_of(form.SOURCES):
        name = form.weather_file(int(source["source"]), resolution)
        planting = planting_number(connection, UUID(source["planting"]))
        place = {key: float(source[key]) if source[key] else None for key in PLACE}
        trust, called = int(source["trust"]), source["name"]
    with told_of(name):
        try:
            table = _table(archive.table(name), resolution, place)
            keep_table(
                connection, table, planting=planting, source=called, trust=trust, replace=False
            )
        except WeatherRefused as problem:
            raise ArchiveRefused([f"{name}: {fault}" for fault in problem.faults]) from problem


def _table(
    rows: list[dict[str, str]], resolution: str, place: dict[str, float | None]
) -> WeatherTable:
    kind = KINDS[resolution]
    time = np.array([row[kind.name] for row in rows], dtype=f"datetime64[{kind.unit}]")
    columns = {
        name: np.array([float(row[name] or "nan") for row in rows], dtype=np.float64)
        for name in kind.elements
    }
    return checked_table(kind, time, columns, place)
