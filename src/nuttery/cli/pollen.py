"""nuttery pollen: who feeds whom, which test crosses teach most, and where to put new shrubs."""

from typing import TYPE_CHECKING, Annotated

from cyclopts import App, Parameter

from nuttery.cli.common import (
    Asked,
    bold,
    faint,
    opened,
    print_json,
    several,
    table,
    telling,
    to_terminal,
    wrapped,
)

if TYPE_CHECKING:
    from nuttery.records import System
    from nuttery.season.crosses import CrossPlan, TestCross
    from nuttery.season.new_planting import Layout, SeedlingsNeeded
    from nuttery.season.pollen import PollenOutlook
    from nuttery.season.siting import Siting

app = App(name="pollen", help="Who feeds whom, and who goes short.")

SHORTEST = 12
"""Shrubs listed, the shortest first."""
IN_ROW, BETWEEN_ROWS = 1.8, 4.5
"""Metres between places of a new planting, unless the grower says others."""
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


@app.default
def pollen(
    *,
    shrub: Annotated[str | None, Parameter(help="Only this shrub, with its donors.")] = None,
    asked: Asked = Asked(),
) -> int:
    """Name the shrubs short of pollen, why, their chief donors, and donors many lean on."""
    from nuttery.season.pollen import pollen as ask

    planting = opened(asked)
    if shrub is not None:
        planting.shrub(shrub)
    outlook = ask(planting, telling())
    to_terminal("")
    if asked.json:
        print_json(outlook if shrub is None else outlook.one(shrub))
    else:
        print(_all(outlook) if shrub is None else _one(outlook, shrub))
    return 0


@app.command
def crosses(
    *,
    number: Annotated[int, Parameter(help="How many crosses, 1 to 8.")] = 3,
    asked: Asked = Asked(),
) -> int:
    """Name the bagged test crosses that would teach most, with the days and the steps."""
    from nuttery.season.crosses import cross_plan

    planting = opened(asked)
    plan = cross_plan(planting, number, telling())
    to_terminal("")
    if asked.json:
        print_json(plan)
    else:
        print(_crosses(plan))
    return 0


@app.command
def siting(
    *,
    places: Annotated[int, Parameter(help="How many new shrubs.")] = 3,
    lot: Annotated[str | None, Parameter(help="Only of this seed lot.")] = None,
    beyond: Annotated[int, Parameter(help="New places beyond each end of every row.")] = 0,
    new_rows: Annotated[int | None, Parameter(help="A new planting: number of rows.")] = None,
    per_row: Annotated[int, Parameter(help="A new planting: places in a row.")] = 12,
    spacing: Annotated[
        float | None, Parameter(help="A new planting: distance in the row, in your units (1.8 m).")
    ] = None,
    between: Annotated[
        float | None, Parameter(help="A new planting: between rows, in your units (4.5 m).")
    ] = None,
    lots: Annotated[str | None, Parameter(help="A new planting: seedlings, as A:30,B:30.")] = None,
    asked: Asked = Asked(),
) -> int:
    """Say where to put new shrubs and of which lot, or how to lay out a new planting."""
    from nuttery.records import stored
    from nuttery.season.new_planting import Layout, lay_out, seedlings_needed, seedlings_told
    from nuttery.season.siting import siting as ask

    planting = opened(asked)
    units = planting.about.units
    if new_rows is None:
        told: Siting | Layout = ask(planting, places, lot, beyond, telling())
    else:
        told = lay_out(
            planting,
            seedlings_told(lots, new_rows * per_row),
            rows=new_rows,
            per_row=per_row,
            spacing=IN_ROW if spacing is None else stored(spacing, "length", units),
            between=BETWEEN_ROWS if between is None else stored(between, "length", units),
        )
    needed = seedlings_needed(planting)
    to_terminal("")
    if asked.json:
        print_json({"plan": told, "seedlings_needed": needed})
    else:
        first = _layout(told, units) if isinstance(told, Layout) else _siting(told)
        print(f"{first}\n\n{_needed(needed)}")
    return 0


def _span(outlook: "PollenOutlook", k: int) -> str:
    return f"{outlook.cover[k]:.0%} ({outlook.low[k]:.0%}–{outlook.high[k]:.0%})"


def _all(outlook: "PollenOutlook") -> str:
    import numpy as np

    from nuttery.season.pollen import REASONS

    known = np.isfinite(outlook.cover)
    short = outlook.short_rows
    order = np.argsort(outlook.cover, kind="stable")[: min(SHORTEST, int(known.sum()))]
    rows = [
        (
            outlook.tags[k],
            _span(outlook, k),
            f"{outlook.chance_short[k]:.0%}",
            REASONS[outlook.reason[k]],
            _chief(outlook, k, 3),
        )
        for k in order.tolist()
    ]
    parts = [
        bold(f"Pollen in the bloom of {outlook.year}"),
        wrapped(
            f"{several(len(short), 'shrub')} of {int(known.sum())} with stigmas to feed "
            f"{'is' if len(short) == 1 else 'are'} likely short: pollen that they accept is taken "
            f"in less than {outlook.short:.0%} of their receptive season. The shortest first:"
        ),
        "",
        table(("shrub", "taken (4 in 5)", "short", "held back by", "chief donors"), rows),
    ]
    parts += _hands(outlook)
    parts += _leant_on(outlook)
    return "\n".join([*parts, "", faint(wrapped(_rests_on(outlook)))])


def _chief(outlook: "PollenOutlook", k: int, number: int) -> str:
    pairs = zip(outlook.donors[k], outlook.donor_share[k], strict=True)
    return ", ".join([f"{outlook.tags[d]} {share:.0%}" for d, share in pairs if d >= 0][:number])


def _hands(outlook: "PollenOutlook") -> list[str]:
    """The best donors for hand pollen of the shortest shrubs."""
    told = []
    for at in range(min(SHORTEST, len(outlook.short_rows))):
        if _in_time(outlook, at):
            words = _hand(outlook, at)
            told.append(f"  {outlook.tags[outlook.short_rows[at]]:<8}{words}")
    return ["", bold("Pollen by hand would help"), *told] if told else []


def _in_time(outlook: "PollenOutlook", at: int) -> bool:
    """Whether there is a donor whose catkins can still be gathered."""
    from nuttery.season.estimate import day_of

    hand = outlook.by_hand
    last = day_of(outlook.year, float(hand.gather_last[at]))
    return bool(hand.donor[at] >= 0 and last >= outlook.on)


def _hand(outlook: "PollenOutlook", at: int) -> str:
    from nuttery.season import span_told
    from nuttery.season.estimate import day_of

    hand = outlook.by_hand
    days = [
        day_of(outlook.year, float(column[at]))
        for column in (hand.gather_first, hand.gather_last, hand.first, hand.last)
    ]
    return (
        f"from {outlook.tags[hand.donor[at]]} (accepted {hand.chance[at]:.0%}): "
        f"gather {span_told(*days[:2])}, dust {span_told(*days[2:])}"
    )


def _leant_on(outlook: "PollenOutlook") -> list[str]:
    import numpy as np

    from nuttery.season.words import first_of

    best = [k for k in np.argsort(-outlook.if_lost, kind="stable")[:5] if outlook.if_lost[k] > 0]
    if not best:
        return ["", "No single donor's loss would leave another shrub short."]
    told = []
    for k in best:
        others = several(int(outlook.if_lost[k]), "more shrub")
        goes = "goes" if outlook.if_lost[k] == 1 else "go"
        which = first_of(outlook.without(int(k)))
        words = f"{outlook.tags[k]}: if it is lost, {others} {goes} short: {which}"
        told.append(wrapped(words, first="  ", rest="    "))
    return ["", bold("Donors that others lean on"), *told]


def _rests_on(outlook: "PollenOutlook") -> str:
    half = outlook.half_dose
    dose = (
        f"learned from {half.n_records} counts of set"
        if half.certainty == "learned"
        else "an assumption, until 12 counts of set are on record"
    )
    exact = "summed exactly" if outlook.exact else f"drawn, chances to about {outlook.error:.1g}"
    left = outlook.crosses_left_out
    aside = f" ({left} more hang on an order of dominance that is not known)" if left else ""
    hinted = f", with {outlook.hinted} counts of set as weak evidence" if outlook.hinted else ""
    return (
        f"Genotypes from lineage, {several(outlook.known_genotypes, 'test report')} and "
        f"{outlook.crosses} counted test cross{'' if outlook.crosses == 1 else 'es'}"
        f"{aside}{hinted} ({exact}); "
        f"dates from the bloom forecast; the dose that a stigma needs is {dose}; "
        f"{outlook.wind.drift_told()}, {outlook.wind.told()}. Not counted, as not known: how a "
        "leafless stand shelters, and pollen from outside. It ranks the "
        "shrubs of this planting and predicts no yield. Over many springs intervals hold four in "
        "five; within one they err together. What would teach most: nuttery pollen crosses."
    )


def _one(outlook: "PollenOutlook", tag: str) -> str:
    from nuttery.season.pollen import REASONS
    from nuttery.season.words import first_of

    found = outlook.one(tag)
    head = bold(f"Pollen for {tag} in the bloom of {outlook.year}")
    if found.cover is None:
        return f"{head}\nNo stigmas are expected on it, or its place is not on record."
    taken = found.cover
    parts = [
        head,
        wrapped(
            f"Pollen that it accepts is taken in {taken.median:.0%} ({taken.low:.0%}–"
            f"{taken.high:.0%}) of its receptive season; it is short with a chance of "
            f"{found.chance_short:.0%}."
        ),
    ]
    if found.reason:
        parts.append(f"Held back by: {REASONS[found.reason]}.")
    rows = [(d.tag, f"{d.share:.0%}", d.accepted_told, f"{d.catkins:.2g}") for d in found.donors]
    if rows:
        columns = ("donor", "of its useful pollen", "accepted", "catkins")
        parts += ["", table(columns, rows)]
    if found.leans_on:
        parts.append(
            f"\nIt leans most on {found.leans_on}: without it, {found.loss:.1%} of its season less."
        )
    if found.if_lost:
        others = several(found.if_lost, "other shrub")
        told = f"If {tag} is lost, {others} would go short: {first_of(found.short_without_it)}."
        parts.append(wrapped(told))
    if tag in [outlook.tags[k] for k in outlook.short_rows]:
        at = [outlook.tags[k] for k in outlook.short_rows].index(tag)
        if _in_time(outlook, at):
            parts.append(wrapped(f"By hand: pollen {_hand(outlook, at)}."))
    return "\n".join([*parts, "", faint(wrapped(_rests_on(outlook)))])


def _crosses(plan: "CrossPlan") -> str:
    parts = [bold(f"Test crosses for the bloom of {plan.year + plan.over}")]
    if not plan.crosses:
        parts.append("No cross would teach anything that matters for this planting's pollen.")
    parts += [_cross(k + 1, cross) for k, cross in enumerate(plan.crosses)]
    if plan.over:
        parts.append(
            wrapped(
                f"It is too late to bag for the bloom of {plan.year}: the days for the next are "
                "told from November on."
            )
        )
    if plan.waiting:
        told = ", ".join(f"{seed} × {pollen}" for seed, pollen, _ in plan.waiting)
        parts.append(wrapped(f"Made and not yet counted: {told}."))
    parts += ["", bold("How to make one")]
    parts += [wrapped(step, first="  ", rest="    ") for step in plan.steps]
    parts += ["", bold("What to write down")]
    parts += [wrapped(note, first="  ", rest="    ") for note in plan.write_down]
    foot = (
        f"{plan.pairs} pairs that matter are unsettled; of these, a guess today is wrong "
        f"{plan.unsettled:.0%} of the time. Crosses are chosen together: each teaches on top of "
        "those before it."
    )
    return "\n".join([*parts, "", faint(wrapped(foot))])


def _cross(place: int, cross: "TestCross") -> str:
    from nuttery.season import day_told, span_told

    first = f"{place}. on {cross.seed}, pollen of {cross.pollen}: takes with {cross.takes:.0%}"
    days = [f"teaches {cross.gain:.2f} bits"]
    if cross.bag_by is not None and cross.gather is not None and cross.dust is not None:
        days += [
            f"bag by {day_told(cross.bag_by)}",
            f"gather from {cross.gather.told()}",
            f"dust from {cross.dust.told()}",
        ]
        if cross.unbag is not None:
            days.append(f"unbag after {day_told(cross.unbag)}")
    days.append(f"count {span_told(*cross.count)} {cross.count[0].year}")
    return f"{first}\n{wrapped('; '.join(days), first='   ', rest='   ')}"


def _siting(plan: "Siting") -> str:
    rows = [(place.name, lot) for place, lot in zip(plan.places, plan.lots, strict=True)]
    lots = ", ".join(
        f"{lot} {chance:.0%}" for lot, chance in zip(plan.considered, plan.accepted, strict=True)
    )
    parts = [
        bold(f"Where to put {several(len(rows), 'new shrub')}"),
        table(("place", "lot"), rows),
        "",
        wrapped(
            f"Once they bear, the worst-fed tenth is fed in {plan.after:.2%} of its season, now "
            f"{plan.before:.2%}; no choice among these could do better than {plan.bound:.2%} "
            f"({plan.status}). Weighed up: {plan.weighed} of {several(plan.free, 'empty place')}; "
            "for new ground beyond the rows' ends ask with --beyond 1."
        ),
        wrapped(f"Pollen of one more seedling is accepted by a standing shrub with: {lots}."),
    ]
    if plan.helped:
        helped = ", ".join(f"{t} {a:.0%} → {b:.0%}" for t, a, b in plan.helped)
        parts.append(wrapped(f"Helped most: {helped}."))
    return "\n".join(parts)


def _layout(plan: "Layout", units: "System") -> str:
    from nuttery.records import told

    letters = LETTERS[: len(plan.lots)]
    names = [
        f"{letter} = {lot} ({count}{'' if known else ', parents unknown'})"
        for letter, lot, count, known in zip(
            letters, plan.lots, plan.counts, plan.known, strict=True
        )
    ]
    grid = [
        f"  row {row + 1:<3} " + " ".join(letters[lot] for lot in line)
        for row, line in enumerate(plan.grid)
    ]
    apart = [told(metres, "length", units) for metres in (plan.spacing, plan.between)]
    size = f"{plan.rows} rows of {plan.per_row}, {apart[0]} in the row, {apart[1]} between rows"
    parts = [
        bold(f"A new planting: {size}"),
        wrapped("; ".join(names)),
        "",
        *grid,
        "",
        wrapped(
            f"With all in full bloom at once the worst-fed tenth is fed {plan.lowest:.1%} of the "
            f"time; with each lot in a block of its own, {plan.in_blocks:.1%}. The dose is "
            f"{plan.dose_certainty}. Found by exchanging seedlings until none helped: good, not "
            "proven best."
        ),
    ]
    return "\n".join(parts)


def _needed(curves: "tuple[SeedlingsNeeded, ...]") -> str:
    shown = (1, 2, 3, 5, 10, 20, 30)
    rows = [
        (curve.lot, *(f"{curve.chance[k]:.0%}" for k in shown), _fewest(curve)) for curve in curves
    ]
    head = ("lot", *map(str, shown), "for 95 %")
    told = (
        "Chance that a shrub has at least one donor that it accepts among so many different "
        "seedlings of its own lot about it. Siblings are alike: beyond some number, more of the "
        "same lot help little; mix lots."
    )
    return "\n".join(
        [bold("How many different seedlings are enough"), table(head, rows), faint(wrapped(told))]
    )


def _fewest(curve: "SeedlingsNeeded") -> str:
    found = curve.needed[curve.assurances.index(0.95)]
    return "never" if found is None else str(found)
