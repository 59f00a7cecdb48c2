"""Notes about the planting itself, its shrubs, their parents and their places."""

from typing import Annotated, ClassVar, Literal
from zoneinfo import available_timezones

from nuttery.records.fields import Entry, Fault, Name, Tag, Text
from nuttery.records.note import Note, Where
from nuttery.records.units import System

_METRES = (-5000.0, 5000.0)
X = Annotated[float | None, Entry("east of the origin", "length", (-3000, 3000), _METRES)]
Y = Annotated[float | None, Entry("north of the origin", "length", (-3000, 3000), _METRES)]
Row = Annotated[int | None, Entry("row", possible=(0, 9999))]
Number = Annotated[int | None, Entry("number in the row", possible=(0, 9999))]


class PlantingDescribed(Note):
    """Name, place, time zone and units of the planting; the latest one holds."""

    title: ClassVar[str] = "planting described"
    about: ClassVar[Where] = "planting"
    kind: Literal["planting_described"] = "planting_described"
    name: Annotated[Name, Entry("name of the planting")]
    latitude: Annotated[float, Entry("latitude", "angle", (25, 65), (-90, 90), "degrees north")]
    longitude: Annotated[float, Entry("longitude", "angle", None, (-180, 180), "degrees east")]
    elevation: Annotated[
        float | None, Entry("elevation", "elevation", (-10, 3000), (-430, 6000))
    ] = None
    time_zone: Annotated[Name, Entry("time zone", hint="such as America/Chicago")] = "UTC"
    units: Annotated[System, Entry("units")] = "metric"
    invented: bool = False

    def own_faults(self) -> list[Fault]:
        """Only time zones of the open time zone database are known."""
        if self.time_zone in available_timezones():
            return []
        return [Fault("time zone", repr(self.time_zone), "a name such as America/Chicago")]


class ShrubPlanted(Note):
    """A shrub set in its place."""

    title: ClassVar[str] = "shrub planted"
    kind: Literal["shrub_planted"] = "shrub_planted"
    x: X = None
    y: Y = None
    row: Row = None
    number: Number = None
    seed_lot: Annotated[Name | None, Entry("seed lot")] = None
    came_from: Annotated[Name | None, Entry("came from")] = None
    seed_year: Annotated[int | None, Entry("year sown", possible=(1900, 2200))] = None

    def own_faults(self) -> list[Fault]:
        """A place is both coordinates or neither."""
        return place_faults(self.x, self.y)


def place_faults(x: float | None, y: float | None) -> list[Fault]:
    """Faults of a place that has one coordinate without the other."""
    if (x is None) == (y is None):
        return []
    entry = "north of the origin" if y is None else "east of the origin"
    return [Fault(entry, "nothing", "a place both east and north, or neither")]


class LayerMade(Note):
    """A clonal copy of a shrub, set in a place of its own: the same genotype."""

    title: ClassVar[str] = "layer made"
    kind: Literal["layer_made"] = "layer_made"
    copy_of: Annotated[Tag, Entry("layer of", hint="the tag of the shrub it was taken from")]
    x: X = None
    y: Y = None
    row: Row = None
    number: Number = None

    def own_faults(self) -> list[Fault]:
        """A shrub is no layer of itself."""
        faults = place_faults(self.x, self.y)
        if self.copy_of == self.shrub:
            faults.append(Fault("layer of", repr(self.copy_of), "the tag of another shrub"))
        return faults


class ShrubLost(Note):
    """A shrub that is dead or gone."""

    title: ClassVar[str] = "shrub lost"
    kind: Literal["shrub_lost"] = "shrub_lost"
    reason: Annotated[
        Literal["winter", "drought", "animals", "disease", "removed", "unknown"], Entry("reason")
    ] = "unknown"


class ParentsKnown(Note):
    """Mother and possible fathers of a shrub, or of a whole seed lot."""

    title: ClassVar[str] = "parents known"
    about: ClassVar[Where] = "anywhere"
    kind: Literal["parents_known"] = "parents_known"
    seed_lot: Annotated[Name | None, Entry("seed lot")] = None
    mother: Annotated[Name | None, Entry("mother", hint="a tag or a name")] = None
    fathers: Annotated[
        tuple[Name, ...], Entry("fathers", hint="one, several possible, or none if unknown")
    ] = ()

    def own_faults(self) -> list[Fault]:
        """Parents are those of one shrub or of one seed lot."""
        if (self.shrub is None) == (self.seed_lot is None):
            return [Fault("seed lot", repr(self.seed_lot), "either a shrub or a seed lot")]
        return []


class AllelesKnown(Note):
    """A test report of a shrub's S-alleles."""

    title: ClassVar[str] = "S-alleles known"
    about: ClassVar[Where] = "anywhere"
    kind: Literal["alleles_known"] = "alleles_known"
    parent: Annotated[Name | None, Entry("parent", hint="a parent that stands elsewhere")] = None
    first: Annotated[int, Entry("first allele", possible=(1, 99))]
    second: Annotated[int, Entry("second allele", possible=(1, 99))]
    shown: Annotated[
        tuple[int, ...], Entry("alleles shown by its pollen", hint="if the report tells")
    ] = ()
    report: Annotated[Name | None, Entry("report")] = None

    def own_faults(self) -> list[Fault]:
        """What the pollen shows is part of the genotype."""
        faults = []
        strange = sorted(set(self.shown) - {self.first, self.second})
        if strange:
            told = ", ".join(map(str, strange))
            faults.append(Fault("alleles shown by its pollen", told, "alleles of the genotype"))
        if (self.shrub is None) == (self.parent is None):
            faults.append(Fault("parent", repr(self.parent), "either a shrub or a parent"))
        return faults


class ValueSet(Note):
    """A value of the reference room replaced for this planting, with the grower's own source."""

    title: ClassVar[str] = "value set"
    about: ClassVar[Where] = "planting"
    kind: Literal["value_set"] = "value_set"
    name: Annotated[Name, Entry("which value")]
    value: Annotated[float | None, Entry("value", hint="nothing: back to the shipped one")] = None
    source: Annotated[Text | None, Entry("source")] = None
