"""Notes as JSON Lines: one note a line, exactly as the register keeps it."""

from collections.abc import Iterable
from pathlib import Path
from typing import TextIO
from uuid import UUID

from nuttery.exchange.sheets.delimited import decoded
from nuttery.exchange.sheets.faults import ImportFault, ImportRefused
from nuttery.exchange.sheets.sources import check_size
from nuttery.records import Note, NoteRefused, note_text, read_note


def lines_notes(path: Path, planting: UUID) -> tuple[Note, ...]:
    """Notes of a file of JSON Lines.

    Raises
    ------
    ImportRefused
        With every line that is no note of this planting.
    """
    check_size(path)
    notes: list[Note] = []
    faults: list[ImportFault] = []
    # Only a line feed parts lines: other separators may stand inside a text.
    for number, line in enumerate(decoded(path.read_bytes(), path.name).text.split("\n"), start=1):
        if not line.strip():
            continue
        try:
            note = read_note(line)
        except NoteRefused as problem:
            faults += [
                ImportFault(path.name, None, number, f.entry, f.found, f.expected)
                for f in problem.faults
            ]
            continue
        if note.planting != planting:
            found = f"a note of another planting ({note.planting})"
            faults.append(ImportFault(path.name, None, number, None, found, str(planting)))
        notes.append(note)
    if faults:
        raise ImportRefused(faults)
    return tuple(notes)


def write_lines(notes: Iterable[Note], out: TextIO) -> None:
    """Write notes, one a line."""
    out.writelines(note_text(note) + "\n" for note in notes)
