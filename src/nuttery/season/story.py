"""One shrub's story: where it stands, where it comes from, and everything noted of it."""

from dataclasses import dataclass
from datetime import date

from nuttery.records import System, told
from nuttery.season.planting import Planting
from nuttery.season.telling import words


@dataclass(frozen=True)
class Told:
    """One note as a line: the day, the words, who saw it, and the note's id."""

    seen: date
    words: str
    by: str
    id: str
    kind: str


@dataclass(frozen=True)
class Story:
    """One shrub's story, the newest note last.

    Attributes
    ----------
    tag, row, number, x, y : name and place (metres east and north)
    planted : day it was set
    seed_lot, mother, fathers, copy_of : where it comes from
    alleles : S-alleles, if a test told them
    told : its notes that count on the day
    """

    tag: str
    row: int | None
    number: int | None
    x: float | None
    y: float | None
    planted: date | None
    seed_lot: str | None
    mother: str | None
    fathers: tuple[str, ...]
    copy_of: str | None
    alleles: tuple[int, ...]
    told: tuple[Told, ...]


def place_told(shrub: Story, system: System) -> str:
    """Row and number, and how far east and north of the origin; empty where neither is known."""
    words = "" if shrub.row is None else f"Row {shrub.row}, number {shrub.number}. "
    if shrub.x is None or shrub.y is None:
        return words.strip()
    sides = ("east" if shrub.x >= 0 else "west", "north" if shrub.y >= 0 else "south")
    east, north = (told(abs(metres), "length", system) for metres in (shrub.x, shrub.y))
    return f"{words}{east} {sides[0]} and {north} {sides[1]} of the origin."


def story(planting: Planting, tag: str) -> Story:
    """Return the story of a standing shrub.

    Raises
    ------
    WrongQuestion
        If no such shrub stands.
    """
    state = planting.shrub(tag)
    notes = planting.register.notes(
        planting=planting.about.planting,
        shrub=tag,
        seen_until=planting.on,
        recorded_until=planting.known,
    )
    system = planting.about.units
    return Story(
        tag=tag,
        row=state.row,
        number=state.number,
        x=state.x,
        y=state.y,
        planted=state.planted,
        seed_lot=state.seed_lot,
        mother=state.mother,
        fathers=tuple(state.fathers),
        copy_of=state.copy_of,
        alleles=tuple(state.alleles or ()),
        told=tuple(Told(n.seen, words(n, system), n.by, str(n.id), n.kind) for n in notes),
    )
