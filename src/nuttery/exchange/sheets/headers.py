"""Column headers as people type them, matched with the entries of a kind of note."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from nuttery.exchange.sheets.cells import BLANKS
from nuttery.exchange.sheets.columns import BREAKDOWNS, Column, Layout, breakdown_column, layout_of
from nuttery.exchange.sheets.faults import CellFault
from nuttery.records import KINDS, System, entries, read_quantity, unit_of

KIND_HEADERS = {"kind", "kind of note"}
LEFT_OUT_HEADERS = {"leave out"}
_UNIT = re.compile(r"(.*\S)\s*[(\[]\s*([^()\[\]]*?)\s*[)\]]")
_OWN = re.compile(r"\(.*\)", re.DOTALL)
_ALIASES = {
    "seen": ("date", "day", "seen"),
    "seen_at": ("time",),
    "by": ("by", "who", "observer"),
    "shrub": ("tag", "shrub tag"),
    "remark": ("remarks", "comment", "comments", "note", "notes"),
    "means_it": ("means it",),
}


@dataclass(frozen=True)
class Match:
    """A column of a file: the entry it holds, and the unit of bare numbers in it."""

    column: Column
    unit: str


def plain(header: object) -> str:
    """Header without the differences that mean nothing.

    Examples
    --------
    >>> plain("  Cane_Base  (MM)")
    'cane base (mm)'
    """
    return " ".join(str(header).replace("_", " ").strip(BLANKS).casefold().split())


def is_own(header: object) -> bool:
    """Whether a header (or a sheet's name) in parentheses says: this is not for the program."""
    return bool(_OWN.fullmatch(str(header).strip(BLANKS)))


@cache
def _names(kind: str) -> dict[str, Column]:
    """Columns of a kind of note by every name under which they are known."""
    found: dict[str, Column] = {}
    for column in layout_of(kind).columns:
        for name in _names_of(column):
            found.setdefault(name, column)
    return found


def _names_of(column: Column) -> Iterator[str]:
    yield plain(column.label)
    bare = _UNIT.fullmatch(column.label)
    if bare:
        yield plain(bare[1])
    if column.key is None and not column.in_part:
        yield from _ALIASES.get(column.field, ())
        # A quantity's field may name a unit; only the label is free of it.
        if column.entry.quantity is None:
            yield plain(column.field)


def match_header(header: str, layout: Layout, units: System) -> Match | None:
    """Return the entry that a header names, None if it names none.

    Raises
    ------
    CellFault
        If the entry is known but not its unit.

    Examples
    --------
    >>> match_header("Mass [lb]", layout_of("picking"), "metric").unit
    'lb'
    """
    column = _find(plain(header), layout)
    if column is not None:
        return Match(column, _own_unit(column, units))
    label, unit, certain = _split_unit(header)
    column = _find(plain(label), layout)
    if column is None or column.entry.quantity is None:
        return None
    try:
        read_quantity(f"1 {unit}", column.entry.quantity, units)
    except ValueError:
        if not certain:
            return None
        found = f"the unit {unit!r}"
        raise CellFault(found, f'the column "{column.header(units)}" or its like') from None
    return Match(column, unit)


def _own_unit(column: Column, units: System) -> str:
    return unit_of(column.entry.quantity, units).symbol if column.entry.quantity else ""


def _split_unit(header: str) -> tuple[str, str, bool]:
    """Return label, unit, and whether the unit stands in brackets and so is surely meant as one."""
    match = _UNIT.fullmatch(header.strip(BLANKS))
    if match:
        return match[1], match[2], True
    label, _, unit = header.replace("_", " ").strip(BLANKS).rpartition(" ")
    return label, unit, False


def _find(name: str, layout: Layout) -> Column | None:
    known = _names(layout.kind)
    if name in known:
        return known[name]
    for field in BREAKDOWNS:
        if field not in layout.model.model_fields or field == "by_size":
            continue
        label = entries(layout.model)[field].label
        match = re.fullmatch(rf"{re.escape(label)}[ ,:]*(\d{{1,4}})", name)
        if match:
            return breakdown_column(layout.model, field, str(int(match[1])))
    return None


def known_headers(kind: str, units: System) -> list[str]:
    """Headers of a kind of note, as the template has them."""
    return [column.header(units) for column in layout_of(kind).columns]


@cache
def is_known_header(header: str) -> bool:
    """Whether any kind of note has an entry of this name."""
    if plain(header) in KIND_HEADERS:
        return True
    for kind in KINDS:
        try:
            if match_header(header, layout_of(kind), "metric") is not None:
                return True
        except CellFault:
            return True
    return False


@cache
def kind_named(name: str) -> str | None:
    """Return the kind of note that a sheet, a file or a cell names; a year beside it is no matter.

    Examples
    --------
    >>> kind_named("Pickings 2026"), kind_named("canes_counted"), kind_named("costs") is None
    ('picking', 'canes_counted', True)
    """
    named = {_bare(model.title): kind for kind, model in KINDS.items()}
    named |= {_bare(kind): kind for kind in KINDS}
    return named.get(_bare(name))


def _bare(name: str) -> str:
    words = re.sub(r"[\d\W_]+", " ", name.casefold()).split()
    return " ".join(word.removesuffix("s") for word in words if word != "s" or len(words) == 1)
