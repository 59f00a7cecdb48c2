"""The planning of all stools, round by round, until the plan is proven good enough."""

from dataclasses import dataclass, field

import numpy as np

from nuttery.science.arguments import Floats, Ints
from nuttery.science.canes.fitting import Fitting
from nuttery.science.canes.many_stools import Crew, Effort, Progress, Search
from nuttery.science.canes.rules import Rules
from nuttery.science.canes.shared_cap import Mixed, Mixture, Pool, bound_at
from nuttery.science.canes.solver import maximise
from nuttery.science.canes.stool import StoolPlans, sparing_plan
from nuttery.science.canes.stool_model import Layout, joined_blocks, kept_canes, stool_block

ROUNDS = 30  # price changes after which the planner gives what it has
PATIENCE, STILL = 5, 0.97  # rounds that leave more than so much of a distance are the last
SAMPLE = 120  # stools that the prices are found on first
CROWD, TURNS = 1000, 4  # stools from which prices stand after that, and turns that all have then
SOME = 128  # stools in such a turn between which prices follow the cuts made so far
PULL, DRIFT = 0.05, 0.25  # change of price for cuts of SOME stools too many; part that stays
AIM = 0.995  # share of the caps that such a turn aims at
ROOMS = (8, 32, 128, 512, 2048)  # states carried from winter to winter: from a quick look on
WANTED = 6  # plans of each stool that go into the pool each round
SPREAD = 0.3  # how far below a stool's best they may be, share of the charge for an overdue cane
BOX, SHRINK = 0.2, 0.7  # first change of prices at most, share of the charge for an overdue cane
MIXED = 0.8  # share of the distance allowed at which a mixture is made whole
TRIES = 24  # stools of which the one goes on that loses least by a cut less
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
        self.asked: list[Floats] = [self._trifle]
        self.unit = max(self.rules.overdue, float(self.rules.bearing.max()))
        self.width = BOX * self.unit
        self.spread = SPREAD * self.unit
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
            rows = self._worst(plans, self.times)
            if not len(rows):
                return
        if len(rows) <= PROVABLE or self.goal == 0:
            self._take(plans, self.crew.prove(rows, self._trifle, self.goal / 2))
            self._take_best(plans)

    def _take_best(self, plans: dict[int, StoolPlans]) -> None:
        best = self.pool.best_of_each()
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

    def _worst(self, plans: dict[int, StoolPlans], times: Ints) -> Ints:
        """The fewest stools whose shortfall, if it were gone, leaves a third of what is allowed."""
        rows = np.array(sorted(plans))
        short = times[rows] * np.array([plans[row].apart for row in rows.tolist()])
        order = np.argsort(-short, kind="stable")
        left = np.append(short.sum(), short.sum() - np.cumsum(short[order]))
        enough = self.allowed / 3 * times.sum() / self.times.sum()
        return np.sort(rows[order[: int(np.argmax(left <= max(enough, NOTHING)))]])

    def _plan_within(self, caps: Ints) -> None:
        """Prices of cuts from some of the stools, then plans of all, then a choice that fits."""
        every = int(self.times.sum())
        if every * self.rules.years * self.rules.ages <= JOINT_CELLS:
            self._plan_jointly(caps)
            return
        market = Market(self.times, caps.astype(np.float64), self._first_prices(caps / every))
        step = len(self.counts) // SAMPLE
        if step > 1:
            some = np.zeros_like(self.times)
            some[::step] = self.times[::step]
            small = Market(some, caps * (some.sum() / every), market.prices)
            self._settle(small)
            market.prices, market.path = small.prices, small.path
        if every >= CROWD:
            self._settle_crowd(market)
        else:
            self._settle(market)

    def _first_prices(self, fair: Floats) -> Floats:
        """Prices of the relaxed model of the average stool under its part of the caps."""
        average = self.times @ self.counts / self.times.sum()
        return np.maximum(self._trifle, self.crew.book.relaxed.price_of_cuts(average, fair))

    def _settle(self, market: "Market") -> None:
        """Change prices until the mixture of plans comes near the bound; make it whole.

        The next prices are those of the best mixture when cuts can be bought and sold a little
        dearer and cheaper than at the best prices so far; that little shrinks when it was too much.
        """
        mixture = Mixture(self.pool, market.times, market.caps)
        part = float(market.times.sum() / self.times.sum())
        prices, mixed = market.prices, None
        apart: list[float] = []
        while len(apart) < ROUNDS and not _stuck(apart):
            self.round += 1
            self.asked.append(prices)
            if not self._ask(market, prices):
                break
            self._follow(market)
            mixed = mixture.best()
            self.hope = mixed.value / part
            apart.append(market.bound - mixed.value)
            if apart[-1] <= part * MIXED * self.allowed:
                if part == 1:
                    self._make_whole(mixed, market.caps, sweeps=0)
                if part < 1 or self.done:
                    break
            box = np.maximum(0, market.prices - self.width), market.prices + self.width
            prices = np.maximum(self._trifle, mixture.best(*box).prices)
        if part < 1:
            market.path = self._path(mixed)
        elif self.bound - self.objective > self.allowed:
            self._make_whole(mixture.best(), market.caps, SWEEPS)

    def _settle_crowd(self, market: "Market") -> None:
        """Plan all of very many stools at prices that stand, and choose among their plans.

        Rounding loses little among so many, so no mixture is needed: it would take most of the
        time.
        """
        self.round += 1
        self.asked.append(market.prices)
        self._ask(market, market.prices)
        for turn in range(TURNS):
            self.round += 1
            x = self._balanced(market, np.random.default_rng(turn))
            self._make_whole(Mixed(self.hope, x, market.prices), market.caps, sweeps=0)
            if self.done:
                return

    def _balanced(self, market: "Market", rng: np.random.Generator) -> Floats:
        """Plan some stools after others, a winter's cuts dearer where too many were made so far.

        Returns
        -------
        (plans of the pool,) float, how many stools have each
        """
        every, base, prices = market.times.sum(), market.prices, market.prices
        how = Search(self._slack(), ROOMS[0], WANTED, self.spread, learns=False)
        rows = rng.permutation(len(self.counts))
        cuts, done, picked = np.zeros(len(base)), 0, np.full(len(rows), -1)
        for some in np.array_split(rows, max(1, len(rows) // SOME)):
            self._look({}, np.sort(some), prices, how, int((picked >= 0).sum()))
            picked[some] = self.pool.best_of_each(prices)[some]
            cuts += self.times[some] @ np.array([self.pool.cuts[plan] for plan in picked[some]])
            done += int(self.times[some].sum())
            over = cuts / np.maximum(1, AIM * market.caps) * every / SOME - done / SOME
            base = base + DRIFT * PULL * self.unit * over
            prices = np.maximum(self._trifle, base + PULL * self.unit * over)
        shares: Floats = np.bincount(picked, self.times, len(self.pool.stool)).astype(np.float64)
        return shares

    def _ask(self, market: "Market", prices: Floats) -> bool:
        """Plan every stool of a market at these prices of cuts; whether all were asked.

        Stools far from their bounds are looked at again, in more room, until the rest is little.
        """
        rows = np.flatnonzero(market.times)
        plans: dict[int, StoolPlans] = {}
        for room in ROOMS[:4]:
            how = Search(self._slack(), room, WANTED, self.spread, learns=room == ROOMS[0])
            self._look(plans, rows, prices, how)
            if len(plans) < np.count_nonzero(market.times):
                return False
            rows = self._worst(plans, market.times)
            if not len(rows):
                break
        bound = bound_at(prices, market.caps, market.times, plans)
        if bound < market.bound:
            market.bound, market.prices = bound, prices
            if len(plans) == len(self.times):
                self.bound = min(self.bound, bound)
        else:
            self.width *= SHRINK
        return True

    def _path(self, mixed: Mixed | None) -> list[tuple[float, Floats]]:
        """The prices at which the plans of a mixture were found, each with its share of them."""
        if mixed is None:
            return []
        found_in = np.array(self.pool.round[: len(mixed.x)])
        share = np.bincount(found_in, mixed.x, self.round + 1)
        return [(float(share[k]), self.asked[k]) for k in np.flatnonzero(share > 0) if k > 0]

    def _follow(self, market: "Market") -> None:
        """Plan stools at the prices whose plans mixed well before, as many at each as then."""
        path, market.path = market.path, []
        if not path:
            return
        rows = np.random.default_rng(0).permutation(len(self.counts))
        ends = np.cumsum([share for share, _ in path])
        cuts = np.rint(ends[:-1] / ends[-1] * len(rows)).astype(int)
        for some, (_, prices) in zip(np.split(rows, cuts), path, strict=True):
            if len(some):
                how = Search(self._slack(), ROOMS[0], WANTED, self.spread)
                self._look({}, np.sort(some), prices, how)

    def _make_whole(self, mixed: Mixed, caps: Floats, sweeps: int) -> None:
        """Choose a plan for each stool near the mixture, then mend it until it fits the caps."""
        whole = caps.astype(np.int64)
        near = self.pool.chosen(mixed, self.times, whole, unit=self.unit)
        fitting = Fitting(self.pool, self.crew, whole, near)
        fitting.fit(mixed.prices)
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
            self.pool.add(row, found.kept, self.round)

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


@dataclass
class Market:
    """Stools that share a cap on cuts: how many of each, the cap, the best prices and their bound.

    Attributes
    ----------
    times : (m,) int, 0 for stools left out
    caps : (years,) float
    prices : (years,) float, kg a cut
    bound : float, kg, at those prices
    path : prices that mixed well for some of the stools, each with its share
    """

    times: Ints
    caps: Floats
    prices: Floats
    bound: float = np.inf
    path: list[tuple[float, Floats]] = field(default_factory=list)
