"""Numbers, lists and rows in words, as said to a person."""

from collections.abc import Sequence

import numpy as np

from nuttery.records import told
from nuttery.season.estimate import Estimate
from nuttery.season.planting import Planting


def plural(number: int, one: str, many: str = "") -> str:
    """A number with its word: 1 shrub, 2 shrubs.

    Examples
    --------
    >>> plural(1, "shrub"), plural(3, "batch", "batches")
    ('1 shrub', '3 batches')
    """
    return f"{number} {one}" if number == 1 else f"{number} {many or one + 's'}"


def listed(words: Sequence[str]) -> str:
    """Words in a row with "and" before the last.

    Examples
    --------
    >>> listed(["tray 1"]), listed(["1–3", "5", "7"])
    ('tray 1', '1–3, 5 and 7')
    """
    return " and ".join(filter(None, [", ".join(words[:-1]), *words[-1:]]))


def first_of(words: Sequence[str], most: int = 9) -> str:
    """Words in a row, the first of many and how many more there are.

    Examples
    --------
    >>> first_of(["a", "b", "c"]), first_of(["a", "b", "c", "d"], 2)
    ('a, b and c', 'a, b and 2 more')
    """
    return listed(words if len(words) <= most else [*words[:most], f"{len(words) - most} more"])


def runs(numbers: Sequence[int]) -> str:
    """Whole numbers in words, runs drawn together.

    Examples
    --------
    >>> runs([4, 1, 2, 3, 7]), runs([5])
    ('1–4 and 7', '5')
    """
    known = np.unique(np.asarray(numbers, dtype=np.int64))
    parts = np.split(known, np.flatnonzero(np.diff(known) > 1) + 1)
    return listed([str(p[0]) if p.size == 1 else f"{p[0]}–{p[-1]}" for p in parts if p.size])


def rows_told(planting: Planting, tags: Sequence[str]) -> str:
    """Rows in which shrubs stand, such as "rows 1–4 and 7"; empty where they have none."""
    rows = {row for tag in tags if (row := planting.by_tag[tag].row) is not None}
    if not rows:
        return ""
    return f"row{'' if len(rows) == 1 else 's'} {runs(sorted(rows))}"


def place_told(planting: Planting, tags: Sequence[str]) -> str:
    """Where shrubs stand: row and number of one, metres where it has no row, rows of several."""
    if len(tags) != 1:
        return rows_told(planting, tags)
    shrub = planting.by_tag[tags[0]]
    if shrub.row is not None:
        return f"row {shrub.row}" + ("" if shrub.number is None else f", number {shrub.number}")
    if shrub.x is None or shrub.y is None:
        return ""
    east, north = (told(abs(m), "length", planting.about.units) for m in (shrub.x, shrub.y))
    sides = "east" if shrub.x >= 0 else "west", "north" if shrub.y >= 0 else "south"
    return f"{east} {sides[0]}, {north} {sides[1]}"


def share_told(share: Estimate) -> str:
    """A share in per cent with its interval.

    Examples
    --------
    >>> share_told(Estimate(0.4, 0.35, 0.46)), share_told(Estimate(float("nan"), 0, 0))
    ('40 % (35–46)', '–')
    """
    if np.isnan(share.median):
        return "–"
    middle, low, high = (f"{100 * part:.0f}" for part in (share.median, share.low, share.high))
    return f"{middle} %" if np.isnan(share.low) else f"{middle} % ({low}–{high})"


def chance_told(low: float, high: float) -> str:
    """Return a chance, or the range in which it lies where the two differ.

    Examples
    --------
    >>> chance_told(0.5, 0.5), chance_told(0.0, 0.5)
    ('50%', '0–50%')
    """
    least, most = f"{low:.0%}", f"{high:.0%}"
    return least if least == most else f"{least[:-1]}–{most}"
