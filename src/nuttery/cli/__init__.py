"""The terminal face: commands are imported only when they are run."""

import sys


def main(arguments: list[str] | None = None) -> None:
    """Run one command and leave: status 0 done, 1 the data need attention, 2 wrong use."""
    from nuttery.cli.app import run

    sys.exit(run(sys.argv[1:] if arguments is None else arguments))
