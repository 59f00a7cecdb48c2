"""Notes about flowers: stages, catkins and buds, crosses and frost.

Stages are BBCH numbers, an open scale: catkins 60 first pollen, 65 half shedding, 69 over;
buds 07 break, 09 green tips, 11 first leaves; husks 89 first nuts roll out.
"""

from typing import Annotated, ClassVar, Literal
from uuid import UUID

from pydantic import Field

from nuttery.records.cane_notes import Count
from nuttery.records.fields import Entry, Fault, Name
from nuttery.records.note import Note, Where

Organ = Literal["catkin", "pistillate flower", "leaf bud", "husk"]


class StageSeen(Note):
    """A stage looked for on a shrub: reached by now, or not yet."""

    title: ClassVar[str] = "stage seen"
    kind: Literal["stage_seen"] = "stage_seen"
    organ: Annotated[Organ, Entry("organ")]
    stage: Annotated[int, Entry("stage (BBCH)", possible=(0, 99))]
    reached: Annotated[bool, Entry("reached", hint="no means: not yet")]


class CatkinsScored(Note):
    """Catkins set for the next bloom, and pistillate buds counted on looked-at twigs."""

    title: ClassVar[str] = "catkins scored"
    kind: Literal["catkins_scored"] = "catkins_scored"
    score: Annotated[Literal["none", "few", "some", "many"] | None, Entry("catkins")] = None
    catkins: Annotated[Count | None, Entry("catkins counted", "count", (0, 5000), (0, 50000))] = (
        None
    )
    twigs: Annotated[Count | None, Entry("twigs looked at", "count", (1, 100), (1, 1000))] = None
    buds: Annotated[
        Count | None, Entry("pistillate buds on them", "count", (0, 400), (0, 9999))
    ] = None

    def own_faults(self) -> list[Fault]:
        """Buds are counted on a known number of twigs; something was looked at."""
        if self.buds is not None and self.twigs is None:
            return [Fault("twigs looked at", "nothing", "the twigs on which buds were counted")]
        if self.score is None and self.catkins is None and self.buds is None:
            return [Fault("catkins", "nothing", "a score or a count")]
        return []


class ClustersCounted(Note):
    """Nut clusters in summer on looked-at twigs: what was set of the flowers."""

    title: ClassVar[str] = "clusters counted"
    kind: Literal["clusters_counted"] = "clusters_counted"
    twigs: Annotated[Count | None, Entry("twigs looked at", "count", (1, 100), (1, 1000))] = None
    flowers: Annotated[
        Count | None, Entry("pistillate flowers there had been", "count", (0, 400), (0, 9999))
    ] = None
    clusters: Annotated[Count, Entry("clusters", "count", (0, 400), (0, 9999))]

    def own_faults(self) -> list[Fault]:
        """No more clusters than flowers."""
        if self.flowers is not None and self.clusters > self.flowers:
            return [Fault("clusters", str(self.clusters), f"at most {self.flowers} (the flowers)")]
        return []


class CrossMade(Note):
    """Pollen of a known shrub put on bagged flowers."""

    title: ClassVar[str] = "cross made"
    kind: Literal["cross_made"] = "cross_made"
    pollen_from: Annotated[Name, Entry("pollen from", hint="a tag or a name")]
    flowers: Annotated[
        Annotated[int, Field(ge=1)] | None, Entry("flowers bagged", "count", (1, 200), (1, 2000))
    ] = None


class CrossCounted(Note):
    """What came of a cross: clusters set under the bag."""

    title: ClassVar[str] = "cross counted"
    kind: Literal["cross_counted"] = "cross_counted"
    cross: Annotated[UUID, Entry("cross", hint="the id of the note of the cross")]
    clusters: Annotated[Count, Entry("clusters set", "count", (0, 200), (0, 2000))]
    took: Annotated[bool, Entry("took", hint="in the grower's judgment")]


class FrostHarm(Note):
    """Harm by frost, organ by organ."""

    title: ClassVar[str] = "frost harm"
    kind: Literal["frost_harm"] = "frost_harm"
    organ: Annotated[
        Literal["catkin", "pistillate flower", "leaf bud", "green shoot", "wood"], Entry("organ")
    ]
    harmed: Annotated[float, Entry("share harmed", "share", None, (0, 1))]
    lowest: Annotated[
        float | None, Entry("lowest temperature", "temperature", (-45, 3), (-60, 10))
    ] = None
    stage: Annotated[int | None, Entry("stage (BBCH)", possible=(0, 99))] = None


class PestSeen(Note):
    """A sign of pest or disease on a shrub, or that none was found on looking."""

    title: ClassVar[str] = "pest or disease seen"
    about: ClassVar[Where] = "shrub"
    kind: Literal["pest_seen"] = "pest_seen"
    sign: Annotated[Name, Entry("sign", hint="such as canker, big bud, grubs, browsing, none")]
    organ: Annotated[
        Literal["cane", "bud", "catkin", "leaf", "husk", "nut", "crown"] | None, Entry("organ")
    ] = None
    share: Annotated[float | None, Entry("share affected", "share", None, (0, 1))] = None
    count: Annotated[Count | None, Entry("number", "count", (0, 500), (0, 9999))] = None
