"""Notes about canes: counted, labelled, aged, cut and kept.

The age of a cane is the number of growing seasons it has completed: a cane that came up in summer
u is Y - u + 1 years old in the winter that follows summer Y.
"""

from collections.abc import Mapping
from typing import Annotated, ClassVar, Literal

from pydantic import AfterValidator, Field

from nuttery.records.fields import Entry, Fault, Tag, entries
from nuttery.records.note import Note, Part, Where

SizeClass = Literal["thin", "middling", "thick"]
SIZE_CLASS_MM: dict[SizeClass, tuple[float, float]] = {
    "thin": (0.0, 15.0),
    "middling": (15.0, 30.0),
    "thick": (30.0, 200.0),
}
"""Base diameter at 10 cm of each size class; our own classes, chosen to be told by eye."""

Bark = Literal["smooth", "fading", "rough"]
CutReason = Literal["age", "dead", "canker", "crowded", "broken"]
Count = Annotated[int, Field(ge=0)]
_CANES = (0, 150)
_MANY = (0, 60)

Diameter = Annotated[
    float | None,
    Entry("cane base", "small length", (3, 120), (1, 500), "across the cane 10 cm above ground"),
]


def _in_order(counts: dict[int, int] | None) -> dict[int, int] | None:
    # The same counts give the same text, in whatever order they came.
    return None if counts is None else dict(sorted(counts.items()))


def _sizes_in_order(counts: dict[SizeClass, int] | None) -> dict[SizeClass, int] | None:
    return None if counts is None else {k: counts[k] for k in SIZE_CLASS_MM if k in counts}


class CanesCounted(Note):
    """Living canes of a stool. An entry left out was not looked at; 0 means none was there."""

    title: ClassVar[str] = "canes counted"
    kind: Literal["canes_counted"] = "canes_counted"
    standing: Annotated[Count | None, Entry("canes standing", "count", _MANY, _CANES)] = None
    by_age: Annotated[
        dict[int, Count] | None,
        AfterValidator(_in_order),
        Entry("canes of age", "count", (0, 40), _CANES, "winters, from 1"),
    ] = None
    by_year: Annotated[
        dict[int, Count] | None,
        AfterValidator(_in_order),
        Entry("canes that came up in", "count", (0, 40), _CANES),
    ] = None
    by_size: Annotated[
        dict[SizeClass, Count] | None,
        AfterValidator(_sizes_in_order),
        Entry("canes by size", "count", (0, 40), _CANES),
    ] = None
    and_older: Annotated[
        int | None, Entry("oldest age stands for that age and older", possible=(1, 60))
    ] = None
    age_spread: Annotated[
        float | None, Entry("ages judged to within", "years", (0, 6), (0, 20))
    ] = None
    dead: Annotated[Count | None, Entry("dead canes", "count", _MANY, _CANES)] = None

    def own_faults(self) -> list[Fault]:
        """One breakdown at most, and it adds up to what stands."""
        parts: list[Mapping[int, int] | Mapping[SizeClass, int]]
        parts = [p for p in (self.by_age, self.by_year, self.by_size) if p]
        faults = [*_key_faults("canes of age", self.by_age, 0, 60)]
        faults += _key_faults("canes that came up in", self.by_year, 1900, self.seen.year)
        faults += self._empty_breakdowns()
        if self.standing is None and not parts:
            faults.append(
                Fault("canes standing", "nothing", "a total, or canes by age, year or size")
            )
        if len(parts) > 1:
            faults.append(Fault("canes of age", "several breakdowns", "by age, by year or by size"))
        if self.standing is not None and len(parts) == 1:
            total = sum(parts[0].values())
            if total != self.standing:
                faults.append(Fault("canes standing", str(self.standing), f"the sum, {total}"))
        return faults

    def _empty_breakdowns(self) -> list[Fault]:
        labels = entries(type(self))
        return [
            Fault(labels[name].label, "nothing", "at least one count, or leave it out")
            for name in ("by_age", "by_year", "by_size")
            if getattr(self, name) == {}
        ]


def _key_faults(label: str, counts: dict[int, int] | None, low: int, high: int) -> list[Fault]:
    wrong = [key for key in counts or {} if not low <= key <= high]
    return [Fault(label, str(key), f"{low} to {high}") for key in wrong]


class CaneLabelled(Note):
    """A cane given a label of its own, with its looks and its age if known."""

    title: ClassVar[str] = "cane labelled"
    about: ClassVar[Where] = "cane"
    kind: Literal["cane_labelled"] = "cane_labelled"
    came_up: Annotated[int | None, Entry("year it came up", possible=(1900, 2200))] = None
    spread: Annotated[
        float | None, Entry("known to within", "years", (0, 6), (0, 20), "0 if sure")
    ] = None
    compass: Annotated[
        float | None, Entry("place on the stool", "angle", None, (0, 360), "0 is north, 90 east")
    ] = None
    diameter_mm: Diameter = None
    bark: Annotated[Bark | None, Entry("bark")] = None

    def own_faults(self) -> list[Fault]:
        """No cane came up after it was seen."""
        if self.came_up is not None and self.came_up > self.seen.year:
            wanted = f"{self.seen.year} or before"
            return [Fault("year it came up", str(self.came_up), wanted)]
        return []


class RingsCounted(Note):
    """Year rings of a sawn stub: the real check of an age judged from looks."""

    title: ClassVar[str] = "rings counted"
    kind: Literal["rings_counted"] = "rings_counted"
    rings: Annotated[int, Entry("rings", "count", (1, 25), (1, 80))]
    diameter_mm: Diameter = None
    bark: Annotated[Bark | None, Entry("bark")] = None


class Cut(Part):
    """Canes cut for one reason: a labelled one, or so many of an age."""

    why: Annotated[CutReason, Entry("why")]
    cane: Annotated[Tag | None, Entry("cane cut", hint="its label, if it has one")] = None
    age: Annotated[
        Annotated[int, Field(ge=0, le=80)] | None, Entry("age of the canes cut", "years")
    ] = None
    canes: Annotated[Annotated[int, Field(ge=1, le=150)], Entry("how many of them", "count")] = 1


class CanesCut(Note):
    """Canes sawn out at the ground."""

    title: ClassVar[str] = "canes cut"
    kind: Literal["canes_cut"] = "canes_cut"
    cuts: Annotated[tuple[Cut, ...], Entry("canes cut")]
    minutes: Annotated[float | None, Entry("time taken", "minutes", (0.2, 60), (0, 600))] = None

    def own_faults(self) -> list[Fault]:
        """Something was cut."""
        return [] if self.cuts else [Fault("canes cut", "nothing", "at least one cane")]


class SuckersKept(Note):
    """Shoots of the past summer kept as new canes, of those that came up."""

    title: ClassVar[str] = "suckers kept"
    kind: Literal["suckers_kept"] = "suckers_kept"
    kept: Annotated[Count, Entry("suckers kept", "count", (0, 30), (0, 150))]
    came_up: Annotated[Count | None, Entry("suckers that came up", "count", (0, 80), (0, 300))] = (
        None
    )

    def own_faults(self) -> list[Fault]:
        """No more are kept than came up."""
        if self.came_up is not None and self.kept > self.came_up:
            return [Fault("suckers kept", str(self.kept), f"at most {self.came_up}")]
        return []
