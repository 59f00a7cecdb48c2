"""A choice of one plan for each stool, mended until all together cut no more than the caps."""

import numpy as np

from nuttery.science.arguments import Floats, Ints
from nuttery.science.canes.many_stools import Crew
from nuttery.science.canes.shared_cap import Pool

TRIES, TAKEN = 24, 4  # stools planned with a cut less, and the part of those that may go on
MOST_TRIES = 256  # the same, where many cuts are above a cap
ROOM, QUICK = 24, 8  # states carried when a stool is planned within limits of its own
SOME = 300  # stools planned again in one go
GAIN = 1e-6  # kg; less is no gain


class Fitting:
    """Which plan each stool has, and the cuts that are left of the caps.

    Parameters
    ----------
    pool : the plans known
    crew : who plans stools anew
    caps : (years,) int
    chosen : plans of each stool that differs, as many as stand in the planting
    """

    def __init__(self, pool: Pool, crew: Crew, caps: Ints, chosen: list[list[int]]) -> None:
        self.pool, self.crew = pool, crew
        self.rng = np.random.default_rng(0)
        self.stool = [stool for stool, plans in enumerate(chosen) for _ in plans]
        self.plan = [plan for plans in chosen for plan in plans]
        self.spare = caps - np.sum([pool.cuts[plan] for plan in self.plan], axis=0)

    def chosen(self) -> list[list[int]]:
        """Plans of each stool that differs."""
        chosen: list[list[int]] = [[] for _ in self.pool.counts]
        for stool, plan in zip(self.stool, self.plan, strict=True):
            chosen[stool].append(plan)
        return chosen

    @property
    def above(self) -> int:
        """Cuts above the caps, over all winters."""
        return -int(self.spare[self.spare < 0].sum())

    def fit(self, prices: Floats) -> None:
        """Cut less where it costs least at these prices, until nothing is above the caps."""
        while self.above and not self.crew.effort.stopped:
            self._cut_less(int(np.argmin(self.spare)), prices)

    def fill(self, prices: Floats) -> bool:
        """Plan some stools again within what the others leave; whether any gained by it."""
        gained = False
        for i in self.rng.permutation(len(self.plan))[:SOME].tolist():
            if self.crew.effort.stopped:
                break
            limit = self.spare + self.pool.cuts[self.plan[i]]
            found = self.crew.replan([self.stool[i]], prices, [limit], ROOM)[0]
            new = self.pool.add(self.stool[i], found.kept)
            if self.pool.value[new] > self.pool.value[self.plan[i]] + GAIN:
                self._change(i, new)
                gained = True
        return gained

    def _change(self, i: int, plan: int) -> None:
        self.spare = self.spare + self.pool.cuts[self.plan[i]] - self.pool.cuts[plan]
        self.plan[i] = plan

    def _cut_less(self, winter: int, prices: Floats) -> None:
        """Plan a few stools with a cut less in a winter that is above its cap.

        Those that lose least by it go on, as long as the winter is above its cap and no other is
        brought above.
        """
        some = np.array([i for i, p in enumerate(self.plan) if self.pool.cuts[p][winter] > 0])
        tries = min(max(TRIES, TAKEN * -int(self.spare[winter])), MOST_TRIES)
        some = self.rng.permutation(some)[:tries]
        limits = [self.pool.cuts[self.plan[i]] + np.maximum(self.spare, 0) for i in some]
        for limit in limits:
            limit[winter] -= 1
        found = self.crew.replan([self.stool[i] for i in some], prices, limits, QUICK)
        lost = [
            self.pool.value[self.plan[i]] - prices @ self.pool.cuts[self.plan[i]] - plans.worth[0]
            for i, plans in zip(some, found, strict=True)
        ]
        for best in np.argsort(lost, kind="stable")[: tries // TAKEN].tolist():
            i = int(some[best])
            new = self.pool.add(self.stool[i], found[best].kept)
            allowed = self.pool.cuts[self.plan[i]] + np.maximum(self.spare, 0)
            others = np.arange(len(allowed)) != winter
            if self.spare[winter] < 0 and (self.pool.cuts[new] <= allowed)[others].all():
                self._change(i, new)

    def fall_back(self) -> None:
        """Let stools cut nothing, those that lose least by it first, until the rest fits.

        The first plans in the pool are those without cuts, one of each stool.
        """
        value = np.array(self.pool.value)
        order = np.argsort(value[self.plan] - value[self.stool], kind="stable")
        for i in order.tolist():
            if not self.above:
                return
            if (self.pool.cuts[self.plan[i]][self.spare < 0] > 0).any():
                self._change(i, self.stool[i])
