"""Importing the room costs no library that only some commands need."""

import subprocess
import sys


def test_the_room_is_imported_without_its_heavy_libraries():
    code = (
        "import sys, nuttery.exchange.sheets, nuttery.exchange.places, nuttery.exchange.agenda; "
        "print(sorted({'openpyxl', 'icalendar', 'pandas', 'scipy'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
