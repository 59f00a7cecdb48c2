"""What is told of every shrub beside its canes: its crop, its pollen, its bearing canes to come."""

from collections.abc import Callable

from nuttery.records import told
from nuttery.season.canes import canes, thin_stools
from nuttery.season.crops import crops
from nuttery.season.errors import NotEnoughKnown
from nuttery.season.next_crop import expected_crop
from nuttery.season.planting import Planting
from nuttery.season.pollen import PollenOf, pollen
from nuttery.season.pollen_lines import HELD_BACK
from nuttery.season.words import listed, plural, share_told

Facts = tuple[tuple[str, str], ...]
CROP_YEARS = 3
"""Years with a picking whose mean is told."""
DONORS = 2
"""Donors that are named."""


def card_facts(planting: Planting) -> tuple[Facts, ...]:
    """Return (what, words) of every standing shrub, in walking order; the unknown is left out.

    Parameters
    ----------
    planting : the planting as of a day
    """
    told_by: tuple[tuple[str, Callable[[Planting], list[str]]], ...] = (
        ("Crop", _crop),
        ("Pollen", _pollen),
        ("Ahead", _ahead),
    )
    found = [(name, _known(tell, planting)) for name, tell in told_by]
    return tuple(
        tuple((name, words[k]) for name, words in found if words[k])
        for k in range(len(planting.shrubs))
    )


def _known(tell: Callable[[Planting], list[str]], planting: Planting) -> list[str]:
    try:
        return tell(planting)
    except NotEnoughKnown:
        return [""] * len(planting.shrubs)  # the plan tells what is lacking


def _crop(planting: Planting) -> list[str]:
    """Mean of its last years with a picking, and what to expect of it."""
    picked, ahead, units = crops(planting), expected_crop(planting), planting.about.units
    said = []
    for k in range(len(planting.shrubs)):
        rows = picked.of(k)[-CROP_YEARS:]
        parts = []
        if len(rows):
            years = plural(len(rows), "picked year")
            parts.append(f"{told(float(picked.kg[rows].mean()), 'mass', units)}, mean of {years}")
        if ahead.kg[k] > 0:
            kg, low, high = (
                told(float(mass[k]), "mass", units) for mass in (ahead.kg, ahead.low, ahead.high)
            )
            span = f"{low.split()[0]}–{high.split()[0]}"
            parts.append(f"{kg} ({span}) hang by the harvest of {ahead.year}")
        said.append("; ".join(parts))
    return said


def _pollen(planting: Planting) -> list[str]:
    """How much of its season it is fed, by whom, and who leans on it."""
    outlook = pollen(planting)
    return [_fed(outlook.one(shrub.tag), outlook.short) for shrub in planting.shrubs]


def _fed(one: PollenOf, short: float) -> str:
    if one.cover is None:
        return ""
    parts = [f"taken in {share_told(one.cover)} of its season"]
    if one.cover.median < short:
        parts[0] += f", short: {HELD_BACK[one.reason]}" if one.reason else ", short"
    donors = [f"{d.tag} ({d.share:.0%})" for d in one.donors[:DONORS]]
    parts += [f"chiefly from {listed(donors)}"] if donors else []
    parts += [f"{plural(one.if_lost, 'shrub')} would go short without it"] if one.if_lost else []
    return "; ".join(parts)


def _ahead(planting: Planting) -> list[str]:
    """The year in which it is shortest of bearing canes, where the plan cannot help it."""
    plan = canes(planting)
    thin = {plan.tags[k]: year for year, rows in thin_stools(plan).items() for k in rows}
    return [
        f"few bearing canes, fewest in {thin[shrub.tag]}" if shrub.tag in thin else ""
        for shrub in planting.shrubs
    ]
