"""Cells of a column as numbers: missing values, traces, decimal commas, text in a number."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from nuttery.exchange.weather.errors import Account
from nuttery.exchange.weather.record import Bools, Floats
from nuttery.exchange.weather.table import COMMA_NUMBER, Table, clip, plain_number

MISSING = frozenset({"", "na", "n/a", "nan", "null", "none", "missing", "-", "--", "---", "m"})
IMPOSSIBLE = frozenset({-999.0, -999.9, -9999.0, -9999.9, -99999.0})
TRACE = frozenset({"t", "trace", "tr"})
Convert = Callable[[Floats], Floats]


@dataclass(frozen=True)
class Numbers:
    """A column of numbers: value (NaN = missing) and whether it is a trace."""

    values: Floats
    trace: Bools
    sentinels: int


def numbers(
    table: Table,
    index: int,
    account: Account,
    *,
    comma: bool = False,
    missing: frozenset[float] = IMPOSSIBLE,
    trace: bool = False,
) -> Numbers:
    """Cells of a column as numbers, in the unit in which they are written.

    Parameters
    ----------
    table : the file
    index : of the column
    account : of the file, for faults and for what is told
    comma : whether the decimal mark of this file is a comma
    missing : numbers that stand for a missing value
    trace : whether the word for a trace of rain may stand here; a trace is 0
    """
    cells = [cell.strip() for cell in table.columns[index]]
    known = {cell: _value(cell, comma=comma, trace=trace) for cell in set(cells)}
    if None in known.values():
        wanted = "a number with a decimal comma" if comma else "a number"
        for row, cell in enumerate(cells):
            if known[cell] is None:
                account.fault(table.lines[row], table.column(index), clip(cell), wanted)
    found = {cell: np.nan if value is None else value for cell, value in known.items()}
    values = np.array([found[cell] for cell in cells], dtype=np.float64)
    coded = np.isin(values, list(missing))
    values[coded] = np.nan
    traces = np.array([trace and cell.casefold() in TRACE for cell in cells], dtype=np.bool_)
    return Numbers(values, traces, int(coded.sum()))


def _value(cell: str, *, comma: bool, trace: bool) -> float | None:
    folded = cell.casefold()
    if folded in MISSING:
        return float("nan")
    if trace and folded in TRACE:
        return 0.0
    if comma:
        return None if "." in cell else plain_number(cell.replace(",", "."))
    return plain_number(cell)


def has_decimal_comma(table: Table, indices: Sequence[int]) -> bool:
    """Whether a number in one of these columns is written with a decimal comma."""
    cells = {cell for i in indices for cell in table.columns[i]}
    return any(COMMA_NUMBER.fullmatch(cell.strip()) for cell in cells)
