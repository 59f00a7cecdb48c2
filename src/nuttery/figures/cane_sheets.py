"""Canes in rows: what to saw out on each stool, thin years to come, and plans side by side."""

from collections.abc import Callable, Sequence
from math import isfinite

from nuttery.figures.chart import Cell, Sheet
from nuttery.records import System, told
from nuttery.season.cane_work import cane_work
from nuttery.season.canes import THIN, CanePlan, thin_stools
from nuttery.season.stools import AGES

YEARS_SHOWN = (0, 2, 5, 9, 14)
"""Harvests of a plan, from its first, that stand beside those of another."""
Plans = Sequence[tuple[str, CanePlan]]


def saw_sheet(plan: CanePlan) -> Sheet:
    """Return what to saw out and keep on every stool not yet sawn, in walking order."""
    rows: list[tuple[Cell, ...]] = []
    for k, tag in enumerate(plan.tags):
        cut = plan.cut[k]
        if not plan.open[k]:
            continue
        ages = ", ".join(f"{int(cut[a])} of {_age(a)}" for a in range(AGES - 1, 1, -1) if cut[a])
        suckers = f"{int(plan.kept[k, 1])} of {int(plan.counts[k, 1])}"
        sure = "counted" if plan.counted[k] == plan.winter else f"count of {plan.counted[k]}"
        standing, out = int(plan.counts[k, 2:].sum()), int(cut[2:].sum())
        dead = int(plan.dead[k])
        rows.append((tag, standing, out, ages or "–", dead, suckers, sure))
    columns = (
        "stool",
        "canes standing",
        "to saw out",
        "of age",
        "dead",
        "suckers to keep",
        "rests on",
    )
    return Sheet("To saw out this winter", columns, tuple(rows), tags=True)


def _age(age: int) -> str:
    return f"{age}+" if age == AGES - 1 else str(age)


def thin_sheet(plan: CanePlan) -> Sheet:
    """Return the harvests in which stools will have few canes of bearing age."""
    few = plan.productive < THIN * plan.target
    rows = tuple(
        (
            str(plan.winter + t),
            int(few[:, t].sum()),
            round(float(plan.productive[:, t].mean()), 1),
        )
        for t in range(plan.productive.shape[1])
    )
    columns = ("harvest", "stools with few", "canes of bearing age, mean of a stool")
    return Sheet("Thin years to come", columns, rows)


def side_by_side(plans: Plans, units: System) -> Sheet:
    """Return plans side by side: the work, the crop, and the canes they leave."""

    def row(words: str, tell: Callable[[CanePlan], str]) -> tuple[str, ...]:
        return (words, *(tell(plan) for _, plan in plans))

    def mass(kg: float) -> str:
        return told(float(kg), "mass", units, 0)

    def crop_of(year: int) -> tuple[str, ...]:
        return row(f"crop of {plans[0][1].winter + year}", lambda p: mass(p.crop[:, year].sum()))

    rows = (
        row("canes wanted on a stool", lambda p: f"{p.target:g}"),
        row("overdue from age", lambda p: str(p.max_age)),
        row("sawn already this winter", lambda p: str(int(p.sawn.sum()))),
        row("canes still to saw out", lambda p: str(cane_work(p).canes)),
        row("on so many stools", lambda p: str(cane_work(p).stools)),
        row("hours this winter", lambda p: f"{cane_work(p).hours.median:.1f}"),
        row("canes out in a later winter", lambda p: f"{p.cuts[1:].mean():.0f}"),
        row("overdue canes left", lambda p: str(int(p.kept[:, p.max_age :].sum()))),
        row("canes left on a stool", lambda p: f"{p.kept.sum(axis=1).mean():.1f}"),
        *(crop_of(year) for year in YEARS_SHOWN),
        row("crop of a year, on average", lambda p: mass(p.crop.sum(axis=0).mean())),
        row("crop of the thinnest year", lambda p: mass(p.crop.sum(axis=0).min())),
        row("stools with a gap coming", lambda p: str(sum(map(len, thin_stools(p).values())))),
        row("from the best possible", lambda p: f"{p.gap:.1%}" if isfinite(p.gap) else "not known"),
    )
    return Sheet("Plans side by side", ("what comes of it", *(name for name, _ in plans)), rows)
