"""Spreadsheets: reading and writing notes against the bare libraries on the same files.

The plain baselines do no more than walk every cell (openpyxl, csv) or check every note (records).
"""

import csv
import random
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from uuid import UUID

import openpyxl

from nuttery.exchange import read_notes, write_notes
from nuttery.records import Note, note_text, read_note

PLANTING = UUID(int=1)
N = 5000


def made_notes(n):
    dice = random.Random(7)
    start = datetime(2026, 9, 1, 12, tzinfo=UTC)
    notes = []
    for k in range(n):
        moment = start + timedelta(minutes=k)
        notes.append(
            read_note(
                {
                    "kind": "picking",
                    "id": str(UUID(int=dice.getrandbits(128), version=4)),
                    "planting": str(PLANTING),
                    "shrub": f"A{k % 120}",
                    "seen": str(moment.date()),
                    "by": "Ida",
                    "recorded": moment.isoformat(),
                    "mass_kg": round(dice.uniform(0.1, 3), 2),
                    "form": "in husk",
                    "state": "fresh",
                }
            )
        )
    return notes


def seconds(run):
    start = time.perf_counter()
    run()
    return time.perf_counter() - start


def walk_workbook(path):
    return sum(1 for row in openpyxl.load_workbook(path).active.iter_rows() for _ in row)


def walk_csv(path):
    with path.open(newline="", encoding="utf-8-sig") as text:
        return sum(len(row) for row in csv.reader(text))


def write_plain_workbook(notes, path):
    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet("picking")
    names = [*Note.model_fields, "mass_kg", "form", "state"]
    for note in notes:
        sheet.append([None if getattr(note, n) is None else str(getattr(note, n)) for n in names])
    book.save(path)


def read(path):
    return read_notes(
        path, planting=PLANTING, units="US", by="Ida", recorded=datetime(2027, 5, 1, tzinfo=UTC)
    )


def main():
    notes = made_notes(N)
    texts = [note_text(note) for note in notes]
    checking = seconds(lambda: [read_note(text) for text in texts])
    print(f"{N} notes of pickings; checking them alone: {checking:.2f} s")
    with tempfile.TemporaryDirectory() as folder:
        for suffix, walk in ((".xlsx", walk_workbook), (".csv", walk_csv)):
            path = Path(folder) / f"picking{suffix}"
            writing = seconds(lambda p=path: write_notes(notes, p, units="US"))
            walking = seconds(lambda p=path, w=walk: w(p))
            reading = seconds(lambda p=path: read(p))
            print(
                f"{suffix}: write {writing:.2f} s; read {reading:.2f} s, of which walking the "
                f"cells and checking the notes alone {walking + checking:.2f} s: "
                f"ratio {reading / (walking + checking):.1f}"
            )
        plain = seconds(lambda: write_plain_workbook(notes, Path(folder) / "plain.xlsx"))
        print(f"a bare streamed workbook of the same notes: {plain:.2f} s")
        assert sorted(map(note_text, read(path).notes)) == sorted(texts)


if __name__ == "__main__":
    main()
