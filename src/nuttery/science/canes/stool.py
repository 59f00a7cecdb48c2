"""The best plan of one stool when each cut has its price, and a bound on all its plans."""

from dataclasses import dataclass

import numpy as np

from nuttery.science.arguments import Floats, Ints
from nuttery.science.canes.rules import Rules, cut_limit, plan_value
from nuttery.science.canes.solver import maximise
from nuttery.science.canes.stool_model import Layout, kept_canes, stool_block
from nuttery.science.canes.stool_prices import RelaxedStool
from nuttery.science.canes.stool_search import NEVER, Game, reach_of, relaxed_view, search

ROOMS = (
    32,
    128,
    512,
    2048,
)  # states carried from winter to winter: from a quick look to a long one


@dataclass(frozen=True)
class StoolPlans:
    """Good plans of one stool, best first, and what no plan of it can exceed.

    Attributes
    ----------
    kept : (found, years, A) int
    worth : (found,) float, kg, less the prices of the cuts
    bound : float, kg, likewise
    """

    kept: Ints
    worth: Floats
    bound: float


def game_of(rules: Rules, cut_prices: Floats) -> Game:
    """The rules as the search wants them, each winter's cuts charged at its price."""
    return Game(
        bearing=rules.bearing,
        worth=rules.worth,
        weights=rules.weights,
        prices=np.array(cut_prices, dtype=np.float64),
        target=rules.target,
        crowding=rules.crowding,
        max_share=rules.max_share,
        suckers=rules.suckers,
    )


def stool_plans(
    count: Ints,
    relaxed: RelaxedStool,
    cut_prices: Floats,
    *,
    slack: float,
    rooms: tuple[int, ...] = ROOMS,
    wanted: int = 1,
    known: StoolPlans | None = None,
) -> StoolPlans:
    """Good plans of one stool, searched in one room after another until one is proven good enough.

    Parameters
    ----------
    count : (A,) int, canes in the first winter
    relaxed : the relaxed model of the plan's rules
    cut_prices : (years,) float, kg a cut of age 2 and older
    slack : float, relative to the plan's value, distance to the bound at which to stop
    rooms : states carried from winter to winter, in each search in turn
    wanted : int, how many plans to give back at most
    known : what is known at these prices already

    Returns
    -------
    StoolPlans, with at least one plan
    """
    rules = relaxed.rules
    game = game_of(rules, cut_prices)
    old = int(count[2:].sum())
    spare = float(cut_limit(old, rules.max_share)) - rules.max_share * old
    view = relaxed_view(game, *relaxed.prices(count, cut_prices), spare)
    best = known or StoolPlans(
        sparing_plan(count, rules)[None], np.array([NEVER]), float(reach_of(view, count))
    )
    least = NEVER if known is None else best.worth[0] + slack * _scale(best, rules)
    for room in rooms:
        kept, worth, missed = search(count, game, view, room, least, wanted)
        if not len(worth) or worth[0] <= best.worth[0]:
            kept, worth = best.kept, best.worth
        bound = max(float(worth[0]), min(best.bound, max(least, missed)))
        best = StoolPlans(kept, worth, bound)
        least = worth[0] + slack * _scale(best, rules)
        if bound <= least:
            break
    return best


def _scale(plans: StoolPlans, rules: Rules) -> float:
    return max(1.0, abs(float(plan_value(plans.kept[:1], rules)[0])))


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
    return StoolPlans(kept, np.array([found.value]), found.bound)
