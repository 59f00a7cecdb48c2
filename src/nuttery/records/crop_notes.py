"""Notes about nuts: roll-out, pickings, samples and drying."""

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from nuttery.records.cane_notes import Count
from nuttery.records.fields import Entry, Fault, Name, limit_faults
from nuttery.records.note import Note, Part, Where

Form = Literal["in husk", "in shell", "kernel"]
Basis = Literal["wet basis", "dry basis"]
Fill = Literal["empty", "under 1/4", "1/4 to 1/2", "1/2 or more"]
Defect = Literal["mould", "rancid", "weevil", "worm", "split shell", "shrivelled", "twin", "other"]
Shape = Literal["round", "long"]

Moisture = Annotated[
    float | None, Entry("moisture", "share", (0.02, 0.6), (0, 3), "with its basis")
]


class RollOut(Note):
    """Nuts pressed by the thumb at several places of a shrub, and how many rolled out."""

    title: ClassVar[str] = "roll-out test"
    kind: Literal["roll_out"] = "roll_out"
    tried: Annotated[Annotated[int, Field(ge=1)], Entry("nuts tried", "count", (1, 40), (1, 500))]
    rolled: Annotated[Count, Entry("nuts that rolled out", "count", (0, 40), (0, 500))]

    def own_faults(self) -> list[Fault]:
        """No more roll out than were tried."""
        if self.rolled > self.tried:
            return [Fault("nuts that rolled out", str(self.rolled), f"at most {self.tried}")]
        return []


class Picking(Note):
    """One harvest of one shrub on one day."""

    title: ClassVar[str] = "picking"
    kind: Literal["picking"] = "picking"
    mass_kg: Annotated[float, Entry("mass", "mass", (0.005, 12), (0, 60))]
    form: Annotated[Form, Entry("form")]
    state: Annotated[Literal["fresh", "dry"], Entry("fresh or dry")]
    moisture: Moisture = None
    basis: Annotated[Basis | None, Entry("basis of the moisture")] = None
    batch: Annotated[Name | None, Entry("batch", hint="where it is drying")] = None
    lost_to_animals: Annotated[
        float | None, Entry("share taken by animals before", "share", None, (0, 1))
    ] = None
    minutes: Annotated[float | None, Entry("time taken", "minutes", (0.2, 120), (0, 600))] = None

    def own_faults(self) -> list[Fault]:
        """A moisture without its basis means nothing."""
        return basis_faults(self.moisture, self.basis)


def basis_faults(moisture: float | None, basis: str | None) -> list[Fault]:
    """Faults of a moisture and its basis taken together."""
    if moisture is None and basis is None:
        return []
    if moisture is None:
        return [Fault("moisture", "nothing", f"a moisture for the {basis}, or neither")]
    if basis is None:
        return [Fault("basis of the moisture", "nothing", '"wet basis" or "dry basis"')]
    if basis == "wet basis" and moisture >= 1:
        return [Fault("moisture", f"{moisture:.0%} wet basis", "under 100 % on the wet basis")]
    return []


class Nut(Part):
    """One nut, cracked and measured; what was not measured is left out."""

    mass_g: Annotated[float | None, Entry("nut mass", "small mass", (0.3, 6), (0, 20))] = None
    kernel_g: Annotated[float | None, Entry("kernel mass", "small mass", (0, 3), (0, 10))] = None
    length_mm: Annotated[float | None, Entry("length", "small length", (8, 35), (1, 60))] = None
    width_mm: Annotated[float | None, Entry("width", "small length", (6, 30), (1, 60))] = None
    depth_mm: Annotated[float | None, Entry("depth", "small length", (6, 30), (1, 60))] = None
    shell_mm: Annotated[float | None, Entry("shell", "small length", (0.3, 3.5), (0.1, 10))] = None
    kernel_mm: Annotated[
        float | None, Entry("kernel diameter", "small length", (6, 20), (1, 40))
    ] = None
    fill: Annotated[Fill | None, Entry("fill of the shell")] = None
    defects: Annotated[tuple[Defect, ...], Entry("defects")] = ()


class Sample(Note):
    """Nuts of a shrub cracked and measured one by one."""

    title: ClassVar[str] = "sample"
    kind: Literal["sample"] = "sample"
    nuts: Annotated[tuple[Nut, ...], Entry("nuts")]
    state: Annotated[Literal["fresh", "dry"], Entry("fresh or dry")] = "dry"
    moisture: Moisture = None
    basis: Annotated[Basis | None, Entry("basis of the moisture")] = None

    def own_faults(self) -> list[Fault]:
        """Each nut within limits, no kernel heavier than its nut."""
        faults = basis_faults(self.moisture, self.basis)
        if not self.nuts:
            faults.append(Fault("nuts", "none", "at least one nut"))
        for k, nut in enumerate(self.nuts, start=1):
            faults += _nut_faults(f"nut {k}, ", nut)
        return faults


def _nut_faults(prefix: str, nut: Nut) -> list[Fault]:
    faults = []
    for name, field in Nut.model_fields.items():
        for entry in field.metadata:
            if isinstance(entry, Entry):
                faults += limit_faults(prefix, entry, getattr(nut, name))
    if nut.mass_g is not None and nut.kernel_g is not None and nut.kernel_g > nut.mass_g:
        wanted = f"at most the nut's {nut.mass_g:g} g"
        faults.append(Fault(f"{prefix}kernel mass", f"{nut.kernel_g:g} g", wanted))
    sides = [mm for mm in (nut.length_mm, nut.width_mm, nut.depth_mm) if mm is not None]
    if nut.kernel_mm is not None and sides and nut.kernel_mm > max(sides):
        wanted = f"at most the nut's {max(sides):g} mm"
        faults.append(Fault(f"{prefix}kernel diameter", f"{nut.kernel_mm:g} mm", wanted))
    return faults


class DryingWeighed(Note):
    """A drying batch put on the scale."""

    title: ClassVar[str] = "drying weighed"
    about: ClassVar[Where] = "anywhere"
    kind: Literal["drying_weighed"] = "drying_weighed"
    batch: Annotated[Name, Entry("batch")]
    mass_kg: Annotated[float, Entry("mass", "mass", (0.05, 100), (0, 5000))]
    form: Annotated[Form, Entry("form")] = "in shell"
    air_temp: Annotated[
        float | None, Entry("air temperature", "temperature", (0, 38), (-10, 80))
    ] = None
    air_humidity: Annotated[float | None, Entry("air humidity", "share", None, (0, 1))] = None
    moisture: Moisture = None
    basis: Annotated[Basis | None, Entry("basis of the moisture")] = None

    def own_faults(self) -> list[Fault]:
        """A moisture without its basis means nothing."""
        return basis_faults(self.moisture, self.basis)
