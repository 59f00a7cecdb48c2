"""The planning of all stools, round by round, until the plan is proven good enough."""

from dataclasses import dataclass, field, replace

import numpy as np

from nuttery.science.arguments import Floats, Ints
from nuttery.science.canes.fitting import Fitting
from nuttery.science.canes.following import Following
from nuttery.science.canes.many_stools import Crew, Effort, Progress, Search
from nuttery.science.canes.rules import Rules
from nuttery.science.canes.shared_cap import Mixed, Mixture, Pool, bound_at, worth_at
from nuttery.science.canes.solver import maximise
from nuttery.science.canes.stool import StoolPlans, sparing_plan
from nuttery.science.canes.stool_model import Layout, joined_blocks, kept_canes, stool_block

ROUNDS = 60  # price changes after which the planner gives what it has
PATIENCE, STILL = 8, 0.97  # rounds that leave more than so much of a distance are the last
CROWD = 1000  # stools that differ of which no mixture is made: it would take most of the time
SAMPLE, CLOSER = 120, 0.25  # stools of a crowd that the prices are found on, and how much nearer
TURNS, MORE_TURNS = 2, 4  # in which all, or a crowd, are planned at prices that follow the cuts
MENDED = 0.001  # share of the cuts above the caps that is mended before a crowd's last turn
PARTS, FEW_AT_ONCE = 64, 4  # of a turn, between which the prices follow, and stools in one
ROOMS = (8, 32, 128, 512, 2048)  # states carried from winter to winter: from a quick look on
WANTED = 6  # plans of each stool that go into the pool each round
SPREAD = 0.3  # how far below a stool's best they may be, share of the charge for an overdue cane
BOX = 0.2  # change of prices at most in a round to begin with, share of the unit
SHRINK, GROW = 0.85, 1.3  # that change after a round that brought no better bound, and one that did
MIXED = 0.8  # share of the distance allowed at which a mixture is made whole
SWEEPS = 4  # times that each stool is planned again within what the others leave
JOINT_CELLS = 400  # stools · years · ages up to which the whole is solved as one model
JOINT_NODES = 20_000
PROVABLE = 16  # stools that HiGHS may be asked to prove in one round
NOTHING = 1e-9  # kg; less is rounding
TRIFLE = 1e-8  # share of the best bearing


@dataclass
class Planner:
    """What is known so far: a pool of plans, the best choice among them, and the bound.

    Attributes
    ----------
    counts : (m, A) int, stools that differ
    times : (m,) int, how many stand in the planting of each
    rules, caps, effort : as the caller gave them
    goal : float, relative distance to the bound that is good enough
    bound, objective, chosen : the proven bound, and the best choice of plans with its worth
    hope : float, what a mixture of the plans known would be worth
    prices : (years,) float, kg a cut, of the best bound
    """

    counts: Ints
    times: Ints
    rules: Rules
    caps: Ints | None
    effort: Effort
    goal: float
    bound: float = np.inf
    objective: float = -np.inf
    chosen: list[list[int]] = field(default_factory=list)
    round: int = 0
    hope: float = -np.inf

    def __post_init__(self) -> None:
        self.unit = max(self.rules.overdue, float(self.rules.bearing.max()))
        self.spread, self.width = SPREAD * self.unit, BOX * self.unit
        self.prices = self._trifle
        self.pool = Pool(self.counts, self.rules)
        for row, count in enumerate(self.counts):
            self.pool.add(row, sparing_plan(count, self.rules)[None])
        self._keep([[row] * int(k) for row, k in enumerate(self.times)])

    @property
    def allowed(self) -> float:
        """Distance to the bound that is good enough, kg."""
        return self.goal * max(1.0, abs(max(self.hope, self.objective)))

    @property
    def done(self) -> bool:
        """Whether there is nothing more to do: good enough, or told to stop."""
        return self.bound - self.objective <= self.allowed or self.effort.stopped

    def run(self) -> None:
        """Plan until good enough, stopped, or out of rounds."""
        if not len(self.counts):
            self.bound = self.objective = 0.0
            return
        with Crew(self.counts, self.rules, self.effort) as self.crew:
            if self.caps is None:
                self._plan_freely()
            else:
                self._plan_within(self.caps)

    @property
    def _trifle(self) -> Floats:
        """Least price of a cut: among plans of equal worth the one with less work goes first."""
        return np.full(self.rules.years, TRIFLE * float(self.rules.bearing.max()))

    def _plan_freely(self) -> None:
        """Each stool for itself, with more room for those whose bound is far."""
        plans: dict[int, StoolPlans] = {}
        rows = np.arange(len(self.counts))
        for self.round, room in enumerate(ROOMS, 1):
            self._look(plans, rows, self._trifle, Search(self._slack() / 5, room))
            self._take_best(plans)
            if len(plans) < len(self.counts) or self.done:
                return
            rows = self._worst(plans)
            if not len(rows):
                return
        if len(rows) <= PROVABLE or self.goal == 0:
            self._take(plans, self.crew.prove(rows, self._trifle, self.goal / 2))
            self._take_best(plans)

    def _take_best(self, plans: dict[int, StoolPlans]) -> None:
        best = self.pool.best_of_each(0 * self._trifle)
        self._keep([[plan] * int(k) for plan, k in zip(best, self.times, strict=True)])
        if len(plans) == len(self.counts):
            possible = self._possible_cuts()
            self.bound = min(self.bound, bound_at(self._trifle, possible, self.times, plans))

    def _possible_cuts(self) -> Floats:
        """Cuts that are possible at all, (years,)."""
        canes = float(self.times @ self.counts.sum(axis=1))
        yearly = float(self.times.sum() * self.rules.suckers)
        return canes + yearly * np.arange(self.rules.years, dtype=np.float64)

    def _slack(self) -> float:
        """Distance of a stool to its bound at which its relaxed prices are not looked into, kg."""
        return self.allowed / (4 * float(self.times.sum()))

    def _worst(self, plans: dict[int, StoolPlans]) -> Ints:
        """The fewest stools whose shortfall, if it were gone, leaves a third of what is allowed."""
        rows = np.array(sorted(plans))
        short = self.times[rows] * np.array([plans[row].apart for row in rows.tolist()])
        order = np.argsort(-short, kind="stable")
        left = np.append(short.sum(), short.sum() - np.cumsum(short[order]))
        return np.sort(rows[order[: int(np.argmax(left <= max(self.allowed / 3, NOTHING)))]])

    def _plan_within(self, caps: Ints) -> None:
        """A bound at good prices of cuts, plans at prices that follow the cuts, a choice that fits.

        Where that is not good enough, few enough stools go on to the best mixture of their plans.
        """
        every = int(self.times.sum())
        if every * self.rules.years * self.rules.ages <= JOINT_CELLS:
            self._plan_jointly(caps)
            return
        crowd = len(self.counts) >= CROWD
        self._ask(caps, self._first_prices(caps / every))
        if len(self.counts) >= PARTS:
            self._take_turns(caps, self._prices_of_some(caps) if crowd else self.prices)
        if not crowd and not self.done:
            self._settle(caps)

    def _prices_of_some(self, caps: Ints) -> Floats:
        """Prices found by planning every so many of the stools, by their canes, alone."""
        order = np.argsort(self.counts[:, 2:].sum(axis=1), kind="stable")
        step = len(order) // SAMPLE
        some = np.sort(order[step // 2 :: step])
        part = self.times[some].sum() / self.times.sum()
        alone = replace(self.effort, progress=None)
        shares = np.rint(part * caps).astype(np.int64)
        goal = CLOSER * self.goal
        small = Planner(self.counts[some], self.times[some], self.rules, shares, alone, goal)
        small.run()
        return small.prices

    def _first_prices(self, fair: Floats) -> Floats:
        """Prices of the relaxed model of the average stool under its part of the caps."""
        average = self.times @ self.counts / self.times.sum()
        return np.maximum(self._trifle, self.crew.book.relaxed.price_of_cuts(average, fair))

    def _settle(self, caps: Ints) -> None:
        """Change prices until the mixture of plans comes near the bound; make it whole.

        The next prices are those of the best mixture when cuts can be bought and sold a little
        dearer and cheaper than at the best prices so far; that little shrinks when it was too much.
        """
        mixture = Mixture(self.pool, self.times, caps)
        apart: list[float] = []
        while len(apart) < ROUNDS and not _stuck(apart):
            mixed = mixture.best()
            self.hope = mixed.value
            apart.append(self.bound - mixed.value)
            if apart[-1] <= MIXED * self.allowed:
                self._make_whole(mixed, caps)
                if self.done:
                    return
            box = np.maximum(0, self.prices - self.width), self.prices + self.width
            prices = np.maximum(self._trifle, mixture.best(*box).prices)
            if not self._ask(caps, prices):
                break
        self._make_whole(mixture.best(), caps, sweeps=SWEEPS)

    def _take_turns(self, caps: Ints, prices: Floats) -> None:
        """Plan all stools anew in turns, each winter's cuts dearer while there are too many."""
        following = Following(
            self.times,
            caps,
            prices,
            unit=self.unit,
            picked=self.pool.best_of_each(prices),
        )
        crowd = len(self.counts) >= CROWD
        turns = MORE_TURNS if crowd else TURNS
        for turn in range(turns):
            self.round += 1
            self._take_turn(following, np.random.default_rng(turn))
            x = np.bincount(following.picked, self.times, len(self.pool.stool)).astype(np.float64)
            most = MENDED if crowd and turn + 1 < turns else 1.0
            self._make_whole(Mixed(self.hope, x, following.prices), caps, most=most)
            if crowd and turn + 1 == TURNS and not self.done:
                self._ask(caps, following.prices)
            if self.done:
                return

    def _take_turn(self, following: Following, rng: np.random.Generator) -> None:
        how = Search(self._slack(), ROOMS[0], WANTED, self.spread, learns=False)
        rows = rng.permutation(len(self.counts))
        if len(rows) >= CROWD:
            self._look({}, rows[:SAMPLE], following.prices, replace(how, learns=True))
        done = 0
        for some in np.array_split(rows, max(1, len(rows) // max(FEW_AT_ONCE, len(rows) // PARTS))):
            prices = np.maximum(self._trifle, following.prices_for(some))
            plans: dict[int, StoolPlans] = {}
            self._look(plans, some, prices, how, done)
            if len(plans) < len(some):
                break
            places = [self.pool.place(row, plans[row].kept[0]) for row in some.tolist()]
            following.take(some, np.array(places), np.array([self.pool.cuts[k] for k in places]))
            done += len(some)

    def _ask(self, caps: Ints, prices: Floats) -> bool:
        """Plan every stool at these prices of cuts; whether all were asked.

        Stools far from their bounds are looked at again, in more room, until the rest is little or
        the prices are known to be no better than the best ones.
        """
        self.round += 1
        rows = np.arange(len(self.counts))
        plans: dict[int, StoolPlans] = {}
        for room in ROOMS[:4]:
            how = Search(self._slack(), room, WANTED, self.spread, learns=room == ROOMS[0])
            self._look(plans, rows, prices, how)
            if len(plans) < len(self.counts):
                return False
            rows = self._worst(plans)
            if not len(rows) or worth_at(prices, caps, self.times, plans) > self.bound:
                break
        bound = bound_at(prices, caps, self.times, plans)
        if bound < self.bound:
            self.bound, self.prices = bound, prices
            self.width = min(GROW * self.width, BOX * self.unit)
        else:
            self.width *= SHRINK
        return True

    def _make_whole(self, mixed: Mixed, caps: Ints, *, most: float = 1.0, sweeps: int = 0) -> None:
        """Choose a plan for each stool near the mixture, then mend it until it fits the caps.

        Where more than `most` of the cuts is above the caps, stools that cut nothing mend it.
        """
        near = self.pool.chosen(mixed, self.times, caps, unit=self.unit)
        fitting = Fitting(self.pool, self.crew, caps, near)
        if fitting.above <= most * caps.sum():
            fitting.fit(mixed.prices)
        fitting.fall_back()
        self._keep(fitting.chosen())
        for _ in range(sweeps):
            if self.done or not fitting.fill(self._trifle):
                break
            self._keep(fitting.chosen())

    def _look(
        self,
        plans: dict[int, StoolPlans],
        rows: Ints,
        prices: Floats,
        how: Search,
        before: int = 0,
    ) -> None:
        """Plan stools at prices; `before` were planned already, as progress tells it."""
        known = self.pool.best_at(prices, rows) | plans
        for some in self.crew.plan(rows, prices, how, known):
            self._take(plans, some)
            self._tell(before + len(plans))

    def _take(self, plans: dict[int, StoolPlans], some: dict[int, StoolPlans]) -> None:
        for row, found in some.items():
            plans[row] = found
            self.pool.add(row, found.kept)

    def _keep(self, chosen: list[list[int]]) -> None:
        """Keep a choice of plans if it is the best so far."""
        value = sum(self.pool.value[plan] for plans in chosen for plan in plans)
        if value > self.objective:
            self.objective, self.chosen = value, chosen

    def _tell(self, done: int) -> None:
        if self.effort.progress is not None:
            gap = np.inf
            if np.isfinite(self.bound):
                gap = float((self.bound - self.objective) / max(1.0, abs(self.objective)))
            self.effort.progress(Progress(done, len(self.counts), self.round, gap))

    def _plan_jointly(self, caps: Ints) -> None:
        at = Layout(self.rules.years, self.rules.ages)
        each = np.repeat(np.arange(len(self.counts)), self.times)
        blocks = [stool_block(self.counts[i], self.rules, 0 * self.rules.weights) for i in each]
        found = maximise(
            joined_blocks(blocks, at, caps.astype(np.float64)), gap=self.goal, max_nodes=JOINT_NODES
        )
        self.bound = min(self.bound, found.bound)
        chosen: list[list[int]] = [[] for _ in self.times]
        for i, x in zip(each, found.x.reshape(len(each), at.width), strict=True):
            chosen[i].append(self.pool.add(int(i), kept_canes(x, at)[None]))
        self._keep(chosen)


def _stuck(apart: list[float]) -> bool:
    """Whether the last rounds brought mixture and bound no nearer to each other."""
    return len(apart) > PATIENCE and apart[-1] > STILL * apart[-1 - PATIENCE]
