"""What each column takes, in words: for the first sheet of the template and for the docs."""

from collections.abc import Iterator

from nuttery.exchange.sheets.columns import GROUP, Column, layout_of
from nuttery.records import KINDS, System, entries, limits_told, shown, unit_of

_HOLDS = {
    "text": "text",
    "whole": "a whole number",
    "number": "a number",
    "yes": "yes or no",
    "day": "a date",
    "time": "a time",
    "moment": "a moment with its time zone",
    "id": "the id of a note",
}
_HEAD_AND_TAIL = {
    "shrub", "cane", "seen", "seen_at", "by", "remark", "photo", "means_it", "stands_in_for", "id",
    "recorded", "device",
}  # fmt: skip


def takes(column: Column, units: System) -> str:
    """Return what a cell of the column may hold.

    Examples
    --------
    >>> takes(layout_of("pest_seen").columns[5], "metric")
    'one of: cane, bud, catkin, leaf, husk, nut, crown'
    """
    if column.choices:
        lead = "any of, parted by ;" if column.several else "one of"
        return f"{lead}: {', '.join(column.choices)}"
    symbol = unit_of(column.entry.quantity, units).symbol if column.entry.quantity else ""
    words = f"{_HOLDS[column.holds]} in {symbol}" if symbol else _HOLDS[column.holds]
    return f"several, parted by ; ({words})" if column.several else words


def limits(column: Column, units: System) -> tuple[str, str]:
    """Return the usual and the possible range of a column, empty where it has none."""
    entry = column.entry
    return (
        limits_told(entry.usual, entry, units) if entry.usual else "",
        limits_told(entry.possible, entry, units) if entry.possible else "",
    )


def own_columns(kind: str) -> list[Column]:
    """Columns that a kind of note has beside those that every note has."""
    return [c for c in layout_of(kind).columns if c.field not in _HEAD_AND_TAIL or c.in_part]


def notes_page() -> str:
    """Return the page of the docs that lists every kind of note with its entries and limits.

    Examples
    --------
    >>> print(notes_page().splitlines()[0])
    # Kinds of note
    """
    return "\n".join(_page_lines()) + "\n"


def _page_lines() -> Iterator[str]:
    yield from _PAGE_HEAD
    for kind, model in KINDS.items():
        yield f"## {model.title} (`{kind}`)"
        yield ""
        yield f"{(model.__doc__ or '').strip().splitlines()[0]} {_ABOUT[model.about]}"
        yield ""
        yield "| entry | in JSON | holds | usual | possible | |"
        yield "|---|---|---|---|---|---|"
        yield from _entry_rows(kind)
        yield ""
    yield from _unit_lines()


_ABOUT = {
    "shrub": "It needs a shrub.",
    "cane": "It needs a shrub and a cane.",
    "planting": "It is about the planting, and names no shrub.",
    "anywhere": "The shrub may be left out.",
}
_PAGE_HEAD = (
    "# Kinds of note",
    "",
    "Made from the code by `nuttery.exchange.notes_page()`; a test fails if this page differs.",
    "",
    "Every note has an id of its own (UUID), the planting, the day seen (and the time if known),",
    "who saw it, when and on which device it was recorded, a remark and the file name of a photo",
    "if there is one, and, where it corrects an older note, the id of that note. A day seen before",
    "1950 is asked about; one later than the day of recording (and a day's slack for time zones)",
    "is refused.",
    "",
    "A value outside *usual* is asked about: it is refused unless the note says `means_it`, which",
    "is kept with it. A value outside *possible* is always refused. The limits are our own, set to",
    "catch a slipped decimal or a wrong unit, not to judge a shrub; certainty: assumed.",
    "Values are stored in the units shown here; shares are stored as 0 to 1 and shown in %.",
    "",
)


def _entry_rows(kind: str) -> Iterator[str]:
    told: set[str] = set()
    for column in own_columns(kind):
        if column.field == GROUP or (column.key is not None and column.field in told):
            continue
        told.add(column.field)
        part = layout_of(kind).part_field
        name = f"{part}[].{column.field}" if column.in_part else column.field
        usual, possible = limits(column, "metric")
        label = entries(layout_of(kind).model)[column.field].label if column.key else column.label
        each = "a whole number for each" if column.key else takes(column, "metric")
        need = "must be there" if column.required else ""
        more = "; ".join(word for word in (need, column.entry.hint) if word)
        yield f"| {label} | `{name}` | {each} | {usual} | {possible} | {more} |"
    if "by_year" in layout_of(kind).model.model_fields:
        entry = entries(layout_of(kind).model)["by_year"]
        ranges = [limits_told(r, entry) for r in (entry.usual, entry.possible) if r]
        each = "a whole number for each year"
        yield f"| {entry.label} | `by_year` | {each} | {' | '.join(ranges)} |  |"


def _unit_lines() -> Iterator[str]:
    from nuttery.records.units import UNITS

    yield "## Units"
    yield ""
    yield "| quantity | metric (stored) | US | 1 stored is |"
    yield "|---|---|---|---|"
    for quantity, systems in UNITS.items():
        if not systems["metric"].symbol:
            continue
        metric, us = systems["metric"].symbol, systems["US"].symbol
        one = f"{shown(1.0, quantity, 'US'):.6g} {us}"
        stored_as = f"{metric}, stored as 0 to 1" if quantity == "share" else metric
        yield f"| {quantity} | {stored_as} | {us} | {one} |"
