"""nuttery harvest: today's round, the week ahead, what is at stake, and what is drying."""

from math import isclose, isnan
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from nuttery.cli.common import (
    Asked,
    bold,
    faint,
    opened,
    print_json,
    table,
    to_terminal,
    watching,
    wrapped,
)

if TYPE_CHECKING:
    from nuttery.records import System
    from nuttery.season.drying import DryingBatch
    from nuttery.season.estimate import Estimate
    from nuttery.season.harvest_told import HarvestTold, ShrubHarvest
    from nuttery.season.picking_plan import Picks, Round
    from nuttery.season.samples import GradeTold, SampleTold


def harvest(
    *,
    shrub: Annotated[
        str | None, Parameter(help="Only this shrub: its crops, samples and grade.")
    ] = None,
    rules: Annotated[
        str | None,
        Parameter(help='Grade by these rules: "US in shell", "UNECE in shell", "UNECE kernels".'),
    ] = None,
    ahead: Annotated[int, Parameter(help="Days of rounds to list.")] = 7,
    asked: Asked = Asked(),
) -> int:
    """Say what to press and pick today and in the week ahead, what waiting costs, what dries.

    A long run can be stopped with Ctrl-C: the best rounds so far are shown, and not kept.
    """
    from nuttery.season.harvest_told import harvest_told, shrub_harvest

    planting = opened(asked)
    units = planting.about.units
    if shrub is not None:
        to_terminal("forecasting ripening and planning the rounds ...")
        one = shrub_harvest(planting, shrub, rules=rules)
        to_terminal("")
        print_json(one) if asked.json else print(_one(one, units))
        return 0
    with watching() as watch:
        found = harvest_told(planting, watch=watch)
    print_json(found) if asked.json else print(_all(found, units, ahead))
    return 0


def _all(found: "HarvestTold", units: "System", ahead: int) -> str:
    parts = [bold(f"Harvest of {found.year}, as known on {found.on:%d %b %Y}")]
    parts.append(wrapped(_so_far(found, units)))
    if found.plan is not None:
        parts += _rounds(found, found.plan, units, ahead)
    if found.drying:
        parts += ["", bold("Drying"), _drying(found.drying, units)]
        parts += ["", wrapped(f"Caution at the trays: {found.drying_caution}")]
    parts += ["", wrapped(f"Caution: {found.caution}")]
    return "\n".join(parts)


def _so_far(found: "HarvestTold", units: "System") -> str:
    from nuttery.records import told
    from nuttery.season.next_crop import expected_told
    from nuttery.season.words import plural

    words = [f"Expected to hang by harvest, all shrubs: {expected_told(found.expected, units)}."]
    if found.after is not None:
        words.append(f"Next year: {expected_told(found.after, units)}.")
    if found.picked_kg:
        shrubs = plural(found.picked_shrubs, "shrub")
        words.append(f"Picked so far: {told(found.picked_kg, 'mass', units)} of {shrubs}.")
    if found.plan is None:
        words.append(found.no_plan)
    return " ".join(words)


def _rounds(found: "HarvestTold", plan: "Picks", units: "System", ahead: int) -> list[str]:
    parts = []
    soon = [r for r in plan.rounds if (r.day - found.on).days <= ahead]
    if found.press:
        some = ", ".join(found.press[:10])
        more = f" and {len(found.press) - 10} more" if len(found.press) > 10 else ""
        parts += ["", wrapped(f"Press first (3 or 4 nuts of each): {some}{more}")]
    if soon:
        parts += ["", *_next(plan, soon[0], found, units)]
    if plan.rounds:
        parts += ["", bold("The rounds ahead"), _ahead(plan, units)]
    parts.append(faint(wrapped(_basis(plan, units))))
    return parts


def _next(plan: "Picks", first: "Round", found: "HarvestTold", units: "System") -> list[str]:
    from nuttery.records import told
    from nuttery.season.estimate import day_of, day_told, span_told

    when = "Today" if first.day == found.on else f"{first.day:%A} {day_told(first.day)}"
    rows = []
    for tag, kg in zip(first.shrubs, first.kg.tolist(), strict=True):
        k = plan.tags.index(tag)
        days = [day_of(found.year, float(d[k])) for d in (plan.ripe, plan.ripe_low, plan.ripe_high)]
        window = f"{day_told(days[0])} ({span_told(days[1], days[2])})"
        hangs = f"{told(plan.kg[k], 'mass', units)}"
        rows.append((tag, window, hangs, told(kg, "mass", units), str(int(plan.tests[k]))))
    walk = f", {told(first.metres, 'length', units, 0)} on foot" if first.metres > 0 else ""
    stake = told(first.at_stake, "mass", units)
    foot = f"{first.minutes:.0f} minutes with going out{walk}."
    if first.at_stake:
        foot += f" If it waits a week, about {stake} more of it is gone."
    head = ("shrub", "half roll out (4 times in 5)", "hangs there", "loose by then", "notes")
    return [bold(f"{when}, in walking order"), table(head, rows), wrapped(foot)]


def _ahead(plan: "Picks", units: "System") -> str:
    from nuttery.records import told
    from nuttery.season.estimate import day_told

    rows = [
        (
            f"{r.day:%a} {day_told(r.day)}",
            str(len(r.shrubs)),
            told(float(r.kg.sum()), "mass", units),
            f"{r.minutes:.0f} min",
        )
        for r in plan.rounds
    ]
    return table(("day", "shrubs", "loose by then", "takes"), rows)


def _basis(plan: "Picks", units: "System") -> str:
    from nuttery.season.harvest import left_out_told, loss_told, outings_told, pace_told

    rests = f"ripe nuts lost: {loss_told(plan)}; {outings_told(plan, units)}"
    return f"Rests on: {pace_told(plan)}; {rests}. {left_out_told(plan, units)}"


def _drying(batches: tuple["DryingBatch", ...], units: "System") -> str:
    from nuttery.records import told
    from nuttery.season.drying import activity_told, hours_told, moisture_told, to_mend
    from nuttery.season.estimate import day_told

    rows = []
    for b in batches:
        wet = "–"
        if not isnan(b.moisture):
            wet = moisture_told(b).replace(" %", "")
        ready = day_told(b.ready.median) if b.ready else "–"
        hot = "; air too hot" if b.hot > 0 else ""
        mass = told(b.mass_kg[-1], "mass", units)
        hours = hours_told(b.hours).replace(" h", "")
        rows.append((b.batch, mass, wet, hours, ready, b.status + hot))
    head = ("batch", "mass", "water, %", "hours to go", "dry on", "how it is")
    words = "Water on the wet basis; hours counted from the last weighing, four times in five."
    for b in batches:
        if b.water_activity is not None:
            words += f" {b.batch}: water activity {activity_told(b.water_activity)}."
    mend = [wrapped(f"{act}.") for act in to_mend(batches)]
    return "\n".join([table(head, rows), *mend, faint(wrapped(words))])


def _one(one: "ShrubHarvest", units: "System") -> str:
    from nuttery.records import told
    from nuttery.season.samples import CRACK_TEN

    parts = [bold(f"Shrub {one.shrub}: crop and nuts, as known on {one.on:%d %b %Y}")]
    middle, low, high = (told(kg, "mass", units) for kg in (one.kg, one.kg_low, one.kg_high))
    hangs = "hung" if one.year in one.years else "expected to hang"
    span = f"{low} to {high}" if low != high else "as picked, with what was noted as taken"
    parts.append(wrapped(f"{one.year}: {middle} {hangs} there ({span}; {one.basis})."))
    parts += [wrapped(words) for words in one.words]
    if one.years:
        rows = [
            (str(y), told(kg, "mass", units), _span(a, b, units))
            for y, kg, a, b in zip(
                one.years, one.picked, one.picked_low, one.picked_high, strict=True
            )
        ]
        parts += ["", table(("year", "picked, in shell", "4 times in 5 within"), rows)]
        parts.append(faint(wrapped(f"Conversions: {one.conversions}")))
    if not one.samples:
        parts += ["", wrapped(f"No nuts of it are on record: {CRACK_TEN}.")]
    for sample in one.samples:
        if sample.year == one.samples[-1].year:
            parts += ["", *_sample(sample, units)]
    return "\n".join(parts)


def _span(low: float, high: float, units: "System") -> str:
    """Interval of a conversion; none where the moisture was measured as well."""
    from nuttery.records import shown, told

    if isclose(low, high, rel_tol=1e-6):
        return "as measured"
    return f"{shown(low, 'mass', units):.2f}–{told(high, 'mass', units)}"


def _sample(s: "SampleTold", units: "System") -> list[str]:
    from nuttery.season.words import plural, share_told

    damp = "moisture not measured"
    if not isnan(s.moisture):
        damp = f"{100 * s.moisture:.0f} % moisture (wet basis)"
    head = f"{plural(s.nuts, 'nut')} cracked in {s.year}, {s.state}, {damp}"
    empty, under, some, full = s.fill
    rows = [
        ("nut", _mass(s.nut_mass, units)),
        ("kernel", _mass(s.kernel_mass, units)),
        ("kernel share, as weighed", share_told(s.kernel_share)),
        ("fill", f"{empty} empty, {under} under ¼, {some} ¼ to ½, {full} ½ or more"),
        *((fault, share_told(share)) for fault, share in s.faults),
        *_sizes(s, units),
    ]
    grade = s.grade
    words = [wrapped(f"Not looked at: {'; '.join(grade.not_examined)}.")]
    if s.sizes:
        words.append(wrapped(_sold(s.sized_as)))
    rejects = s.rejects
    more = f"draw {plural(rejects.draw, 'more nut')}" if rejects.draw else rejects.verdict
    words_rejects = (
        f"Rejects {share_told(rejects.found)}, action level {rejects.level:.0%}. Sequential plan "
        f"({rejects.certainty}: {rejects.source}): {more}. {rejects.caution}"
    )
    return [
        bold(head),
        table(("", "80 % interval in brackets"), rows),
        *_classes(grade),
        *words,
        wrapped(words_rejects),
        wrapped(f"Caution: {grade.caution}"),
    ]


def _sold(sized_as: tuple[str, ...]) -> str:
    if not sized_as:
        return "Too many nuts are off size to sell it by any one size."
    return f"Few enough nuts are off size to sell it as {' or '.join(sized_as)}."


def _sizes(s: "SampleTold", units: "System") -> list[tuple[str, str]]:
    """Shares of the sizes of nuts, and of kernels where they were measured."""
    from nuttery.records import told
    from nuttery.season.samples import KERNELS
    from nuttery.season.words import share_told

    nuts = () if s.grade.rules == KERNELS else s.sizes
    rows = [(f"size {n} ({s.shape})", share_told(share)) for n, share in nuts if share.median > 0]
    across = s.kernel_diameter
    if s.kernel_sizes:
        middle, *ends = (
            told(mm, "small length", units) for mm in (across.median, across.low, across.high)
        )
        span = "" if isnan(across.low) else f" ({ends[0]}–{ends[1]})"
        rows.append((f"kernel across, {across.records} measured", f"{middle}{span}"))
    sizes = [(f"kernels {n}", share_told(e)) for n, e in s.kernel_sizes if e.median > 0]
    return rows + sizes


def _classes(grade: "GradeTold") -> list[str]:
    """The best class met, and under it what keeps the sample out of each better one."""
    best = grade.name or "no class"
    told = f"By {grade.rules} the sample meets {best}"
    if not grade.examined:
        told = f"No class by {grade.rules} can be told: the fill of no nut was noted"
    if grade.name:
        chance = next(c.chance for c in grade.classes if c.name == grade.name)
        told += f"; chance that the lot does: {chance:.0%}"
    told += f". Rules: {grade.edition}; read {grade.read}; their limits: {grade.certainty}."
    lines = [wrapped(told)]
    for out in grade.classes:
        if out.name == grade.name:
            break
        if out.reasons:
            why = "; ".join(out.reasons)
            lines.append(wrapped(f"not {out.name}: {why}", first="  ", rest="    "))
    return lines


def _mass(mass: "Estimate", units: "System") -> str:
    from nuttery.records import told

    if isnan(mass.median):
        return "–"
    middle, low, high = (told(m, "small mass", units) for m in (mass.median, mass.low, mass.high))
    return middle if isnan(mass.low) else f"{middle} ({low}–{high})"
