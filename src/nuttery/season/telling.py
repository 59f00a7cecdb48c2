"""A note in a line of plain words, in the planting's units."""

from collections.abc import Callable
from typing import Any

from nuttery.records import (
    CanesCounted,
    CanesCut,
    Note,
    Picking,
    RollOut,
    Sample,
    StageSeen,
    System,
    entries,
    told,
)

_HEAD = {"shrub", "cane", "seen", "seen_at", "by", "remark", "photo"}
STAGE_WORDS = {
    ("catkin", 60): "first pollen",
    ("catkin", 65): "half of the catkins shedding",
    ("catkin", 69): "shedding over",
    ("pistillate flower", 60): "stigmas out",
    ("pistillate flower", 69): "stigmas withered",
    ("leaf bud", 7): "buds breaking",
    ("leaf bud", 9): "green tips",
    ("leaf bud", 11): "first leaves",
}


def words(note: Note, system: System) -> str:
    """Return what a note says, without its head.

    Parameters
    ----------
    note : any note
    system : units to tell it in
    """
    teller = _TELLERS.get(type(note))
    said = teller(note, system) if teller else _listed(note, system)
    return f"{said}. {note.remark}" if note.remark and said else said or note.remark or note.title


def _listed(note: Note, system: System) -> str:
    parts = []
    for name, entry in entries(type(note)).items():
        value = getattr(note, name)
        if name in _HEAD or value is None or value == ():
            continue
        parts.append(f"{entry.label} {_told_value(value, entry.quantity, system)}")
    return f"{note.title}: {', '.join(parts)}" if parts else note.title


def _told_value(value: Any, quantity: Any, system: System) -> str:  # noqa: ANN401 - any entry
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dict):
        return ", ".join(f"{key}: {number}" for key, number in value.items())
    if isinstance(value, tuple):
        return ", ".join(str(part) for part in value)
    if quantity is not None and isinstance(value, int | float):
        return told(float(value), quantity, system)
    return str(value)


def _stage(note: StageSeen, _system: System) -> str:
    stage = STAGE_WORDS.get((note.organ, note.stage), f"stage {note.stage}")
    return f"{note.organ}: {stage}" if note.reached else f"{note.organ}: not yet {stage}"


def _count(note: CanesCounted, _system: System) -> str:
    total = note.standing
    shares = note.by_age or note.by_year or {}
    if total is None:
        total = sum((note.by_size or shares or {}).values())
    ages = ", ".join(f"{n} of {age}" for age, n in shares.items() if n)
    within = f", ages within {note.age_spread:g}" if note.age_spread else ""
    return f"{total} canes stand" + (f" ({ages}{within})" if ages else "")


def _cut(note: CanesCut, _system: System) -> str:
    parts = []
    for cut in note.cuts:
        which = (
            f"cane {cut.cane}" if cut.cane else f"of age {cut.age}" if cut.age else "of no age told"
        )
        parts.append(f"{cut.canes} {which} ({cut.why})")
    return f"sawn out: {', '.join(parts)}"


def _picking(note: Picking, system: System) -> str:
    return f"picked {told(note.mass_kg, 'mass', system)} {note.form}, {note.state}"


def _roll_out(note: RollOut, _system: System) -> str:
    return f"{note.rolled} of {note.tried} nuts rolled out"


def _sample(note: Sample, system: System) -> str:
    masses = [nut.mass_g for nut in note.nuts if nut.mass_g is not None]
    kernels = [n.kernel_g for n in note.nuts if n.kernel_g is not None and n.mass_g is not None]
    said = f"{len(note.nuts)} nuts cracked"
    if masses:
        said += f", {told(sum(masses) / len(masses), 'small mass', system)} a nut"
    if masses and kernels:
        said += f", {sum(kernels) / sum(masses):.0%} kernel"
    return said


_TELLERS: dict[type[Note], Callable[[Any, System], str]] = {
    StageSeen: _stage,
    CanesCounted: _count,
    CanesCut: _cut,
    Picking: _picking,
    RollOut: _roll_out,
    Sample: _sample,
}
