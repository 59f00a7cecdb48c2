"""nuttery season: what to do now and in the coming weeks, and why."""

from collections import Counter
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from nuttery.cli.common import Asked, bold, faint, opened, print_json, to_terminal, wrapped

if TYPE_CHECKING:
    from nuttery.season.line import Line
    from nuttery.season.plan import SeasonPlan

SHOWN = 12
HEADINGS = {
    "frost": "Frost",
    "picking": "Picking",
    "drying": "Drying",
    "bloom": "Flowers to look at",
    "pollen": "Pollen",
    "canes": "Canes",
    "counting": "Counting for next year",
    "weather": "Weather record",
    "notes": "Notes that would sharpen the answers",
}


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
    from nuttery.season import SUBJECTS, span_told

    span = f"{plan.on:%A} {span_told(plan.on, plan.until)} {plan.until.year}"
    parts = [bold(f"{plan.planting}: season plan, {span}")]
    if plan.invented:
        parts.append(faint("An invented planting: every name and figure here is made up."))
    for subject in SUBJECTS:
        lines = plan.of(subject)
        if lines:
            shown = lines if all_lines else _weightiest(lines)
            left = len(lines) - len(shown)
            parts.append(_subject(HEADINGS[subject], shown, left=left, standing=plan.standing))
    if not plan.lines:
        parts.append("Nothing presses in these days.")
    parts += [wrapped(f"Left out: {reason}") for reason in plan.left_out]
    return "\n\n".join(parts)


def _subject(heading: str, shown: tuple["Line", ...], *, left: int, standing: int) -> str:
    """Lines of one subject; `left` of them are not shown."""
    said_once = {words for words, n in Counter(line.waits for line in shown).items() if n > 1}
    parts = [bold(heading)]
    for line in shown:
        where = _shrubs(line.shrubs, standing)
        parts.append(_line(line, where, waits=line.waits not in said_once))
    parts += _shared(shown)
    if left:
        parts.append(f"  ... and {left} more (nuttery season --all)")
    return "\n".join(parts)


def _weightiest(lines: tuple["Line", ...]) -> tuple["Line", ...]:
    """The lines on which most hangs, in the order of the plan."""
    best = sorted(lines, key=lambda line: -line.weight)[:SHOWN]
    keys = {line.key for line in best}
    return tuple(line for line in lines if line.key in keys)


def _line(line: "Line", where: str, *, waits: bool) -> str:
    from nuttery.season import span_told

    head = f"  {where:<8}" if len(where) <= 8 else f"  {where}: "
    parts = [wrapped(f"{line.act} [{span_told(line.first, line.last)}]", first=head, rest=" " * 10)]
    sure = f"{line.sure}: {line.sure_why}" if line.sure_why else line.sure
    reason = f"{line.why} ({sure})"
    if line.waits and waits:
        reason += f" If it waits: {line.waits}"
    parts.append(faint(wrapped(reason, first=" " * 10, rest=" " * 10)))
    return "\n".join(parts)


def _shrubs(tags: tuple[str, ...], standing: int) -> str:
    if not tags or len(tags) > 0.9 * standing:
        return "all"
    if len(tags) > 6:
        return f"{', '.join(tags[:5])} and {len(tags) - 5} more"
    return ", ".join(tags)


def _shared(lines: tuple["Line", ...]) -> list[str]:
    """What several lines have in common, said once below them, and their cautions."""
    waits = Counter(line.waits for line in lines if line.waits)
    said = [f"If it waits: {words}." for words, number in waits.items() if number > 1]
    cautions = dict.fromkeys(line.caution for line in lines if line.caution)
    said += [f"Caution: {words}" for words in cautions]
    return [wrapped(words, first="  ", rest="  ") for words in said]
