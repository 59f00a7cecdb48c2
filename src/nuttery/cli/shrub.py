"""nuttery shrub: one shrub's story."""

from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from nuttery.cli.common import Asked, bold, faint, opened, print_json, wrapped

if TYPE_CHECKING:
    from nuttery.records import System
    from nuttery.season.story import Story

SHOWN = 30


def shrub(
    tag: Annotated[str, Parameter(help="The tag on the shrub.")],
    *,
    all: Annotated[bool, Parameter(negative="", help="Every note, not the last 30.")] = False,  # noqa: A002 - the word to type
    asked: Asked = Asked(),
) -> int:
    """Tell one shrub's story: where it stands, where it comes from, what was noted of it."""
    from nuttery.season.story import story

    planting = opened(asked)
    found = story(planting, tag)
    if asked.json:
        print_json(found)
    else:
        print(told(found, planting.about.units, all_notes=all))
    return 0


def told(found: "Story", system: "System", *, all_notes: bool) -> str:
    """Return a story as text for a terminal."""
    parts = [bold(f"Shrub {found.tag}"), wrapped(_place(found, system)), wrapped(_lineage(found))]
    notes = found.told if all_notes else found.told[-SHOWN:]
    left = len(found.told) - len(notes)
    if left:
        parts.append(faint(f"{left} older notes not shown (nuttery shrub {found.tag} --all)"))
    year = None
    for note in notes:
        if note.seen.year != year:
            year = note.seen.year
            parts.append(bold(str(year)))
        parts.append(wrapped(note.words, first=f"  {note.seen:%d %b}  ", rest=" " * 10))
    return "\n".join(parts)


def _place(found: "Story", system: "System") -> str:
    from nuttery.season.story import place_told

    at = place_told(found, system) or "No place told."
    return f"{at} Set {found.planted or 'on a day not told'}."


def _lineage(found: "Story") -> str:
    if found.copy_of:
        return f"a layer of {found.copy_of}: the same genotype, no pollen source for it"
    fathers = " or ".join(found.fathers) if found.fathers else "unknown"
    lot = found.seed_lot or "no seed lot told"
    alleles = f"; S-alleles {', '.join(map(str, found.alleles))}" if found.alleles else ""
    return f"{lot}; mother {found.mother or 'unknown'}, father {fathers}{alleles}"
