"""Keeps batches of remarks, and prints the ids of each batch once it was kept."""

import sys
from datetime import date
from uuid import UUID

from nuttery.records import Remark, new_id, utc_now
from nuttery.store import Register


def remark(planting, k):
    return Remark(
        id=new_id(),
        planting=UUID(planting),
        shrub=f"A-{k % 5 + 1}",
        seen=date(2026, 2, 1),
        by="Ida",
        recorded=utc_now(),
        remark="x" * 200,
    )


def main():
    where, planting, size, batches = sys.argv[1:]
    with Register.open(where) as register:
        print("ready", flush=True)  # noqa: T201 - what the test reads
        for _ in range(int(batches)):
            notes = [remark(planting, k) for k in range(int(size))]
            kept = register.keep(notes)
            assert kept.added == len(notes)
            print(" ".join(note.id.hex for note in notes), flush=True)  # noqa: T201 - as above


if __name__ == "__main__":
    main()
