"""nuttery canes: what to saw out this winter, stool by stool, what if, and the crop ahead."""

from collections import Counter
from typing import TYPE_CHECKING, Annotated, Any

from cyclopts import Parameter

from nuttery.cli.common import (
    Asked,
    bold,
    faint,
    opened,
    print_json,
    several,
    table,
    to_terminal,
    watching,
    wrapped,
)

if TYPE_CHECKING:
    from nuttery.records import System
    from nuttery.season.cane_trial import Trial
    from nuttery.season.outlook import CropOutlook
    from nuttery.season.planting import Planting
    from nuttery.season.renewal import CanePlan
    from nuttery.season.watch import Watch

    Terms = dict[str, Any]


def canes(
    *,
    shrub: Annotated[str | None, Parameter(help="Only this shrub, with every reason.")] = None,
    cuts: Annotated[
        int | None, Parameter(help="Canes that can be cut in a winter, in all.")
    ] = None,
    target: Annotated[float | None, Parameter(help="Canes wanted on a stool.")] = None,
    max_age: Annotated[int | None, Parameter(help="Age at which a cane is overdue.")] = None,
    outlook: Annotated[
        bool, Parameter(negative="", help="The crop of the coming years, and if cut otherwise.")
    ] = False,
    asked: Asked = Asked(),
) -> int:
    """Say what to saw out and what to keep this winter, with the reason for each cane.

    A long run can be stopped with Ctrl-C: the best plan so far is shown, and not kept.
    """
    from nuttery.season.canes import canes as ask
    from nuttery.season.what_ifs import AS_IT_IS, what_ifs

    planting = opened(asked)
    if shrub is not None:
        planting.shrub(shrub)
    _check(cuts, target, max_age)
    terms = {"cuts": cuts, "target": target, "max_age": max_age}
    asked_for = {name: value for name, value in terms.items() if value is not None}
    with watching() as watch:
        if outlook:
            return _outlook(planting, asked_for, watch, as_json=asked.json)
        usual = ask(planting, watch=watch)
        plans = [(AS_IT_IS, usual)]
        for name, some in what_ifs(asked_for):
            plans.append((name, ask(planting, **some, watch=watch)))
    tried = plans[-1][1]
    test = _tried(planting, shrub, tried) if not asked_for else None
    to_terminal("")
    if asked.json:
        answer = {"plan": tried} | ({"side_by_side": dict(plans)} if asked_for else {})
        print_json(answer | ({"trial": test} if test else {}))
        return 0
    if asked_for:
        print(_side_by_side(plans, planting.about.units) + "\n")
    print(_all(planting, tried) if shrub is None else _one(planting, tried, shrub, test))
    return 0


def _check(cuts: int | None, target: float | None, max_age: int | None) -> None:
    """Refuse what no plan can be made for."""
    from nuttery.season import WrongQuestion

    for name, value, least, most in (
        ("cuts", cuts, 0, 1_000_000),
        ("target", target, 1, 60),
        ("max-age", max_age, 2, 14),
    ):
        if value is not None and not least <= value <= most:
            raise WrongQuestion(f"{name}: found {value}, expected {least} to {most}")


def _tried(planting: "Planting", tag: str | None, plan: "CanePlan") -> "Trial | None":
    from nuttery.season.cane_trial import trial

    return trial(planting, tag) if tag in plan.tags else None


def _all(planting: "Planting", plan: "CanePlan") -> str:
    from nuttery.season.canes import gaps_told

    rows = [planting.by_tag[tag].row or 0 for tag in plan.tags]
    head = bold(f"Canes to saw out in the winter before the summer of {plan.winter}")
    lines, only_suckers = [], 0
    for k in plan.open.nonzero()[0].tolist():
        if plan.cut[k, 2:].sum() or plan.dead[k]:
            lines.append(_line(plan, k, rows[k]))
        else:
            only_suckers += 1
    parts = [head]
    if lines:
        columns = ("row", "shrub", "stand", "out", "age × number", "keep suckers")
        parts.append(table(columns, lines))
    elif not only_suckers:
        parts.append("Nothing is left to saw out.")
    if only_suckers:
        word = "stool has" if only_suckers == 1 else "stools have"
        parts.append(wrapped(f"{only_suckers} more {word} only suckers to thin: nuttery season."))
    more = "The reason for each cane: nuttery canes --shrub TAG. The years ahead: --outlook."
    gaps = wrapped(gaps_told(plan))
    return "\n".join([*parts, wrapped(_foot(planting, plan)), gaps, faint(more), _cautions()])


def _line(plan: "CanePlan", k: int, row: int) -> tuple[str, ...]:
    from nuttery.season.cane_words import age_told

    ages = []
    for age in range(len(plan.cut[k]) - 1, 1, -1):
        out, sick = int(plan.cut[k, age]), int(plan.must[k, age])
        name = age_told(age).replace(" or older", "+")
        ages += [f"{name} × {sick} cankered"] if sick else []
        ages += [f"{name} × {out - sick}"] if out > sick else []
    if plan.dead[k]:
        ages.append(f"dead × {plan.dead[k]}")
    young = int(plan.counts[k, 1])
    suckers = f"{int(plan.kept[k, 1])} of {young}" if young else "–"
    out = int(plan.cut[k, 2:].sum() + plan.dead[k])
    stand = int(plan.counts[k, 2:].sum() + plan.dead[k])
    number = (str(row or "–"), plan.tags[k], str(stand), str(out))
    return (*number, ", ".join(ages), "done" if plan.sawn[k] else suckers)


def _foot(planting: "Planting", plan: "CanePlan") -> str:
    from nuttery.season.cane_work import (
        cane_work,
        cap_told,
        nearness_told,
        new_canes_a_year,
        times_told,
    )

    work, done = cane_work(plan), int((plan.sawn > 0).sum())
    told = (
        f"{several(work.canes, 'cane')} on {several(work.stools, 'stool')}, about "
        f"{work.hours.told(1)}: {times_told(planting, plan)}. "
        + (f"{several(done, 'stool')} done. " if done else "")
        + cap_told(plan)
    )
    if plan.status == "cancelled":
        told += "Stopped early: this is the best plan found until then. "
    kept = plan.ages[1:, 1].mean() / max(1, len(plan.tags))
    told += (
        f"Canes wanted on a stool: {plan.target:g} ({plan.target_basis}). "
        f"A stool of {plan.target:g} canes that go at {plan.max_age} stands as it is with "
        f"{new_canes_a_year(plan):.1f} suckers kept a winter; the plan keeps {kept:.1f} from the "
        "next winter on. "
    )
    return f"{told}{nearness_told(plan)} {_bearing(plan)}"


def _bearing(plan: "CanePlan") -> str:
    if not plan.bearing_records:
        return (
            "What a cane bears by its age is assumed; count canes and weigh pickings to learn it."
        )
    learned = f"What a cane bears by its age rests on {plan.bearing_records} yearly crops"
    if plan.halving is None:
        return f"{learned}."
    return f"{learned}; about {several(plan.halving, 'more winter')} would halve its width."


def _one(planting: "Planting", plan: "CanePlan", tag: str, test: "Trial | None") -> str:
    from nuttery.records import told
    from nuttery.season.cane_words import age_told, suckers_told
    from nuttery.season.cane_work import winters_to_target
    from nuttery.season.canes import reasons

    if tag not in plan.tags:
        return f"{tag}: its canes were never counted."
    k = plan.tags.index(tag)
    parts = [bold(f"Stool {tag}, winter before the summer of {plan.winter}")]
    stand = ", ".join(f"{n} of {age_told(a)}" for a, n in enumerate(plan.counts[k]) if n)
    parts.append(
        wrapped(
            f"{int(plan.counts[k].sum())} canes stand ({stand}); {plan.known[k]}, winter "
            f"{plan.counted[k]}. Ages are the likeliest, joined over all its counts."
        )
    )
    if plan.sawn[k]:
        parts.append(f"  {several(int(plan.sawn[k]), 'cane')} cut this winter: the stool is done")
    said = Counter(reasons(plan, k) if plan.open[k] else ())
    parts += [
        wrapped(f"saw out {n} × {r}" if n > 1 else f"saw out {r}", first="  ", rest="    ")
        for r, n in said.items()
    ]
    if not said:
        parts.append("  nothing to saw out")
    if plan.counts[k, 1] and not plan.sawn[k]:
        parts.append(f"  {suckers_told(int(plan.kept[k, 1]), int(plan.counts[k, 1]))}")
    if len(winters := winters_to_target(plan, k)) > 1 and not plan.sawn[k]:
        parts.append(wrapped(_thirds(plan, winters)))
    if test is not None and len(test.ages) and not plan.sawn[k]:
        parts.append(wrapped(_test_told(test)))
    crop = ", ".join(told(float(kg), "mass", planting.about.units) for kg in plan.crop[k])
    parts.append(faint(wrapped(f"Crop a year under the plan from {plan.winter}: {crop}.")))
    return "\n".join([*parts, faint(wrapped(_bearing(plan))), _cautions()])


def _thirds(plan: "CanePlan", winters: tuple[int, ...]) -> str:
    return (
        f"It stands so full that, a third a winter, it takes {len(winters)} winters to come down "
        f"to {plan.target:g} canes: {', '.join(map(str, winters))} out, no sucker kept meanwhile."
    )


def _test_told(test: "Trial") -> str:
    told: dict[tuple[int, int, int], list[float]] = {}
    for age, low, high, share in zip(test.ages, test.low, test.high, test.goes, strict=True):
        told.setdefault((int(age), int(low), int(high)), []).append(float(share))
    each = ", ".join(
        f"of age {age}{f' ({low} to {high})' if low < high else ''} "
        f"{', '.join(f'{share:.0%}' for share in shares)}"
        for (age, low, high), shares in told.items()
    )
    return (
        f"Ages are judged, so the stool was planned anew for {test.draws} draws of them: exactly "
        f"these canes go in {test.same:.0%} of the draws. How often each one goes: {each}."
    )


def _side_by_side(plans: list[tuple[str, "CanePlan"]], system: "System") -> str:
    from nuttery.figures.cane_sheets import side_by_side

    sheet = side_by_side(plans, system)
    return table(("", *sheet.columns[1:]), [tuple(map(str, row)) for row in sheet.rows])


def _outlook(
    planting: "Planting",
    terms: "Terms",
    watch: "Watch",
    *,
    as_json: bool,
) -> int:
    from nuttery.season.outlook import outlook

    found = outlook(planting, **terms, watch=watch)
    to_terminal("")
    if as_json:
        print_json(found)
    else:
        print(_ahead(found, planting.about.units))
    return 0


def _ahead(found: "CropOutlook", system: "System") -> str:
    from nuttery.records import shown, unit_of

    unit = unit_of("mass", system).symbol

    def kg(value: float) -> str:
        return f"{shown(value, 'mass', system):.0f}"

    rows = [
        (
            str(year),
            *(f"{kg(w.median[y])} ({kg(w.low[y])}–{kg(w.high[y])})" for w in found.ways),
        )
        for y, year in enumerate(found.years)
    ]
    rows.append(("all", *(kg(way.total) for way in found.ways)))
    head = bold(f"Crop of {several(found.stools, 'counted stool')} ahead, {unit} in shell")
    told = (
        f"The middle of {found.draws} draws, and between which values four in five lie: what a "
        "cane bears, good and bad years and canes that die are drawn, the same for every way. "
    )
    told += " ".join(
        f"This plan bears more over all the years than '{way.name}' in {way.better:.0%} of them."
        for way in found.ways[1:]
    )
    why = (
        "The plan weighs the thinnest year of each stool beside the total, so a way that bears a "
        "little more in all may leave single stools with a bare year."
    )
    basis = "; ".join(f"{name} {value} ({sure})" for name, value, sure in found.rests_on)
    foot = [wrapped(told), wrapped(why), faint(wrapped(f"Rests on: {basis}."))]
    return "\n".join([head, table(("year", *(w.name for w in found.ways)), rows), *foot])


def _cautions() -> str:
    from nuttery.season.canes import CAUTION

    return wrapped(f"Caution: {CAUTION}")
