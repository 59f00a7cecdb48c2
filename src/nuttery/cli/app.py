"""The commands by name, and how their errors are told."""

import os
import sys

from cyclopts import App, CycloptsError

import nuttery

app = App(
    name="nuttery",
    help="Notes, forecasts and season plans for a planting of seedling hazels.",
    version=nuttery.__version__,
    result_action="return_value",
    help_format="plaintext",
    help_formatter="plain",
)

COMMANDS: dict[str, tuple[str, str]] = {
    "season": ("nuttery.cli.season:season", "What to do now and in the coming weeks, and why."),
    "shrub": ("nuttery.cli.shrub:shrub", "One shrub's story."),
    "bloom": ("nuttery.cli.bloom:bloom", "When catkins shed, stigmas are out, leaves break."),
    "frost": ("nuttery.cli.frost:frost", "What a cold night puts at risk."),
    "pollen": ("nuttery.cli.pollen:app", "Who feeds whom, and who goes short."),
    "canes": ("nuttery.cli.canes:canes", "What to saw out and what to keep."),
    "harvest": ("nuttery.cli.harvest:harvest", "Roll-out, picking rounds and drying."),
    "weather": ("nuttery.cli.weather:app", "The season so far; weather files in."),
    "note": ("nuttery.cli.note:note", "Write down one note."),
    "import": ("nuttery.cli.import_file:import_file", "Notes from a spreadsheet."),
    "export": ("nuttery.cli.export:export", "Notes, answers, map and calendar out."),
    "book": ("nuttery.book.command:book", "The printed season book."),
    "serve": ("nuttery.web.command:serve", "The planting in a browser."),
    "devices": ("nuttery.web.devices_command:devices", "Who is let in; invite or shut out."),
    "new": ("nuttery.cli.new:new", "Set up a planting."),
    "check": ("nuttery.cli.check:check", "Re-read the register and say what is wrong."),
    "archive": ("nuttery.cli.archive:archive", "The whole register in one open file, and back."),
    "demo": ("nuttery.demo.command:demo", "Make Sorrel Bank, an invented planting."),
}
"""Each command with the place of its function, which is imported only when it is run."""

for _name, (_place, _help) in COMMANDS.items():
    app.command(_place, name=_name, help=_help)


NOBODY_READS = 141
"""Exit status where the reader of a pipe has left, as of other tools (128 + SIGPIPE)."""


def run(arguments: list[str]) -> int:
    """Run one command; return its exit status."""
    try:
        status = app(arguments, exit_on_error=False, print_error=True)
        sys.stdout.flush()
    except BrokenPipeError:
        return _unread()
    except CycloptsError:
        return 2
    except KeyboardInterrupt:
        print("stopped; nothing half-done was kept", file=sys.stderr)
        return 1
    except (ValueError, OSError) as problem:
        return _told(problem)
    return status if isinstance(status, int) else 0


def _unread() -> int:
    """End quietly, as after nuttery pollen | head -1: what is still to be written goes nowhere."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return NOBODY_READS


def _told(problem: Exception) -> int:
    """Say what is wrong in plain words; wrong use is 2, data that need attention 1."""
    from nuttery.season import WrongQuestion

    print(f"nuttery: {problem}", file=sys.stderr)
    return 2 if isinstance(problem, WrongQuestion) else 1
