"""nuttery canes: what to saw out this winter, stool by stool, and what if."""

from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from nuttery.cli.common import Asked, bold, faint, opened, print_json, table, to_terminal, wrapped

if TYPE_CHECKING:
    from nuttery.records import System
    from nuttery.season.canes import CanePlan


def canes(
    *,
    shrub: Annotated[str | None, Parameter(help="Only this shrub, with every reason.")] = None,
    cuts: Annotated[
        int | None, Parameter(help="Canes that can be cut in a winter, in all.")
    ] = None,
    target: Annotated[float | None, Parameter(help="Canes wanted on a stool.")] = None,
    max_age: Annotated[int | None, Parameter(help="Age at which a cane is overdue.")] = None,
    asked: Asked = Asked(),
) -> int:
    """Say what to saw out and what to keep this winter, with the reason for each cane."""
    from nuttery.season.canes import canes as ask

    planting = opened(asked)
    if shrub is not None:
        planting.shrub(shrub)
    to_terminal("planning the canes ...")
    usual = ask(planting)
    tried = ask(planting, target=target, max_age=max_age, cuts=cuts)
    to_terminal("")
    what_if = (cuts, target, max_age) != (None, None, None)
    if asked.json:
        print_json({"plan": tried, "usual": usual} if what_if else {"plan": tried})
        return 0
    if what_if:
        print(_side_by_side(usual, tried, planting.about.units))
    print(_one(tried, shrub) if shrub is not None else _all(tried))
    return 0


def _all(plan: "CanePlan") -> str:
    rows = []
    for k, tag in enumerate(plan.tags):
        old = int(plan.cut[k, 2:].sum())
        if plan.sawn[k] or not plan.cut[k].sum():
            continue
        ages = " ".join(f"{n}×{a}" for a, n in enumerate(plan.cut[k]) if n and a > 1)
        suckers = f"{int(plan.kept[k, 1])} of {int(plan.counts[k, 1])}"
        rows.append((tag, str(int(plan.counts[k].sum())), str(old), ages, suckers))
    total = int(sum(int(row[2]) for row in rows))
    head = bold(f"Canes to saw out in the winter before the summer of {plan.winter}")
    if not rows:
        return f"{head}\nNothing is left to saw out."
    hours = len(rows) * plan.minutes / 60
    own = f"your own {plan.minutes_records} times" if plan.minutes_records else "a published time"
    foot = (
        f"{total} canes on {len(rows)} stools, about {hours:.1f} hours ({plan.minutes:.0f} minutes "
        f"a stool, {own}). {int((plan.sawn > 0).sum())} stools are done. "
        f"The plan is within {plan.gap:.2%} of the best possible."
    )
    columns = ("shrub", "stand", "out", "canes × age", "suckers to keep")
    return "\n".join([head, table(columns, rows), wrapped(foot), _cautions()])


def _one(plan: "CanePlan", tag: str) -> str:
    from nuttery.season.canes import reasons

    if tag not in plan.tags:
        return f"{tag}: its canes were never counted."
    k = plan.tags.index(tag)
    parts = [bold(f"Stool {tag}, winter before the summer of {plan.winter}")]
    stand = ", ".join(f"{n} of {age}" for age, n in enumerate(plan.counts[k]) if n)
    parts.append(wrapped(f"{int(plan.counts[k].sum())} canes stand ({stand})"))
    parts += [f"  saw out: {reason}" for reason in reasons(plan, k)] or ["  nothing to saw out"]
    parts.append(f"  keep {int(plan.kept[k, 1])} of {int(plan.counts[k, 1])} suckers")
    if plan.sawn[k]:
        parts.append(f"  {int(plan.sawn[k])} canes were already cut this winter")
    crop = ", ".join(f"{kg:.2f}" for kg in plan.crop[k])
    basis = f"{plan.bearing_records} crops" if plan.bearing_records else "an assumed bearing by age"
    parts.append(
        faint(wrapped(f"Crop under the plan, kg a year from {plan.winter}: {crop} ({basis})"))
    )
    return "\n".join([*parts, _cautions()])


def _side_by_side(usual: "CanePlan", tried: "CanePlan", system: "System") -> str:
    from nuttery.records import told

    def column(plan: "CanePlan") -> tuple[str, ...]:
        crop = plan.crop.sum(axis=0)
        return (
            str(int(plan.cut[:, 2:].sum())),
            f"{plan.target:g}",
            str(plan.max_age),
            *(told(float(crop[y]), "mass", system, 0) for y in (0, 2, 5, 9)),
            told(float(crop.min()), "mass", system, 0),
        )

    names = ("canes out this winter", "canes wanted on a stool", "overdue at age")
    years = tuple(f"crop of {usual.winter + y}" for y in (0, 2, 5, 9))
    rows = list(zip((*names, *years, "thinnest year"), column(usual), column(tried), strict=True))
    return table(("", "as it is", "what if"), rows)


def _cautions() -> str:
    from nuttery.season.canes import CAUTION

    return wrapped(f"Caution: {CAUTION}")
