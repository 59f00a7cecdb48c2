"""nuttery import: notes from a spreadsheet, or a workbook to fill in."""

import getpass
import sys
from pathlib import Path
from typing import Annotated, Literal

from cyclopts import Parameter

from nuttery.cli.common import Asked, opened, print_json, several, wrapped

MARKS: dict[str, Literal[".", ","]] = {"point": ".", "comma": ","}


def import_file(
    file: Annotated[Path | None, Parameter(help="XLSX, CSV, a zip of CSVs, or JSON Lines.")] = None,
    *,
    template: Annotated[Path | None, Parameter(help="Write a workbook to fill in.")] = None,
    units: Annotated[
        Literal["metric", "US"], Parameter(help="Of the workbook, without a planting.")
    ] = "metric",
    dates: Annotated[
        Literal["day first", "month first", "year first"] | None,
        Parameter(help="Order of typed dates, where they could be read both ways."),
    ] = None,
    decimal: Annotated[
        Literal["point", "comma"] | None,
        Parameter(help="Decimal mark of typed numbers, where 1,234 could be read both ways."),
    ] = None,
    by: Annotated[str | None, Parameter(help="Who saw it, where the file does not say.")] = None,
    look: Annotated[bool, Parameter(negative="", help="Only say what is in the file.")] = False,
    yes: Annotated[bool, Parameter(negative="", help="Keep without asking.")] = False,
    asked: Asked = Asked(),
) -> int:
    """Read notes from a file, say what was understood, and keep them: all of them or none.

    The same file twice adds nothing. A file with one bad cell changes nothing.
    """
    from nuttery.season.errors import WrongQuestion
    from nuttery.season.files import keep_notes, look_into

    if template is not None:
        return _template(template, units, asked)
    if file is None:
        raise WrongQuestion("import: found no file, expected one (or --template FILE.xlsx)")
    planting = opened(asked)
    found = look_into(
        planting,
        file,
        by=by or getpass.getuser(),
        day_order=dates,
        decimal_mark=None if decimal is None else MARKS[decimal],
    )
    if not asked.json:
        print("\n".join(wrapped(line, rest="  ") for line in found.told))
    if look and asked.json:
        print_json({"added": 0, "already": 0, "told": found.told})
        return 0
    if look or not (yes or asked.json or _agreed(len(found.notes))):
        print("Nothing was kept.")
        return 0
    kept = keep_notes(planting, found)
    if asked.json:
        print_json({"added": kept.added, "already": kept.already, "told": found.told})
    else:
        print(f"{several(kept.added, 'note')} added; {kept.already} there already.")
    return 0


def _template(template: Path, units: Literal["metric", "US"], asked: Asked) -> int:
    from nuttery.season.files import template as write

    has_planting = "://" in asked.planting or Path(asked.planting).exists()
    write(opened(asked) if has_planting else None, template, units=units)
    print(f"{template}: a sheet for each kind of note; fill in, then: nuttery import {template}")
    return 0


def _agreed(notes: int) -> bool:
    """Ask a person; a pipe has agreed by calling."""
    if not sys.stdin.isatty():
        return True
    return input(f"Keep {several(notes, 'note')}? [y/N] ").strip().lower() in {"y", "yes"}
