"""nuttery book: the printed season book."""

import sys
from datetime import date
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter


def book(
    *,
    into: Annotated[Path, Parameter(help="The PDF to write.")] = Path("season-book.pdf"),
    planting: Annotated[
        str,
        Parameter(env_var="NUTTERY_PLANTING", help="The planting's file, or a database address."),
    ] = "planting.db",
    on: Annotated[date | None, Parameter(help="Answer as of this day (today).")] = None,
    ahead: Annotated[int, Parameter(help="Days to look ahead.")] = 28,
) -> int:
    """Write the season book: the plan of the planting, work by row, one card a shrub."""
    from nuttery.book.contents import book_contents
    from nuttery.book.setting import set_book
    from nuttery.season.planting import open_planting

    asked = open_planting(planting, on=on)
    contents = book_contents(asked, ahead=ahead, progress=_say)
    _say("setting the pages")
    set_book(contents, into)
    print(f"{into}: the season book of {asked.about.name}, as known on {asked.on}")
    return 0


def _say(words: str) -> None:
    if sys.stderr.isatty():
        print(f"{words} ...", file=sys.stderr, flush=True)
