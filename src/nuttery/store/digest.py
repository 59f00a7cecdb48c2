"""What a shrub's notes amount to, as references to the notes that tell it.

A digest does not depend on the order in which notes are added: of each thing it remembers the
latest note (or the earliest, for a loss) by (seen, recorded, id).
"""

import json
from dataclasses import dataclass, field

from nuttery.records import CaneLabelled, CanesCut, Note
from nuttery.store.rows import DAY, Row

Key = tuple[int, int, str]
"""Place of a note in the order of notes: seen, recorded, id in hexadecimal."""

PLANTED = frozenset({"shrub_planted", "layer_made"})
LATEST = frozenset({"parents_known", "alleles_known", "canes_counted"})
CANES = frozenset({"cane_labelled", "canes_cut"})
LOOKED_INTO = frozenset({*PLANTED, *LATEST, *CANES, "shrub_lost"})
"""Kinds that tell more than that there was a note of them."""

_NEVER: Key = (-(10**18), 0, "")


@dataclass
class Digest:
    """References to the notes that tell what a shrub is.

    Attributes
    ----------
    n_notes : notes that hold
    last : last day seen (days since 1970) of each kind
    planted : places of the notes by which it was planted; more than one is a fault
    lost : place of the first note of its loss
    latest : place of the latest note of each kind in `LATEST`
    labelled, cut : place of the latest note that labelled or cut each cane
    """

    n_notes: int = 0
    last: dict[str, int] = field(default_factory=dict)
    planted: list[Key] = field(default_factory=list)
    lost: Key | None = None
    latest: dict[str, Key] = field(default_factory=dict)
    labelled: dict[str, Key] = field(default_factory=dict)
    cut: dict[str, Key] = field(default_factory=dict)

    def count(self, kind: str, seen: int, notes: int = 1) -> None:
        """Count notes of a kind, the last of them seen at `seen`."""
        self.n_notes += notes
        day = seen // DAY
        if day > self.last.get(kind, -1_000_000):
            self.last[kind] = day

    def look_into(self, kind: str, key: Key, note: Note | None) -> None:
        """Take in what a note of a kind in `LOOKED_INTO` tells; `note` for those in `CANES`."""
        if kind in LATEST:
            _later(self.latest, kind, key)
        elif kind in PLANTED:
            self.planted = sorted([*self.planted, key])
        elif kind == "shrub_lost":
            self.lost = key if self.lost is None else min(self.lost, key)
        elif isinstance(note, CaneLabelled):
            _later(self.labelled, note.cane or "", key)
        elif isinstance(note, CanesCut):
            for cut in note.cuts:
                if cut.cane is not None:
                    _later(self.cut, cut.cane, key)

    def add(self, row: Row, note: Note) -> None:
        """Count a note and take in what it tells."""
        _n, id_, _planting, _shrub, kind, seen, recorded, _hash, _body = row
        self.count(kind, seen)
        if kind in LOOKED_INTO:
            self.look_into(kind, (seen, recorded, id_.hex()), note)

    def canes_standing(self) -> dict[str, Key]:
        """Labelled canes that were not cut since, with the note that labelled them last."""
        return {
            label: key
            for label, key in sorted(self.labelled.items())
            if key > self.cut.get(label, _NEVER)
        }

    def text(self) -> str:
        """Return the digest as JSON, always the same for the same notes."""
        return json.dumps(vars(self), sort_keys=True, separators=(",", ":"))


def _later(places: dict[str, Key], name: str, key: Key) -> None:
    if name not in places or key > places[name]:
        places[name] = key


def digest_from(text: str) -> Digest:
    """Return the digest that `Digest.text` wrote.

    Examples
    --------
    >>> digest_from(Digest(3, last={"remark": 20000}).text()).n_notes
    3
    """
    data = json.loads(text)
    for name in ("latest", "labelled", "cut"):
        data[name] = {key: tuple(place) for key, place in data[name].items()}
    data["planted"] = [tuple(place) for place in data["planted"]]
    data["lost"] = None if data["lost"] is None else tuple(data["lost"])
    return Digest(**data)
