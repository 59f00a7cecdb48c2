"""The cane plan in a grower's words: what to cut, and the reason for each cane."""

from collections.abc import Sequence

import numpy as np

from nuttery.season.renewal import CanePlan
from nuttery.season.stools import AGES

STILL_WELL = 0.85
"""Share of the best crop from which an overdue cane is said to bear well yet."""
ALIKE = 3
"""Canes within a year of each other from which they are said to fall due together."""


def age_told(age: int) -> str:
    """An age as it is counted: the last one stands for older canes too.

    Examples
    --------
    >>> age_told(9), age_told(15)
    ('9', '15 or older')
    """
    return f"{age} or older" if age == AGES - 1 else str(age)


def reasons(plan: CanePlan, k: int) -> tuple[str, ...]:
    """The reason for each cane to be cut on a stool: what must go first, then the oldest.

    Parameters
    ----------
    plan : the plan
    k : row of the stool
    """
    said = []
    if plan.dead[k]:
        said.append(f"{_dead(int(plan.dead[k]))}: out at once, outside the third")
    for age in range(AGES - 1, 1, -1):
        sick = int(plan.must[k, age])
        said += [f"age {age_told(age)}: cankered, out at once and outside the third"] * sick
        free = int(plan.cut[k, age]) - sick
        said += [f"age {age_told(age)}: {_why(plan, k, age)}"] * free
    return tuple(said)


def _dead(canes: int) -> str:
    return "1 dead cane" if canes == 1 else f"{canes} dead canes"


def _why(plan: CanePlan, k: int, age: int) -> str:
    best = float(plan.bearing.max())
    bears = plan.bearing[age] / best if best else 0.0
    if age >= plan.max_age:
        if bears > STILL_WELL:
            return "overdue; it bears well yet, and its successor must grow before it fails"
        return f"overdue, bears {bears:.0%} of a cane at its best"
    older = np.flatnonzero(plan.kept[k]) > age
    left = plan.max_age - age
    if not older.any():
        years = "next winter" if left == 1 else f"in {left} winters"
        return f"the oldest, due {years}; gone now it makes room for its successor"
    return _while_older_stay(plan, k, age)


def _while_older_stay(plan: CanePlan, k: int, age: int) -> str:
    """Why a cane goes though older ones stay: the plan looks at the years that each has left."""
    alike = int(plan.counts[k, max(2, age - 1) : age + 2].sum())
    standing = int(plan.counts[k, 2:].sum())
    room = f"{standing} stand where {plan.target:g} are wanted"
    overdue = np.flatnonzero(plan.kept[k, plan.max_age :]) + plan.max_age
    thinnest = int(plan.crop[k].argmin())
    if len(overdue) and thinnest == 0 and plan.bearing[age] < plan.bearing[overdue].max():
        return (
            f"{room}; the one of {age_told(int(overdue[-1]))} bears more this summer, the "
            "thinnest of this stool's coming years, and goes as soon as others bear"
        )
    if alike >= ALIKE:
        due = plan.winter + plan.max_age - age
        return f"one of {alike} of about its age, all due about {due}; {room}"
    if plan.bearing[age] < plan.bearing[plan.kept[k].nonzero()[0]].max():
        return f"{room}; the older ones that stay bear more than it in the years they have left"
    return f"{room}; the younger ones will have filled its place when the older ones are due"


def suckers_told(keep: int, came_up: int) -> str:
    """What to do with the suckers.

    Examples
    --------
    >>> suckers_told(0, 1), suckers_told(0, 6), suckers_told(2, 6), suckers_told(3, 3)
    ('cut the sucker', 'cut all 6 suckers', 'keep 2 of 6 suckers', 'keep all 3 suckers')
    """
    if came_up == 1:
        return "keep the sucker" if keep else "cut the sucker"
    if keep in {0, came_up}:
        return f"{'keep' if keep else 'cut'} all {came_up} suckers"
    return f"keep {keep} of {came_up} suckers"


def cuts_told(cut: Sequence[int]) -> str:
    """How many canes of which age, the oldest first.

    Examples
    --------
    >>> cuts_told([0, 3, 0, 2] + [0] * 11 + [1])
    '1 of 15 or older, 2 of 3'
    """
    parts = [f"{int(cut[age])} of {age_told(age)}" for age in range(AGES - 1, 1, -1) if cut[age]]
    return ", ".join(parts)


def act(plan: CanePlan, k: int) -> str:
    """What to do on a stool, as said to a person."""
    parts = []
    if plan.dead[k]:
        parts.append(f"saw out {_dead(int(plan.dead[k]))}")
    if old := int(plan.cut[k, 2:].sum()):
        word = "cane" if old == 1 else "canes"
        parts.append(f"saw out {old} {word} ({cuts_told(plan.cut[k].tolist())})")
    if plan.counts[k, 1] and not plan.sawn[k]:
        parts.append(suckers_told(int(plan.kept[k, 1]), int(plan.counts[k, 1])))
    told = "; ".join(parts)
    return told[:1].upper() + told[1:]
