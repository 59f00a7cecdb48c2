"""How long `nuttery --help` takes, as a ratio to importing the command-line library alone."""

import statistics
import subprocess
import sys
import time

TURNS = 9


def seconds(code: str) -> float:
    start = time.perf_counter()
    subprocess.run([sys.executable, "-c", code], check=True, capture_output=True)
    return time.perf_counter() - start


def main() -> None:
    help_of_all = "from nuttery.cli.app import run; run(['--help'])"
    pairs = [(seconds(help_of_all), seconds("import cyclopts")) for _ in range(TURNS)]
    ratio = statistics.median(ours / plain for ours, plain in pairs[1:])
    print(f"nuttery --help: {ratio:.2f} times the time of importing cyclopts (aim: at most 2)")


if __name__ == "__main__":
    main()
