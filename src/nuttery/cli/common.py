"""What most commands share: which planting, which day, and how the answer is printed."""

import json
import shutil
import signal
import sys
import textwrap
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Annotated, Any

from cyclopts import Parameter

if TYPE_CHECKING:
    from nuttery.season.watch import Watch

WIDEST = 100


@Parameter(name="*")
@dataclass(frozen=True)
class Asked:
    """Which planting is asked, as of which day, and how it answers."""

    planting: Annotated[
        str,
        Parameter(env_var="NUTTERY_PLANTING", help="The planting's file, or a database address."),
    ] = "planting.db"
    on: Annotated[date | None, Parameter(help="Answer as of this day (today).")] = None
    json: Annotated[bool, Parameter(negative="", help="Print the answer as JSON.")] = False


def opened(asked: Asked) -> Any:  # noqa: ANN401 - a season Planting; its import is heavy
    """Return the planting that is asked."""
    from nuttery.season.planting import open_planting

    return open_planting(asked.planting, on=asked.on)


def print_json(result: object) -> None:
    """Print a result as JSON."""
    from nuttery.season.as_json import as_json

    print(json.dumps(as_json(result), ensure_ascii=False, indent=2))


def width() -> int:
    """Columns to write in: those of the terminal, at most 100; 80 into a pipe."""
    return min(shutil.get_terminal_size((80, 24)).columns, WIDEST) if sys.stdout.isatty() else 80


def bold(text: str) -> str:
    """Text that stands out on a terminal and is plain in a pipe."""
    return f"\033[1m{text}\033[0m" if sys.stdout.isatty() else text


def faint(text: str) -> str:
    """Text that steps back on a terminal and is plain in a pipe."""
    return f"\033[2m{text}\033[0m" if sys.stdout.isatty() else text


def wrapped(text: str, *, first: str = "", rest: str = "") -> str:
    """Text wrapped to the width, with a lead on the first line and an indent on the others."""
    return textwrap.fill(
        text,
        width=width(),
        initial_indent=first,
        subsequent_indent=rest,
        break_long_words=False,
        break_on_hyphens=False,
    )


def table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Plain columns: words to the left, numbers to the right, two spaces between."""
    cells = [head, *rows]
    widths = [max(len(row[k]) for row in cells) for k in range(len(head))]
    right = [all(_numeric(row[k]) for row in rows) if rows else False for k in range(len(head))]
    lines = []
    for row in cells:
        placed = [
            c.rjust(w) if r else c.ljust(w) for c, w, r in zip(row, widths, right, strict=True)
        ]
        lines.append("  ".join(placed).rstrip())
    return "\n".join([bold(lines[0]), *lines[1:]])


def _numeric(cell: str) -> bool:
    return not cell or cell[0] in "0123456789-−–<>±"


def several(number: int, word: str) -> str:
    """Number and word, the word in the plural where it must be.

    Examples
    --------
    >>> several(1, "note"), several(3, "note")
    ('1 note', '3 notes')
    """
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def to_terminal(message: str) -> None:
    """Say how far a long run has come, on the error stream and only to a person."""
    if sys.stderr.isatty():
        print(f"\r\033[K{message}", end="", file=sys.stderr, flush=True)


def telling() -> "Watch":
    """A watch that tells how far a long answer has come; Ctrl-C ends it without one."""
    from nuttery.season.watch import Watch

    return Watch(lambda words: to_terminal(f"{words} ..."))


@contextmanager
def watching() -> Iterator["Watch"]:
    """Tell how far a plan has come; Ctrl-C ends it with the best so far."""
    from nuttery.season.watch import Watch

    stop = threading.Event()
    before = signal.signal(signal.SIGINT, lambda *_: stop.set())
    try:
        yield Watch(lambda words: to_terminal(f"{words} ..."), stop.is_set)
    finally:
        signal.signal(signal.SIGINT, before)
        to_terminal("")
