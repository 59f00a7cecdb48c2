"""Care of a register: check it, write it to an archive, make it again from one."""

from pathlib import Path

from nuttery.store.archive_file import opened_archive
from nuttery.store.archive_in import take_in
from nuttery.store.archive_out import write_zip
from nuttery.store.checking import Trouble, troubles
from nuttery.store.errors import RegisterDamaged
from nuttery.store.register import Register


def check_register(register: Register) -> tuple[Trouble, ...]:
    """Read the whole register again and tell everything that is wrong with it.

    Returns
    -------
    tuple of Trouble
        Empty if every note is as it was kept (by its hash) and filed under its own id, shrub and
        day, everything that notes refer to is there, and what was worked out from them is what
        they tell.
    """
    try:
        with register.reading() as connection:
            return tuple(troubles(connection))
    except RegisterDamaged as problem:
        return (Trouble(str(problem)),)


def write_archive(register: Register, path: str | Path) -> None:
    """Write everything that a register holds to one open file; its own README tells the layout.

    The same content gives the same bytes. The file is there whole, or not at all.
    """
    with register.reading() as connection:
        write_zip(connection, Path(path))


def restore_archive(path: str | Path, where: str | Path) -> Register:
    """Make a register from an archive; it answers every question as the archived one did.

    Raises
    ------
    ArchiveRefused
        If the file is no archive, is damaged, or holds what the register that wrote it could not
        have held. Nothing is left behind.
    RegisterExists
        If there is something already at `where`.
    """
    with opened_archive(Path(path)) as archive:
        register = Register.create(where)
        try:
            with register.writing() as connection:
                take_in(connection, archive)
        except BaseException:
            register.discard()
            raise
    return register
