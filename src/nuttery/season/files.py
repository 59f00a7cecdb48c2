"""Notes and answers as files: spreadsheets in, spreadsheets, map and calendar out."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import Literal

from nuttery.exchange import (
    ImportedNotes,
    planting_geojson,
    read_notes,
    work_calendar,
    write_notes,
    write_table,
    write_template,
)
from nuttery.records import ValueSet, utc_now
from nuttery.season.errors import WrongQuestion
from nuttery.season.line import Line
from nuttery.season.plan import SeasonPlan
from nuttery.season.planting import Planting
from nuttery.season.values import held_value
from nuttery.store import NotKnown

DayOrder = Literal["day first", "month first", "year first"]
DecimalMark = Literal[".", ","]


@dataclass(frozen=True)
class NotesIn:
    """What an import did: notes new to the register, and those that it held already."""

    added: int
    already: int


class _Kept:
    """The ids that a register holds, asked one at a time."""

    def __init__(self, planting: Planting) -> None:
        self._register = planting.register

    def __contains__(self, note: object) -> bool:
        try:
            self._register.note(note)  # type: ignore[arg-type]
        except NotKnown:
            return False
        return True


def look_into(
    planting: Planting,
    file: Path,
    *,
    by: str,
    day_order: DayOrder | None = None,
    decimal_mark: DecimalMark | None = None,
) -> ImportedNotes:
    """Read the notes of a file without keeping any; `.told` says what was detected.

    Parameters
    ----------
    planting : the planting the notes are of
    file : spreadsheet, delimited text or JSON Lines
    by : who saw it, where the file does not say
    day_order, decimal_mark : of dates and numbers typed as text; detected if None

    Raises
    ------
    ValueError
        With every fault of the file: sheet, row, column, found and expected.
    """
    found = read_notes(
        file,
        planting=planting.about.planting,
        units=planting.about.units,
        by=by,
        recorded=utc_now(),
        day_order=day_order,
        decimal_mark=decimal_mark,
        known_shrubs=_every_tag(planting),
    )
    _refuse_unknown_values(planting, file, found)
    return found


def _refuse_unknown_values(planting: Planting, file: Path, found: ImportedNotes) -> None:
    """Refuse a value of a name that means nothing here; those kept long ago may stand."""
    for note in found.unknown_to(_Kept(planting)):
        if isinstance(note, ValueSet):
            try:
                held_value(planting, note.name)
            except WrongQuestion as unknown:
                raise WrongQuestion(f"{file.name}: {unknown}") from None


def _every_tag(planting: Planting) -> frozenset[str]:
    """Tags of all shrubs ever planted: notes of lost ones may still come in."""
    return frozenset(s.tag for s in planting.register.shrubs(planting.about.planting))


def keep_notes(planting: Planting, found: ImportedNotes) -> NotesIn:
    """Keep what was read from a file, all or nothing; the same file twice adds nothing."""
    new = found.unknown_to(_Kept(planting))
    kept = planting.register.keep(new)
    return NotesIn(kept.added, kept.already + len(found.notes) - len(new))


def template(planting: Planting | None, file: Path, *, units: Literal["metric", "US"]) -> None:
    """Write a workbook to fill in; with a planting, its units and its shrubs' tags."""
    if planting is None:
        write_template(file, units=units)
    else:
        tags = [shrub.tag for shrub in planting.shrubs]
        write_template(file, units=planting.about.units, shrubs=tags)


def notes_out(planting: Planting, file: Path, *, kinds: Iterable[str] = ()) -> int:
    """Write the notes that hold to XLSX, CSV, a zip of CSVs or JSON Lines; return how many."""
    notes = planting.register.notes(
        planting=planting.about.planting, kinds=tuple(kinds) or None, seen_until=planting.on
    )
    return write_notes(notes, file, units=planting.about.units)


PLAN_COLUMNS = {
    "subject": "subject",
    "shrubs": "shrubs",
    "act": "what to do",
    "first": "from",
    "last": "until",
    "why": "why",
    "sure": "how sure",
    "sure_why": "what makes it so",
    "waits": "if it waits",
    "caution": "caution",
}


def plan_out(plan: SeasonPlan, file: Path) -> int:
    """Write the season plan as a table, or as a calendar where the file ends in .ics."""
    if file.suffix.lower() == ".ics":
        events = [_event(line) for line in plan.lines]
        stamp = datetime.combine(plan.on, time(0), tzinfo=UTC)
        file.write_bytes(work_calendar(events, name=plan.planting, stamp=stamp))
        return len(events)
    rows = [{name: getattr(line, name) for name in PLAN_COLUMNS} for line in plan.lines]
    told = [{**row, "shrubs": ", ".join(row["shrubs"])} for row in rows]
    return write_table(told, PLAN_COLUMNS, file)


@dataclass(frozen=True)
class Event:
    """One dated piece of work."""

    uid: str
    day: date
    until: date
    summary: str
    description: str


def _event(line: Line) -> Event:
    where = f"{', '.join(line.shrubs[:8])}: " if line.shrubs else ""
    words = [line.why, line.waits and f"If it waits: {line.waits}", line.caution]
    said = "\n".join(word for word in words if word)
    return Event(line.key, line.first, line.last, f"{where}{line.act}", said)


def map_out(planting: Planting, file: Path) -> int:
    """Write the planting as GeoJSON; return the number of shrubs with a place."""
    import json

    about = planting.about
    found = planting_geojson(planting.shrubs, about.latitude, about.longitude)
    file.write_text(json.dumps(found, ensure_ascii=False), encoding="utf-8")
    return len(found["features"])
