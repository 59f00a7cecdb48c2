"""nuttery note: write down one note from the terminal."""

import getpass
from typing import Annotated

from cyclopts import Parameter

from nuttery.cli.common import Asked, opened, print_json


def note(
    kind: Annotated[str, Parameter(help='Kind of note, such as "stage seen" or picking.')],
    *entries: Annotated[str, Parameter(help="Entries as name=value, such as shrub=3-07.")],
    by: Annotated[str | None, Parameter(help="Who saw it (you).")] = None,
    i_mean_it: Annotated[
        bool, Parameter(negative="", help="Keep a value that looks like a slip; it is recorded.")
    ] = False,
    asked: Asked = Asked(),
) -> int:
    """Write down one note: nuttery note "roll-out test" shrub=3-07 tried=4 rolled=3.

    Numbers are read in the planting's units, or with their own: mass="1.2 lb".
    """
    from nuttery.season.errors import WrongQuestion
    from nuttery.season.keeping import keep_words, kept_as

    words = {}
    for entry in entries:
        name, equals, text = entry.partition("=")
        if not equals:
            raise WrongQuestion(f"entries: found {entry!r}, expected name=value")
        words[name] = text
    writer = by or getpass.getuser()
    planting = opened(asked)
    kept = keep_words(planting, kind, words, by=writer, means_it=i_mean_it)
    if asked.json:
        print_json({"kept": kept.model_dump(mode="json", exclude_none=True)})
    else:
        print(f"Kept: {kept_as(planting, kept)}")
    return 0
