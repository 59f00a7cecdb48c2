"""Run the command line: python -m nuttery."""

from nuttery.cli import main

if __name__ == "__main__":
    main()
