"""The cane plan in a grower's words: what to cut, and the reason for each cane."""

from collections.abc import Sequence

import numpy as np

from nuttery.season.renewal import CanePlan
from nuttery.season.stools import AGES
from nuttery.season.words import listed, plural

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
    said = [DEAD.format(plural(int(plan.dead[k]), "dead cane"))] if plan.dead[k] else []
    for age in range(AGES - 1, 1, -1):
        sick = int(plan.must[k, age])
        said += [f"age {age_told(age)}: {CANKERED}"] * sick
        free = int(plan.cut[k, age]) - sick
        said += [f"age {age_told(age)}: {_why(plan, k, age)}"] * free
    return tuple(said)


def why(plan: CanePlan, k: int) -> str:
    """Why canes of a stool go, in one sentence: ages with the same reason are drawn together."""
    said = [DEAD.format(plural(int(plan.dead[k]), "dead cane"))] if plan.dead[k] else []
    ages = range(AGES - 1, 1, -1)
    told: dict[str, list[int]] = {}
    for age in ages:
        if plan.must[k, age]:
            told.setdefault(CANKERED, []).append(age)
    free = [age for age in ages if plan.cut[k, age] > plan.must[k, age]]
    over = [age for age in free if age >= plan.max_age]
    if over:
        told.setdefault(_overdue(plan, over), []).extend(over)
    for age in free[len(over) :]:
        told.setdefault(_why(plan, k, age), []).append(age)
    for words, mine in told.items():
        name = "age" if len(mine) == 1 else "ages"
        which = f"{name} {listed([age_told(age) for age in mine])}: "
        said.append(words if len(told) == 1 else f"{which}{words}")
    if (standing := int(plan.counts[k, 2:].sum())) > plan.target:
        said.append(f"{standing} stand where {plan.target:g} are wanted")
    return "; ".join(said)


DEAD = "{}: out at once, outside the third"
CANKERED = "cankered, out at once and outside the third"


def _overdue(plan: CanePlan, ages: Sequence[int]) -> str:
    best = float(plan.bearing.max())
    shares = [float(plan.bearing[age]) / best if best else 0.0 for age in ages]
    low, high = (f"{100 * share:.0f}" for share in (min(shares), max(shares)))
    if min(shares) > STILL_WELL:
        return "overdue; bears well yet, but its successor must grow before it fails"
    return f"overdue, bears {low if low == high else f'{low}–{high}'}% of a cane at its best"


def _why(plan: CanePlan, k: int, age: int) -> str:
    if age >= plan.max_age:
        return _overdue(plan, [age])
    if not (np.flatnonzero(plan.kept[k]) > age).any():
        left = plan.max_age - age
        due = "next winter" if left == 1 else f"in {left} winters"
        return f"the oldest left, due {due}; out now, it makes room for its successor"
    return _while_older_stay(plan, k, age)


def _while_older_stay(plan: CanePlan, k: int, age: int) -> str:
    """Why a cane goes though older ones stay: the plan looks at the years that each has left."""
    alike = int(plan.counts[k, max(2, age - 1) : age + 2].sum())
    overdue = np.flatnonzero(plan.kept[k, plan.max_age :]) + plan.max_age
    thinnest = int(plan.crop[k].argmin())
    if len(overdue) and thinnest == 0 and plan.bearing[age] < plan.bearing[overdue].max():
        return (
            f"the one of {age_told(int(overdue[-1]))} bears more in this summer, the stool's "
            "thinnest, and goes as soon as others bear"
        )
    if alike >= ALIKE:
        return f"one of {alike} of about its age, all due about {plan.winter + plan.max_age - age}"
    if plan.bearing[age] < plan.bearing[plan.kept[k].nonzero()[0]].max():
        return "the older ones that stay bear more in the years they have left"
    return "the younger ones will have filled its place when the older ones are due"


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
    '3 canes: 1 of 15 years or older, 2 of 3'
    >>> cuts_told([0, 3, 0, 2] + [0] * 12), cuts_told([0] * 9 + [1] + [0] * 6)
    ('2 canes of 3 years', '1 cane of 9 years')
    """
    ages = [age for age in range(AGES - 1, 1, -1) if cut[age]]
    canes = plural(int(sum(cut[age] for age in ages)), "cane")
    if len(ages) == 1:
        return f"{canes} of {_years(ages[0])}"
    parts = [f"{int(cut[ages[0]])} of {_years(ages[0])}"]
    parts += [f"{int(cut[age])} of {age}" for age in ages[1:]]
    return f"{canes}: {', '.join(parts)}"


def _years(age: int) -> str:
    return f"{age} years or older" if age == AGES - 1 else f"{age} years"


def act(plan: CanePlan, k: int) -> str:
    """What to do on a stool, as said to a person."""
    parts = []
    if plan.dead[k]:
        parts.append(f"saw out {plural(int(plan.dead[k]), 'dead cane')}")
    if plan.cut[k, 2:].any():
        parts.append(f"saw out {cuts_told(plan.cut[k].tolist())}")
    if plan.counts[k, 1] and not plan.sawn[k]:
        parts.append(suckers_told(int(plan.kept[k, 1]), int(plan.counts[k, 1])))
    told = "; ".join(parts)
    return told[:1].upper() + told[1:]
