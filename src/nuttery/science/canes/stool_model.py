"""A stool's renewal as an exact integer program, and several stools under one cap.

Columns of one stool: kept[t, a] (a = 1 … A−1, winter by winter), then for each winter the cuts of
age 2 and older, the canes above the target and a switch "one cut only", and last the poorest crop.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import scipy.sparse as sp

from nuttery.science.arguments import Bools, Floats, Ints
from nuttery.science.canes.rules import SHARE_TOLERANCE, Rules

if TYPE_CHECKING:
    import highspy


@dataclass(frozen=True)
class Block:
    """A maximisation: value · x, rows_low ≤ rows · x ≤ rows_high, low ≤ x ≤ high."""

    value: Floats
    rows: sp.csr_array
    rows_low: Floats
    rows_high: Floats
    low: Floats
    high: Floats
    whole: Bools

    def highs(self, *, relaxed: bool = False) -> "highspy.HighsLp":
        """The model as HiGHS wants it, without the demand for whole numbers if `relaxed`."""
        import highspy

        model = highspy.HighsLp()
        model.sense_ = highspy.ObjSense.kMaximize
        model.num_row_, model.num_col_ = self.rows.shape
        model.col_cost_, model.col_lower_, model.col_upper_ = self.value, self.low, self.high
        model.row_lower_, model.row_upper_ = self.rows_low, self.rows_high
        model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        model.a_matrix_.start_ = self.rows.indptr
        model.a_matrix_.index_ = self.rows.indices
        model.a_matrix_.value_ = self.rows.data
        if not relaxed:
            kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
            model.integrality_ = [kinds[int(w)] for w in self.whole]
        return model


@dataclass(frozen=True)
class Layout:
    """Where each kind of column of a stool stands."""

    years: int
    ages: int

    @property
    def kept(self) -> Ints:
        """Columns of kept[t, a], (years, A - 1)."""
        return np.arange(self.years * (self.ages - 1)).reshape(self.years, self.ages - 1)

    @property
    def _end(self) -> int:
        return self.years * (self.ages - 1)

    @property
    def cuts(self) -> Ints:
        """Columns of the cuts of age 2 and older, (years,)."""
        return self._end + np.arange(self.years)

    @property
    def excess(self) -> Ints:
        """Columns of the canes above the target, (years,)."""
        return self._end + self.years + np.arange(self.years)

    @property
    def single(self) -> Ints:
        """Columns of the switch "no more than one cut", (years,)."""
        return self._end + 2 * self.years + np.arange(self.years)

    @property
    def poorest(self) -> int:
        """Column of the poorest crop."""
        return self._end + 3 * self.years

    @property
    def width(self) -> int:
        """Number of columns."""
        return self._end + 3 * self.years + 1


class Rows:
    """Rows of a sparse matrix, gathered one by one."""

    def __init__(self) -> None:
        self.rows: list[int] = []
        self.columns: list[int] = []
        self.values: list[float] = []
        self.low: list[float] = []
        self.high: list[float] = []

    def add(self, low: float, high: float, *terms: tuple[Any, Any]) -> None:
        """Add a row low ≤ Σ factors · columns ≤ high, each term (columns, factors)."""
        for columns, factors in terms:
            where = np.atleast_1d(columns)
            self.rows += [len(self.low)] * len(where)
            self.columns += where.tolist()
            self.values += np.broadcast_to(factors, where.shape).tolist()
        self.low.append(low)
        self.high.append(high)

    def matrix(self, width: int) -> sp.csr_array:
        """The rows gathered so far as a matrix of that many columns."""
        shape = (len(self.low), width)
        return sp.csr_array((self.values, (self.rows, self.columns)), shape=shape)


def stool_block(count: Ints, rules: Rules, prices: Floats) -> Block:
    """The renewal of one stool, each cut of age 2 and older charged at the winter's price.

    Parameters
    ----------
    count : (A,) int, canes of each age in the first winter
    rules : the plan's rules
    prices : (years,) float, kg a cut

    Returns
    -------
    Block, whose value is the plan's value less the price of its cuts
    """
    at = Layout(rules.years, rules.ages)
    rows = Rows()
    for t in range(rules.years):
        add_ageing_rows(rows, at, t)
        add_crop_rows(rows, at, t, rules)
        _share_rows(rows, at, t, rules, count)
    return Block(
        value=column_values(at, rules, prices),
        rows=rows.matrix(at.width),
        rows_low=np.array(rows.low),
        rows_high=np.array(rows.high),
        low=column_lows(at),
        high=column_highs(at, rules, count),
        whole=_wholes(at),
    )


def column_values(at: Layout, rules: Rules, prices: Floats) -> Floats:
    """What one unit of each column is worth."""
    value = np.zeros(at.width)
    value[at.kept] = rules.weights[:, None] * rules.worth[1:]
    value[at.cuts] = -prices
    value[at.excess] = -rules.weights * rules.crowding
    value[at.poorest] = rules.evenness * rules.years
    return value


def column_lows(at: Layout) -> Floats:
    """Least value of each column."""
    low = np.zeros(at.width)
    low[at.poorest] = -np.inf
    return low


def column_highs(at: Layout, rules: Rules, count: Ints) -> Floats:
    """Greatest value of each column."""
    high = np.full(at.width, np.inf)
    high[at.kept[:, 0]] = rules.suckers
    high[at.kept[0]] = count[1:]
    high[at.single] = 1
    return high


def _wholes(at: Layout) -> Bools:
    whole = np.zeros(at.width, dtype=np.bool_)
    whole[at.kept] = True
    whole[at.cuts] = True
    whole[at.single] = True
    return whole


def add_ageing_rows(rows: Rows, at: Layout, t: int) -> None:
    """No more canes are kept than stood there a year younger."""
    for k in range(1, at.kept.shape[1] if t else 0):
        terms = [(at.kept[t, k], 1.0), (at.kept[t - 1, k - 1], -1.0)]
        if k == at.kept.shape[1] - 1:
            terms.append((at.kept[t - 1, k], -1.0))
        rows.add(-np.inf, 0.0, *terms)


def add_crop_rows(rows: Rows, at: Layout, t: int, rules: Rules) -> None:
    """Canes above the target are excess, and no winter's crop is below the poorest."""
    rows.add(-np.inf, rules.target, (at.kept[t], 1.0), (at.excess[t], -1.0))
    crop = [(at.kept[t], rules.bearing[1:]), (at.excess[t], -rules.crowding)]
    rows.add(0.0, np.inf, *crop, (at.poorest, -1.0))


def _share_rows(rows: Rows, at: Layout, t: int, rules: Rules, count: Ints) -> None:
    """Cuts are one at most (switch on) or the share of what stands (switch off)."""
    known = 0 if t else int(count[2:].sum())
    most = int(count[2:].sum()) if t == 0 else int(count[1:].sum()) + (t - 1) * rules.suckers
    add_balance_row(rows, at, t, known)
    share = [(at.kept[t - 1], -rules.max_share)] if t else []
    spare = rules.max_share * known + SHARE_TOLERANCE
    # max(1, share) exceeds the share by 1 - share at most, where anything stands at all
    one = (at.single[t], rules.max_share - 1)
    rows.add(-np.inf, spare, (at.cuts[t], 1.0), one, *share)
    beyond = max(0.0, rules.max_share * most - 1)
    rows.add(-np.inf, 1 + beyond, (at.cuts[t], 1.0), (at.single[t], beyond))


def add_balance_row(rows: Rows, at: Layout, t: int, known: int) -> None:
    """What is kept and cut of age 2 and older is what stood: `known`, or last winter's kept."""
    left = [(at.kept[t, 1:], 1.0), (at.cuts[t], 1.0)]
    rows.add(known, known, *left, *([(at.kept[t - 1], -1.0)] if t else []))


def joined_blocks(blocks: list[Block], at: Layout, caps: Floats) -> Block:
    """Several stools as one model, their cuts of each winter together under a cap.

    Parameters
    ----------
    blocks : one model a stool
    at : the layout they share
    caps : (years,) float, cuts of age 2 and older over all stools
    """
    own = sp.block_diag([b.rows for b in blocks], format="csr")
    shared = sp.csr_array(
        (np.ones(at.years), (np.arange(at.years), at.cuts)), shape=(at.years, at.width)
    )
    return Block(
        value=np.concatenate([b.value for b in blocks]),
        rows=sp.csr_array(sp.vstack([own, sp.hstack([shared] * len(blocks))])),
        rows_low=np.concatenate([*(b.rows_low for b in blocks), np.full(at.years, -np.inf)]),
        rows_high=np.concatenate([*(b.rows_high for b in blocks), caps]),
        low=np.concatenate([b.low for b in blocks]),
        high=np.concatenate([b.high for b in blocks]),
        whole=np.concatenate([b.whole for b in blocks]),
    )


def kept_canes(x: Floats, at: Layout) -> Ints:
    """Canes kept, (years, A), from the columns of one stool."""
    kept = np.zeros((at.years, at.ages), dtype=np.int64)
    kept[:, 1:] = np.rint(x[at.kept]).astype(np.int64)
    return kept
