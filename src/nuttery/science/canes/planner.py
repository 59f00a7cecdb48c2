"""The planning of all stools, round by round, until the plan is proven good enough."""

from dataclasses import dataclass, field

import numpy as np

from nuttery.science.arguments import Floats, Ints
from nuttery.science.canes.many_stools import Crew, Effort, Progress, Search
from nuttery.science.canes.rules import Rules
from nuttery.science.canes.shared_cap import Pool, bound_at
from nuttery.science.canes.solver import Relaxed, maximise, relaxed
from nuttery.science.canes.stool import ROOMS, StoolPlans, sparing_plan
from nuttery.science.canes.stool_model import Layout, joined_blocks, kept_canes, stool_block

ROUNDS = 12  # price changes after which the planner gives what it has
SAMPLE = 20  # stools whose joint relaxed model gives the first prices
WALK = 120  # stools asked in turn, twice, while the first prices are set right
STEPS = (0.1, 0.04)  # change of prices for a cut too many a stool, share of the charge
POOL = 4000  # plans that go into the pool each round, but 4 to 32 of each stool
JOINT_CELLS = 400  # stools · years · ages up to which the whole is solved as one model
JOINT_NODES = 20_000
TOGETHER = 4  # stools planned together again when the choice is mended
MENDS = 30  # how often at most
MEND_NODES = 50
PROVABLE = 16  # stools that HiGHS may be asked to prove in one round
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
    hope: float = 0.0
    mixture: Relaxed | None = None

    def __post_init__(self) -> None:
        self.pool = Pool(self.counts, self.rules)
        self.everyone = np.arange(len(self.counts))
        for row, count in enumerate(self.counts):
            self.pool.add(row, sparing_plan(count, self.rules)[None])

    @property
    def allowed(self) -> float:
        """Distance to the bound that is good enough, kg."""
        best = self.objective if np.isfinite(self.objective) else self.hope
        return self.goal * max(1.0, abs(best))

    @property
    def good_enough(self) -> bool:
        """Whether the plan is near enough to the bound."""
        return self.bound - self.objective <= self.allowed

    @property
    def done(self) -> bool:
        """Whether there is nothing more to do: good enough, or told to stop."""
        return self.good_enough or self.effort.stopped

    def run(self) -> None:
        """Plan until good enough, stopped, or out of rounds."""
        if not len(self.counts):
            self.bound = self.objective = 0.0
            return
        with Crew(self.counts, self.rules, self.effort) as self.crew:
            if self.caps is None:
                self._look_closer({}, self._trifle)
            else:
                self._set_prices(self.caps)
        if not self.chosen:
            self._choose()
        if self.caps is not None and not self.done and self._is_small():
            self._plan_jointly(self.caps)

    @property
    def _trifle(self) -> Floats:
        """Least price of a cut: among plans of equal worth the one with less work goes first."""
        return np.full(self.rules.years, TRIFLE * float(self.rules.bearing.max()))

    @property
    def _limits(self) -> Floats:
        """Cuts that the caps allow in each winter, or that are possible at all, (years,)."""
        if self.caps is not None:
            return self.caps.astype(np.float64)
        canes = float(self.times @ self.counts.sum(axis=1))
        yearly = float(self.times.sum() * self.rules.suckers)
        return canes + yearly * np.arange(self.rules.years, dtype=np.float64)

    def _is_small(self) -> bool:
        return bool(self.times.sum() * self.rules.years * self.rules.ages <= JOINT_CELLS)

    def _set_prices(self, caps: Ints) -> None:
        """Change the price of each winter's cuts until the stools together keep to the caps."""
        prices = self._walked_prices(self._first_prices(caps), caps)
        for self.round in range(1, ROUNDS + 1):
            if self.effort.stopped:
                break
            plans: dict[int, StoolPlans] = {}
            self._look(plans, self.everyone, prices, self._steps(plans)[0])
            short = self._shortfalls(plans).sum()
            mixed = self.pool.mixed(self.times, caps)
            self.hope = mixed.value
            apart = bound_at(prices, self._limits, self.times, plans) - short - mixed.value
            if apart <= self.allowed / 2 or self.round == ROUNDS:
                self._look_closer(plans, prices)
                if self.done:
                    break
                mixed = self.pool.mixed(self.times, caps)
            prices = np.maximum(self._trifle, (prices + self.pool.prices(mixed)) / 2)

    def _first_prices(self, caps: Ints) -> Floats:
        """Prices of the relaxed model of a few stools under their part of the caps."""
        each = np.repeat(self.everyone, self.times)
        sample = each[np.linspace(0, len(each) - 1, min(SAMPLE, len(each))).astype(int)]
        blocks = [stool_block(self.counts[i], self.rules, 0 * self.rules.weights) for i in sample]
        share = caps.astype(np.float64) * (len(sample) / len(each))
        joined = joined_blocks(blocks, Layout(self.rules.years, self.rules.ages), share)
        return np.maximum(0.0, relaxed(joined).row_prices[-self.rules.years :])

    def _walked_prices(self, prices: Floats, caps: Ints) -> Floats:
        """Prices after asking stools in turn, raised where they cut too much and lowered else.

        The plans found on the way cut in winters that differ from stool to stool, so that some
        mixture of them fits the caps.
        """
        rng = np.random.default_rng(0)
        fair = caps / self.times.sum()
        charge = max(self.rules.overdue, float(self.rules.bearing.max()))
        for step in STEPS:
            path = [prices]
            for rows in np.array_split(rng.permutation(self.everyone)[:WALK], WALK // 6):
                if not len(rows) or self.effort.stopped:
                    break
                found: dict[int, StoolPlans] = {}
                self._look(found, rows, prices, self._steps({})[0], chunk=3)
                times = self.times[list(found)]
                cuts = np.array([self.pool.cuts_of(i, p.kept[0]) for i, p in found.items()])
                over = times @ (cuts - fair) / times.sum()
                prices = np.maximum(self._trifle, prices + step * charge * over)
                path.append(prices)
            prices = np.mean(path, axis=0)
        return prices

    def _steps(self, plans: dict[int, StoolPlans]) -> list[Search]:
        slack = self.goal / 2
        wanted = int(np.clip(POOL // len(self.counts), 4, 32))
        steps = [Search(slack, (room,), wanted, known=plans) for room in ROOMS]
        return [*steps, Search(slack, exact=True)]

    def _look(
        self,
        plans: dict[int, StoolPlans],
        rows: Ints,
        prices: Floats,
        how: Search,
        chunk: int = 32,
    ) -> None:
        for some in self.crew.plan(rows, prices, how, chunk):
            self._take(plans, some)
            self._tell(len(plans))

    def _look_closer(self, plans: dict[int, StoolPlans], prices: Floats) -> None:
        """Plan the poorly bounded stools again with more room, until the whole is good enough."""
        for how in self._steps(plans)[1 if plans else 0 :]:
            rows = self._worst(plans) if plans else self.everyone
            if how.exact and len(rows) > PROVABLE and self.goal > 0:
                break
            self._look(plans, rows, prices, how)
            if len(plans) < len(self.counts):
                break
            self.bound = min(self.bound, bound_at(prices, self._limits, self.times, plans))
            if self._may_do():
                self._choose()
                self._mend()
            if self.done or not self._shortfall_matters(plans):
                break

    def _may_do(self) -> bool:
        """Whether a choice from the pool may be good enough, so that it is worth the making."""
        if self.caps is not None:
            self.mixture = self.pool.mixed(self.times, self.caps)
            self.hope = self.mixture.value
            return self.bound - self.hope <= self.allowed
        return True

    def _take(self, plans: dict[int, StoolPlans], found: dict[int, StoolPlans]) -> None:
        self.mixture = None  # the pool grows, so a mixture of it is out of date
        for row, new in found.items():
            self.pool.add(row, new.kept)
            old = plans.get(row, new)
            better = new if new.worth[0] >= old.worth[0] else old
            plans[row] = StoolPlans(better.kept, better.worth, min(old.bound, new.bound))

    def _shortfalls(self, plans: dict[int, StoolPlans]) -> Floats:
        return np.array([self.times[i] * (p.bound - p.worth[0]) for i, p in sorted(plans.items())])

    def _shortfall_matters(self, plans: dict[int, StoolPlans]) -> bool:
        """Whether more room would help, rather than other prices."""
        short = self._shortfalls(plans).sum()
        best = max(self.hope, self.objective) if self.caps is not None else self.objective
        return bool(short > self.allowed / 2 and short > (self.bound - best) / 3)

    def _worst(self, plans: dict[int, StoolPlans]) -> Ints:
        """The fewest stools whose shortfall, if it were gone, leaves a third of what is allowed."""
        short = self._shortfalls(plans)
        order = np.argsort(-short, kind="stable")
        left = short.sum() - np.cumsum(short[order])
        return np.sort(order[: 1 + int(np.argmax(left <= self.allowed / 3))])

    def _choose(self) -> None:
        """Choose a plan for each stool from the pool; keep the choice if it is the best so far."""
        if self.caps is None:
            best = self.pool.best_of_each()
            chosen = [[plan] * int(k) for plan, k in zip(best, self.times, strict=True)]
        else:
            mixed = self.mixture or self.pool.mixed(self.times, self.caps)
            chosen = self.pool.chosen(mixed, self.times, self.caps)
        value = sum(self.pool.value[plan] for plans in chosen for plan in plans)
        if value > self.objective:
            self.objective, self.chosen = value, chosen

    def _mend(self) -> None:
        """Plan a few stools together again, those that lost most, while all others keep theirs."""
        if self.caps is None:
            return
        hands = [(stool, plan) for stool, some in enumerate(self.chosen) for plan in some]
        lost = self._losses(hands)
        tried: set[int] = set()
        for _ in range(MENDS):
            if self.done or len(tried) == len(hands):
                break
            group = [i for i in np.argsort(-lost, kind="stable").tolist() if i not in tried]
            group = group[:TOGETHER]
            tried |= set(group)
            if self._mend_group(hands, group):
                lost = self._losses(hands)
                tried = set(group)

    def _losses(self, hands: list[tuple[int, int]]) -> Floats:
        """How far each stool's plan falls short of its best at the prices of the mixture."""
        mixture = self.mixture or self.pool.mixed(self.times, np.array(self.caps))
        cuts, stool = np.array(self.pool.cuts), np.array(self.pool.stool)
        worth = np.array(self.pool.value) - cuts @ self.pool.prices(mixture)
        best = np.full(len(self.counts), -np.inf)
        np.maximum.at(best, stool, worth)
        return np.array([best[i] - worth[plan] for i, plan in hands])

    def _mend_group(self, hands: list[tuple[int, int]], group: list[int]) -> bool:
        others = [self.pool.cuts[plan] for i, (_, plan) in enumerate(hands) if i not in group]
        spare = self._limits - np.sum(others, axis=0) if others else self._limits
        at = Layout(self.rules.years, self.rules.ages)
        free = 0 * self.rules.weights
        blocks = [stool_block(self.counts[hands[i][0]], self.rules, free) for i in group]
        found = maximise(joined_blocks(blocks, at, spare), gap=self.goal, max_nodes=MEND_NODES)
        before = sum(self.pool.value[hands[i][1]] for i in group)
        if found.value <= before + 1e-6:
            return False
        for i, x in zip(group, found.x.reshape(len(group), at.width), strict=True):
            stool = hands[i][0]
            hands[i] = (stool, self.pool.add(stool, kept_canes(x, at)[None]))
        self.chosen = [[] for _ in self.counts]
        for stool, plan in hands:
            self.chosen[stool].append(plan)
        self.objective = sum(self.pool.value[plan] for _, plan in hands)
        return True

    def _tell(self, done: int) -> None:
        if self.effort.progress is not None:
            gap = np.inf
            if np.isfinite(self.bound) and np.isfinite(self.objective):
                gap = float((self.bound - self.objective) / max(1.0, abs(self.objective)))
            self.effort.progress(Progress(done, len(self.counts), self.round, gap))

    def _plan_jointly(self, caps: Ints) -> None:
        at = Layout(self.rules.years, self.rules.ages)
        each = np.repeat(self.everyone, self.times)
        blocks = [stool_block(self.counts[i], self.rules, 0 * self.rules.weights) for i in each]
        found = maximise(
            joined_blocks(blocks, at, caps.astype(np.float64)), gap=self.goal, max_nodes=JOINT_NODES
        )
        self.bound = min(self.bound, found.bound)
        plans: list[list[int]] = [[] for _ in self.times]
        for i, x in zip(each, found.x.reshape(len(each), at.width), strict=True):
            plans[i].append(self.pool.add(int(i), kept_canes(x, at)[None]))
        value = sum(self.pool.value[plan] for some in plans for plan in some)
        if value > self.objective:
            self.objective, self.chosen = value, plans
