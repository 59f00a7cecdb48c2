"""Notes of every other kind: size, water, photo, remark, and taking a note back."""

from typing import Annotated, ClassVar, Literal

from nuttery.records.fields import Entry, Fault
from nuttery.records.note import Note, Where


class SizeMeasured(Note):
    """Height and width of a shrub."""

    title: ClassVar[str] = "size measured"
    kind: Literal["size_measured"] = "size_measured"
    height_m: Annotated[float | None, Entry("height", "length", (0.1, 6), (0, 15))] = None
    width_m: Annotated[float | None, Entry("width", "length", (0.1, 6), (0, 15))] = None

    def own_faults(self) -> list[Fault]:
        """Something was measured."""
        if self.height_m is None and self.width_m is None:
            return [Fault("height", "nothing", "a height or a width")]
        return []


class WaterGiven(Note):
    """Water given to a shrub (litres) or to the whole planting (depth)."""

    title: ClassVar[str] = "water given"
    about: ClassVar[Where] = "anywhere"
    kind: Literal["water_given"] = "water_given"
    litres: Annotated[float | None, Entry("water", "water", (0.5, 200), (0, 5000))] = None
    depth_mm: Annotated[float | None, Entry("depth of water", "depth", (1, 60), (0, 300))] = None

    def own_faults(self) -> list[Fault]:
        """Either litres or a depth."""
        if (self.litres is None) == (self.depth_mm is None):
            return [Fault("water", "both or none", "litres for a shrub, or a depth")]
        return []


class Photo(Note):
    """A photo of a shrub, a cane or the planting."""

    title: ClassVar[str] = "photo"
    about: ClassVar[Where] = "anywhere"
    kind: Literal["photo"] = "photo"

    def own_faults(self) -> list[Fault]:
        """There is a photo."""
        return [] if self.photo else [Fault("photo", "nothing", "the photo's file name")]


class Remark(Note):
    """Anything else worth keeping."""

    title: ClassVar[str] = "remark"
    about: ClassVar[Where] = "anywhere"
    kind: Literal["remark"] = "remark"

    def own_faults(self) -> list[Fault]:
        """There is a remark."""
        return [] if self.remark else [Fault("remark", "nothing", "some words")]


class Withdrawn(Note):
    """An older note taken back: it stands in for that note with nothing."""

    title: ClassVar[str] = "note withdrawn"
    about: ClassVar[Where] = "anywhere"
    kind: Literal["withdrawn"] = "withdrawn"

    def own_faults(self) -> list[Fault]:
        """It says which note."""
        if self.stands_in_for is None:
            return [Fault("note withdrawn", "nothing", "the id of the note to take back")]
        return []
