"""The sawing of a winter: stools, canes and hours, and on whose times they rest."""

import math
from dataclasses import dataclass

from nuttery.science.arguments import Bools
from nuttery.science.canes import canes_a_year, thinning
from nuttery.season.estimate import Estimate
from nuttery.season.planting import Planting
from nuttery.season.renewal import CanePlan


@dataclass(frozen=True)
class CaneWork:
    """What is left to saw this winter.

    Attributes
    ----------
    rows : (n,) stools of the plan on which a cane goes
    stools, canes : how many; dead canes count
    hours : it takes; `records` own times behind it, none where they are a published time's
    """

    rows: Bools
    stools: int
    canes: int
    hours: Estimate


def cane_work(plan: CanePlan) -> CaneWork:
    """Return what a plan asks to be sawn this winter and is not sawn yet.

    Parameters
    ----------
    plan : the renewal plan, or one of its what-ifs
    """
    rows: Bools = plan.open & ((plan.cut[:, 2:].sum(axis=1) > 0) | (plan.dead > 0))
    stools = int(rows.sum())
    return CaneWork(
        rows=rows,
        stools=stools,
        canes=int(plan.cut[rows, 2:].sum() + plan.dead[rows].sum()),
        hours=Estimate(
            stools * plan.minutes / 60,
            stools * plan.minutes_low / 60,
            stools * plan.minutes_high / 60,
            "hours",
            plan.minutes_records,
            "learned" if plan.minutes_records else "published",
        ),
    )


def times_told(planting: Planting, plan: CanePlan) -> str:
    """Whose times the hours rest on: the grower's own, or a source's."""
    each = f"{plan.minutes:.1f} minutes a stool"
    if plan.minutes_records:
        return f"{each}, your own {plan.minutes_records} times"
    value = planting.value("canes.cutting.time")
    return f"{each}, {value.certainty}: {value.source}"


def cap_told(plan: CanePlan) -> str:
    """What is left of the cuts that a winter may have; nothing where any number may be made."""
    if plan.cap is None:
        return ""
    made = int(plan.sawn.sum())
    left = "now only dead and cankered canes go"
    if made < plan.cap:
        left = f"{plan.cap - made} are left, dead and cankered canes beside them"
    return f"Of the {plan.cap} cuts of this winter {made} are made: {left}. "


def nearness_told(plan: CanePlan) -> str:
    """How near a plan is to the best possible: proven, or not known where it was stopped early."""
    if not math.isfinite(plan.gap):
        return "How near the plan is to the best possible was not known when it was stopped."
    return f"The plan is within {plan.gap:.2%} of the best possible for these counts."


def winters_to_target(plan: CanePlan, k: int) -> tuple[int, ...]:
    """Cuts of each winter that bring a stool that was left alone down to its target by thirds.

    Parameters
    ----------
    plan : the renewal plan
    k : row of the stool

    Returns
    -------
    tuple of int; empty where no more stand than are wanted
    """
    live = int((plan.counts[k] - plan.must[k])[2:].sum())
    return tuple(thinning(live, max(1, round(plan.target)), plan.share).tolist())


def new_canes_a_year(plan: CanePlan) -> float:
    """Suckers that a stool of the wanted size must keep in a year to stand as it is."""
    return canes_a_year(plan.target, plan.max_age)
