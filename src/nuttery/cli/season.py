"""nuttery season: what to do now and in the coming weeks, and why."""

from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from nuttery.cli.common import Asked, bold, faint, opened, print_json, to_terminal, wrapped

if TYPE_CHECKING:
    from nuttery.season.by_row import Part, Said
    from nuttery.season.plan import SeasonPlan

SHOWN = 12


def season(
    *,
    ahead: Annotated[int, Parameter(help="Days to look ahead.")] = 28,
    shrub: Annotated[str | None, Parameter(help="Only what concerns this shrub.")] = None,
    all: Annotated[bool, Parameter(negative="", help="Print every line.")] = False,  # noqa: A002 - the word to type
    asked: Asked = Asked(),
) -> int:
    """Say what to do now and in the coming weeks, where, why, and what happens if it waits."""
    from nuttery.season.plan import season_plan

    planting = opened(asked)
    plan = season_plan(
        planting,
        ahead=ahead,
        shrub=shrub,
        progress=lambda word: to_terminal(f"working out {word} ..."),
    )
    to_terminal("")
    if asked.json:
        print_json(plan)
    else:
        print(told(plan, all_lines=all or shrub is not None))
    return 0


def told(plan: "SeasonPlan", *, all_lines: bool) -> str:
    """Return the plan as text for a terminal of 80 columns or more."""
    from nuttery.season import span_told
    from nuttery.season.by_row import by_row

    span = f"{plan.on:%A} {span_told(plan.on, plan.until)} {plan.until.year}"
    parts = [bold(f"{plan.planting}: season plan, {span}")]
    if plan.invented:
        parts.append(faint("An invented planting: every name and figure here is made up."))
    most = None if all_lines else SHOWN
    parts += [_part(part) for part in by_row(plan, most=most)]
    if not plan.lines:
        parts.append("Nothing presses in these days.")
    parts += [wrapped(f"Left out: {reason}") for reason in plan.left_out]
    return "\n\n".join(parts)


def _part(part: "Part") -> str:
    """All that is told about one subject."""
    said = [bold(part.heading)]
    if part.usual:
        said.append(faint(wrapped(part.usual, first="  ", rest="  ")))
    for walk in part.walks:
        if walk.name:
            said.append(f"  {bold(walk.name)}")
        said += [_line(line) for line in walk.lines]
    if part.left:
        said.append(f"  ... and {part.left} more (nuttery season --all)")
    after = [f"If it waits: {part.waits}"] if part.waits else []
    after += [f"Caution: {words}" for words in part.cautions]
    said += [wrapped(words, first="  ", rest="  ") for words in after]
    return "\n".join(said)


def _line(said: "Said") -> str:
    if not said.where:
        head = "  "
    else:
        head = f"  {said.where:<8}" if len(said.where) < 8 else f"  {said.where}: "
    act = f"{said.line.act} [{said.when}]" if said.when else said.line.act
    rest = " " * 10
    parts = [wrapped(act, first=head, rest=rest), faint(wrapped(said.why, first=rest, rest=rest))]
    if said.tags:
        parts.append(wrapped(", ".join(said.tags), first=rest, rest=rest))
    return "\n".join(parts)
