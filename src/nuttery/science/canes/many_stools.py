"""Many stools planned side by side on all cores, with progress told and a way to stop."""

import os
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import Self

from nuttery.science.arguments import Floats, Ints
from nuttery.science.canes.rules import Rules
from nuttery.science.canes.stool import StoolPlans, exact_stool_plan, stool_plans
from nuttery.science.canes.stool_prices import RelaxedStool

CHUNK = 32  # stools planned in a row; each chunk starts afresh, so a result can be repeated


@dataclass(frozen=True)
class Progress:
    """How far the planner has come.

    Attributes
    ----------
    done, total : int, stools looked at in this round
    round : int, from 1
    gap : float, relative, of the best plan so far; infinite before the first
    """

    done: int
    total: int
    round: int
    gap: float


@dataclass(frozen=True)
class Effort:
    """How hard to look for a better plan, whom to tell and when to stop.

    Attributes
    ----------
    gap : float, relative distance to the bound that is good enough; None asks for the best plan
        of a few stools and 0.5 % of many
    workers : int, threads; None for one a core
    progress : told now and then
    cancelled : asked now and then; true ends the search with the best plan so far
    """

    gap: float | None = None
    workers: int | None = None
    progress: Callable[[Progress], None] | None = None
    cancelled: Callable[[], bool] | None = None

    @property
    def stopped(self) -> bool:
        """Whether someone asked to stop."""
        return self.cancelled is not None and self.cancelled()


@dataclass(frozen=True)
class Search:
    """How to look at a stool: how near the bound, in which rooms, for how many plans."""

    slack: float
    rooms: tuple[int, ...] = ()
    wanted: int = 1
    exact: bool = False
    known: Mapping[int, StoolPlans] = field(default_factory=dict)


class Crew:
    """Threads that plan stools side by side, each chunk with a relaxed model set back to its start.

    Use it in a `with` statement, which waits for the threads at its end.
    """

    def __init__(self, counts: Ints, rules: Rules, effort: Effort) -> None:
        self.counts, self.rules, self.effort = counts, rules, effort
        self._threads = ThreadPoolExecutor(effort.workers or os.cpu_count() or 1)
        self._idle: list[RelaxedStool] = []

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._threads.shutdown()

    def plan(
        self, rows: Ints, cut_prices: Floats, how: Search, chunk: int = CHUNK
    ) -> Iterator[dict[int, StoolPlans]]:
        """Plans of the stools in `rows`, some at a time, until all are done or one says stop.

        Parameters
        ----------
        rows : (k,) int, places in `counts`
        cut_prices : (years,) float, kg a cut of age 2 and older
        how : Search
        chunk : int, stools planned in a row by one thread
        """
        chunks = [rows[i : i + chunk] for i in range(0, len(rows), chunk)]
        yield from self._threads.map(lambda some: self._chunk(some, cut_prices, how), chunks)

    def _chunk(self, rows: Ints, cut_prices: Floats, how: Search) -> dict[int, StoolPlans]:
        relaxed = self._idle.pop() if self._idle else RelaxedStool(self.rules)
        relaxed.restart()
        plans: dict[int, StoolPlans] = {}
        for row in rows.tolist():
            if self.effort.stopped:
                break
            plans[row] = self._one(row, relaxed, cut_prices, how)
        self._idle.append(relaxed)
        return plans

    def _one(self, row: int, relaxed: RelaxedStool, cut_prices: Floats, how: Search) -> StoolPlans:
        count = self.counts[row]
        if how.exact:
            return exact_stool_plan(count, self.rules, cut_prices, slack=how.slack)
        return stool_plans(
            count,
            relaxed,
            cut_prices,
            slack=how.slack,
            rooms=how.rooms,
            wanted=how.wanted,
            known=how.known.get(row),
        )
