"""Sequential look at a lot: count rejects, then take it, refuse it, or draw more nuts."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from nuttery.reference import table, value
from nuttery.science.arguments import Floats, float_array, one_of
from nuttery.science.crop.estimate import Estimate
from nuttery.science.crop.sample import share_of_nuts
from nuttery.science.errors import BadArgumentError

PLAN = "reject_plan"
Verdict = Literal["accept", "reject", "draw more", "beyond the plan as read"]


@dataclass(frozen=True)
class Look:
    """Decision after counting rejects among the nuts drawn so far, and where it comes from."""

    verdict: Verdict
    draw: int
    accept_up_to: int
    reject_from: int
    certainty: str
    source: str
    caution: str = "A decision aid. Visual grading cannot detect aflatoxin or Salmonella."


def sequential_look(rejects: int, examined: int) -> Look:
    """What a sequential plan for nuts in shell says after the nuts drawn so far.

    Parameters
    ----------
    rejects : int, rejects among all nuts drawn so far
    examined : int, nuts drawn so far: one of the plan's steps

    Returns
    -------
    Look
        "draw more" with the number to draw; "beyond the plan as read" where the steps known to us
        end undecided.

    Raises
    ------
    BadArgumentError
        If the nuts drawn are not a step of the plan, or the rejects exceed them.

    Notes
    -----
    Source: sequential plan for nuts in shell at a 10 % action level, US Food and Drug
            Administration as quoted by a secondary source.
    Valid:  nuts drawn at random; 100, then 150.
    Limits: the source's later steps do not add up, so they are not used; ask the authority.

    Examples
    --------
    >>> [sequential_look(k, 100).verdict for k in (5, 15, 10)], sequential_look(10, 100).draw
    (['accept', 'reject', 'draw more'], 50)
    """
    steps = table(PLAN)
    known = [row["examined"] for row in steps]
    if examined not in known:
        told = ", ".join(str(n) for n in known)
        raise BadArgumentError(f"examined: found {examined}, expected one of {told}")
    if not 0 <= rejects <= examined:
        raise BadArgumentError(f"rejects: found {rejects}, expected 0 to {examined}")
    place = known.index(examined)
    row = steps[place]
    last = place + 1 == len(steps)
    verdict: Verdict = "beyond the plan as read" if last else "draw more"
    if rejects <= row["accept"]:
        verdict = "accept"
    elif rejects >= row["reject"]:
        verdict = "reject"
    draw = known[place + 1] - examined if verdict == "draw more" else 0
    return Look(verdict, draw, row["accept"], row["reject"], row["certainty"], row["source"])


def chance_of_verdicts(true_share: ArrayLike) -> dict[str, Floats]:
    """How often the plan takes, refuses or leaves open a lot of a given share of rejects.

    Parameters
    ----------
    true_share : float, share of rejects in the lot, 0 to 1

    Returns
    -------
    dict of "accept", "reject", "open" → float, in the shape of `true_share`

    Raises
    ------
    BadArgumentError
        If a share is not from 0 to 1.

    Notes
    -----
    Source: exact binomial sums over the steps of the plan.
    Valid:  large lots, nuts drawn at random.
    Limits: as the plan.

    Examples
    --------
    >>> {k: round(float(v), 3) for k, v in chance_of_verdicts(0.05).items()}
    {'accept': 0.877, 'reject': 0.0, 'open': 0.123}
    """
    from scipy.stats import binom

    share = float_array("true_share", true_share, low=0, high=1)
    first, second = table(PLAN)
    open_counts = np.arange(first["accept"] + 1, first["reject"])
    weight = binom.pmf(open_counts, first["examined"], share[..., None])
    more = second["examined"] - first["examined"]
    accept = binom.cdf(first["accept"], first["examined"], share) + np.sum(
        weight * binom.cdf(second["accept"] - open_counts, more, share[..., None]), axis=-1
    )
    reject = binom.sf(first["reject"] - 1, first["examined"], share) + np.sum(
        weight * binom.sf(second["reject"] - 1 - open_counts, more, share[..., None]), axis=-1
    )
    return {"accept": accept, "reject": reject, "open": 1 - accept - reject}


@dataclass(frozen=True)
class Level:
    """Share of rejects held against the level at which an authority acts."""

    found: Estimate
    level: float
    above: bool
    certainty: str
    source: str


def against_reject_level(rejects: int, examined: int, form: str) -> Level:
    """Share of rejects in a sample against the level at which the authority acts.

    Parameters
    ----------
    rejects, examined : int, nuts or kernels
    form : "in shell" or "kernel"

    Returns
    -------
    Level

    Raises
    ------
    BadArgumentError
        If counts do not fit or the form is unknown.

    Notes
    -----
    Source: US Food and Drug Administration, Compliance Policy Guide 570.425. Published.
    Valid:  rejects: insects, mould, rancid, decomposed, blank or shrivelled.
    Limits: the sample's share is held against the level; its interval shows what it is worth.

    Examples
    --------
    >>> against_reject_level(11, 100, "in shell").above
    True
    """
    one_of("form", form, ("in shell", "kernel"))
    row = value(f"crop.reject_level.{form.replace(' ', '_')}")
    found = share_of_nuts(rejects, examined)
    return Level(found, row.value, found.median > row.value, row.certainty, row.source)
