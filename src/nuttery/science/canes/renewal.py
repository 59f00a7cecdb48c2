"""Which canes to saw out, winter by winter, so that every shrub bears well every year."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from nuttery.science.arguments import Floats, Ints
from nuttery.science.canes.check import check_plan
from nuttery.science.canes.many_stools import Effort
from nuttery.science.canes.planner import JOINT_CELLS, Planner
from nuttery.science.canes.rules import (
    Rules,
    checked_cap,
    checked_counts,
    checked_rules,
    crop_of,
    plan_value,
    standing_canes,
)
from nuttery.science.canes.ties import older_goes

FEW = 8  # stools that differ, up to which the best plan is looked for
GOOD_ENOUGH = 0.005  # gap that is enough where many stools share a cap
PROVEN = 2e-6  # gap below which a plan counts as the best; solvers round at this size


@dataclass(frozen=True)
class RenewalPlan:
    """A renewal plan of all stools, with the proof of how good it is.

    Attributes
    ----------
    cut, kept : (n, years, A) int, canes of each age sawn out and left standing in each winter
    crop : (n, years) float, kg borne in the summer after each winter
    objective : float, kg, worth of the plan
    bound : float, kg, no plan within the rules is worth more
    gap : float, (bound − objective) / max(1, |objective|)
    status : "optimal", "within gap", "limit reached" or "cancelled"
    rules : the rules it was made by
    """

    cut: Ints
    kept: Ints
    crop: Floats
    objective: float
    bound: float
    gap: float
    status: str
    rules: Rules

    def shown(self, years: int) -> "RenewalPlan":
        """The first years of the plan; its worth and bound stay those of all the years planned.

        Parameters
        ----------
        years : int, winters to show

        Returns
        -------
        RenewalPlan

        Notes
        -----
        Source: the plan, cut short; nothing is planned anew.
        Valid:  a plan longer than is shown, so that the last years shown are not robbed for an end
                that never comes: by `horizon` years, say.

        Examples
        --------
        >>> plan = plan_renewal([[0, 1, 1, 1]], [0, 0, 1, 1], horizon(2, max_age=2), target=2)
        >>> plan.cut.shape, plan.shown(2).cut.shape
        ((1, 3, 4), (1, 2, 4))
        """
        return replace(
            self, cut=self.cut[:, :years], kept=self.kept[:, :years], crop=self.crop[:, :years]
        )


def horizon(years_shown: int, max_age: int = 10) -> int:
    """Years to plan so that the years shown do not feel the end of the plan.

    Parameters
    ----------
    years_shown : int
    max_age : int, rotation of a cane

    Returns
    -------
    int, the years shown and half a rotation more

    Notes
    -----
    Source: a sucker kept in the last year shown has come into bearing by then; inferred.
    Valid:  a curve of bearing with its peak before half the rotation.

    Examples
    --------
    >>> horizon(15)
    20
    """
    return years_shown + max_age // 2


def plan_renewal(  # noqa: PLR0913 - the agreed interface and one word more
    counts: ArrayLike,
    bearing: ArrayLike,
    years: int,
    *,
    target: float,
    suckers: int = 8,
    max_age: int = 10,
    max_share: float = 1 / 3,
    crowding: float = 0.0,
    evenness: float = 1.0,
    discount: float = 1.0,
    overdue: float | None = None,
    cuts_per_year: ArrayLike | None = None,
    effort: Effort | None = None,
) -> RenewalPlan:
    """Renewal plan of all stools together: which canes go in each of the coming winters.

    Parameters
    ----------
    counts : (n, A) int, canes of each age in the first winter before pruning; column 0 is zero,
        the last column holds age A - 1 and older
    bearing : (A,) float, kg a kept cane of each age bears in the following summer
    years : int, winters to plan
    target : float, canes a stool carries without crowding
    suckers : int, new canes of each stool each summer, kept or cut at will when they are 1
    max_age : int, a cane kept at this age or older is overdue
    max_share : float, share of the canes of age 2 and older that may go in one winter; one may
        always go
    crowding : float, kg of crop lost for each cane above the target
    evenness : float, weight of the poorest year of each stool
    discount : float, weight of a year against the year before
    overdue : float, kg charged for each overdue cane and year; twice the best bearing by default
    cuts_per_year : cuts of age 2 and older over all stools, one number or (years,); None for no cap
    effort : how near the bound to come, progress and a way to stop; by default the best plan where
        up to 8 stools differ, or where a cap joins so few that one model holds them (400 stools ·
        years · ages); else within 0.5 % of the bound

    Returns
    -------
    RenewalPlan

    Raises
    ------
    BadArgumentError
        Naming the argument, the index, the value found and what was expected.

    Notes
    -----
    Source: the renewal model of this project (see the methods page): exact integer program.
    Valid:  live canes; saw out dead and cankered ones first; they do not count.
    Limits: expected bearing, no cane deaths; a plan is made for what is expected.

    Examples
    --------
    >>> plan = plan_renewal([[0, 0, 1, 1, 1]], [0, 0, 1, 1, 1], 1, target=2, crowding=2.0)
    >>> plan.cut[0, 0].tolist(), plan.status
    ([0, 0, 0, 0, 1], 'optimal')
    """
    rules = checked_rules(
        bearing,
        years,
        target=target,
        suckers=suckers,
        max_age=max_age,
        max_share=max_share,
        crowding=crowding,
        evenness=evenness,
        discount=discount,
        overdue=overdue,
    )
    canes = checked_counts(counts, rules.ages)
    caps = checked_cap(cuts_per_year, rules.years)
    alike, which, times = np.unique(canes, axis=0, return_inverse=True, return_counts=True)
    effort = effort or Effort()
    goal = _goal(len(alike) if caps is None else canes.size * rules.years, effort, caps)
    planner = Planner(alike, times.astype(np.int64), rules, caps, effort, goal)
    planner.run()
    kept = _dealt(planner, which.ravel()).reshape(len(canes), rules.years, rules.ages)
    return _plan(canes, kept, planner, caps)


def _goal(size: int, effort: Effort, caps: Ints | None) -> float:
    if effort.gap is not None:
        return effort.gap
    return 0.0 if size <= (FEW if caps is None else JOINT_CELLS) else GOOD_ENOUGH


def _dealt(planner: Planner, which: Ints) -> Ints:
    """The chosen plans, dealt out to the stools as they stand in the planting."""
    hands = [
        [
            older_goes(planner.counts[stool], planner.pool.kept[plan], planner.rules)
            for plan in plans
        ]
        for stool, plans in enumerate(planner.chosen)
    ]
    return np.array([hands[stool].pop() for stool in which])


def _status(planner: Planner, gap: float) -> str:
    if gap <= PROVEN:
        return "optimal"
    if planner.effort.stopped:
        return "cancelled"
    return "within gap" if gap <= max(planner.goal, PROVEN) else "limit reached"


def _plan(canes: Ints, kept: Ints, planner: Planner, caps: Ints | None) -> RenewalPlan:
    rules = planner.rules
    cut = standing_canes(canes, kept, rules.suckers) - kept
    breaches = check_plan(
        canes, cut, kept, suckers=rules.suckers, max_share=rules.max_share, cuts_per_year=caps
    )
    if breaches:
        raise RuntimeError(f"renewal plan breaks its own rules: {'; '.join(breaches)}")
    objective = float(plan_value(kept, rules).sum())
    bound = max(objective, planner.bound)
    gap = (bound - objective) / max(1.0, abs(objective))
    return RenewalPlan(
        cut=cut,
        kept=kept,
        crop=crop_of(kept, rules),
        objective=objective,
        bound=bound,
        gap=gap,
        status=_status(planner, gap),
        rules=rules,
    )
