"""Many stools planned side by side on all cores, with progress told and a way to stop."""

import os
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Self

from nuttery.science.arguments import Floats, Ints
from nuttery.science.canes.rules import Rules
from nuttery.science.canes.stool import StoolPlans, exact_stool_plan, game_of, stool_plans
from nuttery.science.canes.stool_prices import PriceBook
from nuttery.science.canes.stool_search import Game, Views

SETS = 24  # sets of relaxed prices kept from one round to the next, and half of the most in one
FIRST_WAVE, WAVE = 4, 128  # stools that share what was learned before them
LESSONS = 2  # times that relaxed prices are learned from the hard stools of a wave
PUPILS = 3  # hard stools learned from each time


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
    """How to look at a stool: how near the bound (kg), in which room, for how many plans.

    Plans down to `spread` kg below the best one known are looked for. Relaxed prices are learned
    from hard stools if it `learns`; else those known must do.
    """

    slack: float
    room: int
    wanted: int = 1
    spread: float = 0.0
    learns: bool = True


class Crew:
    """Threads that plan stools side by side, and the relaxed prices that they learn on the way.

    Use it in a `with` statement, which waits for the threads at its end. Stools go in waves, and
    prices are learned between waves in the order of the stools, so a result can be repeated.
    """

    def __init__(self, counts: Ints, rules: Rules, effort: Effort) -> None:
        self.counts, self.rules, self.effort = counts, rules, effort
        self.book = PriceBook(rules)
        self._at: tuple[bytes, int] = (b"", 0)
        self._views: Views
        self._threads = ThreadPoolExecutor(effort.workers or os.cpu_count() or 1)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._threads.shutdown()

    def plan(
        self,
        rows: Ints,
        cut_prices: Floats,
        how: Search,
        known: Mapping[int, StoolPlans] | None = None,
    ) -> Iterator[dict[int, StoolPlans]]:
        """Plans of the stools in `rows`, some at a time, until all are done or one says stop.

        Parameters
        ----------
        rows : (k,) int, places in `counts`
        cut_prices : (years,) float, kg a cut of age 2 and older
        how : Search
        known : what is known of stools at these prices already
        """
        if how.learns:
            self.book.forget(SETS)
            self._at = (b"", 0)
        if not self.book.sets:
            self.book.learn(self.counts[rows[0]], cut_prices)
        task = _Task(game_of(self.rules, cut_prices), cut_prices, how)
        done, size = 0, FIRST_WAVE
        while done < len(rows) and not self.effort.stopped:
            wave = rows[done : done + size].tolist()
            known_here = {row: known[row] for row in wave if known and row in known}
            yield self._wave(wave, task, known_here)
            done, size = done + size, min(2 * size, WAVE)

    def _wave(
        self, rows: list[int], task: "_Task", known: dict[int, StoolPlans]
    ) -> dict[int, StoolPlans]:
        found = self._search(rows, task, known)
        for _ in range(LESSONS if task.how.learns else 0):
            hard = [row for row in rows if found[row].apart > task.how.slack]
            if not hard or len(self.book.sets) >= 2 * SETS:
                break
            for row in hard[:PUPILS]:
                self.book.learn(self.counts[row], task.cut_prices, found[row].kept[0])
            found |= self._search(hard, task, found)
        return found

    def _search(
        self, rows: list[int], task: "_Task", known: Mapping[int, StoolPlans]
    ) -> dict[int, StoolPlans]:
        views = self.book.views(task.game)

        def one(row: int) -> StoolPlans:
            return stool_plans(
                self.counts[row],
                task.game,
                views,
                room=task.how.room,
                wanted=task.how.wanted,
                known=known.get(row),
                spread=task.how.spread,
            )

        found = dict(zip(rows, self._threads.map(one, rows), strict=True))
        for plans in found.values():
            self.book.used += plans.used
        return found

    def replan(
        self, rows: list[int], cut_prices: Floats, most: list[Ints], room: int
    ) -> list[StoolPlans]:
        """Plans of stools that may each cut only so much in each winter, (years,)."""
        key = (cut_prices.tobytes(), len(self.book.sets))
        if self._at != key:
            self._at, self._views = key, self.book.views(game_of(self.rules, cut_prices))
        views = self._views

        def one(row: int, limits: Ints) -> StoolPlans:
            game = game_of(self.rules, cut_prices, limits)
            return stool_plans(self.counts[row], game, views, room=room, wanted=1, known=None)

        return list(self._threads.map(one, rows, most))

    def prove(self, rows: Ints, cut_prices: Floats, slack: float) -> dict[int, StoolPlans]:
        """Plans of stools by the integer program, near their bound by that share."""

        def one(row: int) -> StoolPlans:
            return exact_stool_plan(self.counts[row], self.rules, cut_prices, slack=slack)

        return dict(zip(rows.tolist(), self._threads.map(one, rows.tolist()), strict=True))


@dataclass(frozen=True)
class _Task:
    game: Game
    cut_prices: Floats
    how: Search
