"""nuttery archive: the whole register in one open file, and back."""

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from nuttery.cli.common import Asked


def archive(
    file: Path,
    *,
    restore: Annotated[
        bool, Parameter(negative="", help="Make a register from the archive instead.")
    ] = False,
    asked: Asked = Asked(),
) -> int:
    """Write the whole register to one open, documented file, or restore one from it."""
    from nuttery.season.upkeep import archive_planting, restore_planting

    if restore:
        restore_planting(file, asked.planting)
        print(f"{asked.planting}: restored from {file}")
    else:
        archive_planting(asked.planting, file)
        print(f"{file}: holds the whole register of {asked.planting}")
    return 0
