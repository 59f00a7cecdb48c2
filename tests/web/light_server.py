"""The program itself, with the quick sections of the season plan alone: tests of the web start it.

The slow sections are proved in tests of their own; here the plan has to be there, not to be long.
"""

import sys


def quick_sections():
    """Sections of the plan that take no forecast."""
    from nuttery.season import counting, drying, missing

    return {"counting": counting.lines, "drying": drying.lines, "notes": missing.lines}


if __name__ == "__main__":
    from nuttery.cli import main
    from nuttery.season import plan

    plan.sections = quick_sections
    sys.argv[0] = "nuttery"
    main()
