"""The head that every note has: who saw what where and when, and the note's own id."""

from datetime import UTC, date, datetime, time
from typing import Annotated, ClassVar, Literal
from uuid import UUID

from pydantic import AwareDatetime, BaseModel, ConfigDict

from nuttery.records.fields import Entry, Fault, Name, Tag, Text, entries, limit_faults

Where = Literal["shrub", "cane", "planting", "anywhere"]


def new_id() -> UUID:
    """Return a new UUIDv7: unique without asking anyone, and in order of time."""
    import uuid_utils.compat

    return uuid_utils.compat.uuid7()


class Part(BaseModel):
    """A part of a note, such as one nut of a sample."""

    model_config = ConfigDict(strict=True, extra="forbid", allow_inf_nan=False, frozen=True)


class Note(Part):
    """Anything observed on a shrub or cane at a time; immutable, with its own id."""

    title: ClassVar[str] = ""
    about: ClassVar[Where] = "shrub"

    id: UUID
    kind: str
    planting: UUID
    shrub: Annotated[Tag | None, Entry("shrub", hint="the tag on the shrub")] = None
    cane: Annotated[Tag | None, Entry("cane", hint="the label on the cane")] = None
    seen: Annotated[date, Entry("day seen")]
    seen_at: Annotated[time | None, Entry("time seen")] = None
    by: Annotated[Name, Entry("seen by")]
    recorded: AwareDatetime
    device: Name = "unknown"
    remark: Annotated[Text | None, Entry("remark")] = None
    photo: Annotated[Name | None, Entry("photo", hint="the photo's file name")] = None
    means_it: bool = False
    stands_in_for: UUID | None = None

    def own_faults(self) -> list[Fault]:
        """Faults that no limit of a single entry can tell; kinds add theirs."""
        return []

    def faults(self) -> list[Fault]:
        """Everything wrong with this note, overruled limits left out."""
        found = _head_faults(self) + self.own_faults()
        for name, entry in entries(type(self)).items():
            found += limit_faults("", entry, getattr(self, name))
        return [f for f in found if not (self.means_it and f.overrulable)]


def _head_faults(note: Note) -> list[Fault]:
    faults = []
    if note.about in {"shrub", "cane"} and note.shrub is None:
        faults.append(Fault("shrub", "nothing", "the tag of a shrub"))
    if note.about == "cane" and note.cane is None:
        faults.append(Fault("cane", "nothing", "the label of a cane"))
    if note.about == "anywhere" and note.cane is not None and note.shrub is None:
        faults.append(Fault("shrub", "nothing", "the tag of the shrub on which the cane stands"))
    if note.about == "planting" and note.shrub is not None:
        faults.append(Fault("shrub", repr(note.shrub), "no shrub: this is about the planting"))
    if note.about == "planting" and note.cane is not None:
        faults.append(Fault("cane", repr(note.cane), "no cane: this is about the planting"))
    # A day's slack: the day in the field may be ahead of the day in UTC.
    if (note.seen - note.recorded.astimezone(UTC).date()).days > 1:
        faults.append(Fault("day seen", str(note.seen), f"no later than {note.recorded.date()}"))
    if note.seen < date(1950, 1, 1):
        faults.append(Fault("day seen", str(note.seen), "1950 or later", overrulable=True))
    return faults


def utc_now() -> datetime:
    """Return the present moment, in UTC, to the millisecond."""
    now = datetime.now(UTC)
    return now.replace(microsecond=now.microsecond // 1000 * 1000)
