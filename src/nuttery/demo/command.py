"""nuttery demo: make Sorrel Bank, the invented planting."""

import sys
import time
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter


def demo(
    *,
    into: Annotated[Path, Parameter(help="Folder for the register and its truth.")] = Path("demo"),
    shrubs: Annotated[int, Parameter(help="Places to plant.")] = 120,
    years: Annotated[int, Parameter(help="Seasons told, the last one 2026.")] = 9,
) -> int:
    """Make Sorrel Bank, an invented planting; the same notes on every machine.

    A register that is there already is used as it is.
    """
    from nuttery.demo.make import REGISTER, make_with_truth

    started = time.monotonic()
    register = into / REGISTER
    if register.exists():
        print(f"{register}: is there already and is used as it is")
        return 0
    make_with_truth(into, shrubs=shrubs, years=years, progress=_say)
    print(f"{register}: made in {time.monotonic() - started:.0f} s (invented; the truth beside it)")
    return 0


def _say(words: str) -> None:
    if sys.stderr.isatty():
        print(words, file=sys.stderr, flush=True)
