"""nuttery export: notes and answers out, as open files."""

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from nuttery.cli.common import Asked, opened, to_terminal


def export(
    file: Annotated[
        Path, Parameter(help=".xlsx, .csv, .zip or .jsonl; .geojson for the map; .ics for work.")
    ],
    *,
    plan: Annotated[bool, Parameter(negative="", help="The season plan, not the notes.")] = False,
    ahead: Annotated[int, Parameter(help="Days of the plan.")] = 28,
    kind: Annotated[list[str] | None, Parameter(help="Only notes of these kinds.")] = None,
    asked: Asked = Asked(),
) -> int:
    """Write the notes that hold, the season plan, the map or the calendar to a file."""
    from nuttery.season.files import map_out, notes_out, plan_out
    from nuttery.season.keeping import kind_named
    from nuttery.season.plan import season_plan

    planting = opened(asked)
    suffix = file.suffix.lower()
    if suffix in {".geojson", ".json"}:
        print(f"{file}: {map_out(planting, file)} shrubs on the map")
    elif plan or suffix == ".ics":
        made = season_plan(planting, ahead=ahead, progress=lambda w: to_terminal(f"{w} ..."))
        to_terminal("")
        print(f"{file}: {plan_out(made, file)} lines of the season plan")
    else:
        kinds = [str(kind_named(name).model_fields["kind"].default) for name in kind or ()]
        print(f"{file}: {notes_out(planting, file, kinds=kinds)} notes")
    return 0
