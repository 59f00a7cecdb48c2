"""Good plans of one stool when each cut has its price, and a bound on all its plans."""

from dataclasses import dataclass

import numpy as np

from nuttery.science.arguments import Floats, Ints
from nuttery.science.canes.rules import Rules
from nuttery.science.canes.solver import maximise
from nuttery.science.canes.stool_model import Layout, kept_canes, stool_block
from nuttery.science.canes.stool_search import NEVER, Game, Views, reach_of, search

NO_LIMIT = 2**31


@dataclass(frozen=True)
class StoolPlans:
    """Good plans of one stool, best first, and what no plan of it can exceed.

    Attributes
    ----------
    kept : (found, years, A) int
    worth : (found,) float, kg, less the prices of the cuts
    bound : float, kg, likewise
    used : (k,) int, how often each view was the tightest
    """

    kept: Ints
    worth: Floats
    bound: float
    used: Ints

    @property
    def apart(self) -> float:
        """Distance from the best plan to the bound, kg."""
        return self.bound - float(self.worth[0])


def game_of(rules: Rules, cut_prices: Floats, most: Ints | None = None) -> Game:
    """The rules as the search wants them, cuts charged at the winter's price, `most` at most."""
    return Game(
        bearing=rules.bearing,
        worth=rules.worth,
        weights=rules.weights,
        prices=np.array(cut_prices, dtype=np.float64),
        target=rules.target,
        crowding=rules.crowding,
        max_share=rules.max_share,
        suckers=rules.suckers,
        most=np.full(rules.years, NO_LIMIT) if most is None else most.astype(np.int64),
    )


def stool_plans(
    count: Ints,
    game: Game,
    views: Views,
    *,
    room: int,
    wanted: int = 1,
    known: StoolPlans | None = None,
    spread: float = 0.0,
) -> StoolPlans:
    """Good plans of one stool, and what no plan of it can exceed.

    Parameters
    ----------
    count : (A,) int, canes in the first winter
    game, views : the rules and the prices of cuts, and what can be reached by them
    room : int, states carried from winter to winter
    wanted : int, how many plans to give back at most, beside the best one known
    known : what is known at these prices already; by default a first look in the least room
    spread : float, kg, how far below the best one known a plan may be

    Returns
    -------
    StoolPlans, with at least one plan
    """
    bound = reach_of(views, count)[0]
    if known is None:
        kept, worth, missed, used = search(count, game, views, 1, NEVER, 1)
        known = StoolPlans(kept, worth, max(float(worth[0]), missed), used)
    least = float(known.worth[0]) - spread
    kept, worth, missed, used = search(count, game, views, room, least, wanted)
    if not len(worth) or worth[0] < known.worth[0]:
        kept = np.concatenate([known.kept[:1], kept])
        worth = np.concatenate([known.worth[:1], worth])
    bound = min(bound, known.bound, max(least, missed))
    return StoolPlans(kept, worth, max(float(worth[0]), bound), used)


def sparing_plan(count: Ints, rules: Rules) -> Ints:
    """A plan without any cut of age 2 and older, suckers kept where there is a place for them.

    Parameters
    ----------
    count : (A,) int, canes in the first winter
    rules : target and suckers are used

    Returns
    -------
    (years, A) int, canes kept; within every rule and every cap
    """
    kept = np.zeros((rules.years, rules.ages), dtype=np.int64)
    kept[0] = count
    for t in range(rules.years):
        if t > 0:
            kept[t, 2:] = kept[t - 1, 1:-1]
            kept[t, -1] += kept[t - 1, -1]
        places = max(0, int(rules.target) - int(kept[t, 2:].sum()))
        kept[t, 1] = min(places, rules.suckers if t else int(count[1]))
    return kept


def exact_stool_plan(count: Ints, rules: Rules, cut_prices: Floats, *, slack: float) -> StoolPlans:
    """Best plan of one stool by the integer program: slower, and not put off by a hard stool."""
    found = maximise(stool_block(count, rules, cut_prices), gap=slack)
    kept = kept_canes(found.x, Layout(rules.years, rules.ages))[None]
    return StoolPlans(kept, np.array([found.value]), found.bound, np.zeros(0, dtype=np.int64))
