"""The observer's pen: makes notes with repeatable ids, writers and times."""

import hashlib
from datetime import UTC, date, datetime, timedelta
from typing import Any, TypeVar
from uuid import UUID

import numpy as np

from nuttery.records import Note

Kind = TypeVar("Kind", bound=Note)
PEOPLE = ("Ida", "Ida", "Ida", "Bram", "Noor")
"""Invented people: one who does most of it, two who help."""


def visits(first: date, last: date, rng: np.random.Generator) -> list[date]:
    """Days of visits, about weekly."""
    days, day = [], first
    while day <= last:
        days.append(day)
        day += timedelta(days=int(rng.integers(5, 10)))
    return days


class Pen:
    """Makes notes one after another; the same calls make the same notes on every machine."""

    def __init__(self, seed: int) -> None:
        self._seed = seed
        self._count = 0
        self.planting = self._id(datetime(2013, 4, 1, tzinfo=UTC))

    def _id(self, at: datetime) -> UUID:
        """A UUIDv7 whose random part comes from the seed and a running number."""
        self._count += 1
        noise = hashlib.sha256(f"{self._seed}:{self._count}".encode()).digest()
        value = (int(at.timestamp() * 1000) & (2**48 - 1)) << 80
        value |= 0x7 << 76 | (self._count & 0xFFF) << 64
        value |= 0b10 << 62 | int.from_bytes(noise[:8], "big") >> 2
        return UUID(int=value)

    def write(self, kind: type[Kind], seen: date, shrub: str | None = None, **entries: Any) -> Kind:  # noqa: ANN401 - entries differ by kind
        """Return a note of that kind, seen on that day and recorded the same afternoon (UTC)."""
        minute = self._count * 7 % 420
        recorded = datetime(seen.year, seen.month, seen.day, 15, tzinfo=UTC)
        recorded += timedelta(minutes=minute, seconds=self._count % 60)
        return kind(
            id=self._id(recorded),
            planting=self.planting,
            shrub=shrub,
            seen=seen,
            by=PEOPLE[seen.toordinal() % len(PEOPLE)],
            recorded=recorded,
            device="pocket" if seen.month in (4, 5, 8, 9) else "table",
            **entries,
        )
