"""Care of the register: a new one, checks, archives."""

from pathlib import Path

from nuttery.records import PlantingDescribed
from nuttery.season.own_folder import photos_of
from nuttery.store import Register, Trouble, check_register, restore_archive, write_archive


def new_planting(where: str | Path, about: PlantingDescribed) -> None:
    """Make a register and describe its planting in it.

    Raises
    ------
    ValueError
        If there is a register already, or something is wrong with the description.
    """
    with Register.create(where) as register:
        register.keep([about])


def check_planting(where: str | Path) -> tuple[Trouble, ...]:
    """Everything wrong with a register, in plain words; empty if it is sound."""
    with Register.open(where) as register:
        return check_register(register, photos=photos_of(where))


def archive_planting(where: str | Path, file: Path) -> None:
    """Write the whole register of a planting, and its photos, to one open file."""
    with Register.open(where) as register:
        write_archive(register, file, photos=photos_of(where))


def restore_planting(file: Path, where: str | Path) -> None:
    """Make a register and its photos from an archive; refused whole if the archive is damaged."""
    restore_archive(file, where, photos=photos_of(where)).close()
