"""Care of a register: check it, write it to an archive, make it again from one."""

from pathlib import Path

from nuttery.store.archive_file import opened_archive
from nuttery.store.archive_in import take_in
from nuttery.store.archive_out import write_zip
from nuttery.store.archive_photos import photo_troubles, take_away, unpack_photos
from nuttery.store.checking import Trouble, troubles
from nuttery.store.errors import RegisterDamaged
from nuttery.store.register import Register


def check_register(register: Register, *, photos: Path | None = None) -> tuple[Trouble, ...]:
    """Read the whole register again and tell everything that is wrong with it.

    Parameters
    ----------
    photos : folder in which the photos should stand that notes name; None does not look

    Returns
    -------
    tuple of Trouble
        Empty if every note is as it was kept (by its hash) and filed under its own id, shrub and
        day, everything that notes refer to is there, and what was worked out from them is what
        they tell.
    """
    try:
        with register.reading() as connection:
            found = tuple(troubles(connection))
            shown = photo_troubles(connection, photos) if photos and not found else ()
            return (*found, *shown)
    except RegisterDamaged as problem:
        return (Trouble(str(problem)),)


def write_archive(register: Register, path: str | Path, *, photos: Path | None = None) -> None:
    """Write everything that a register holds to one open file; its own README tells the layout.

    The same content gives the same bytes. The file is there whole, or not at all.

    Parameters
    ----------
    photos : folder of photos to put in; None for none
    """
    with register.reading() as connection:
        write_zip(connection, Path(path), photos)


def restore_archive(path: str | Path, where: str | Path, *, photos: Path | None = None) -> Register:
    """Make a register from an archive; it answers every question as the archived one did.

    Parameters
    ----------
    photos : folder for the photos of the archive; None leaves them in it

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
        unpacked: list[Path] = []
        try:
            unpacked = unpack_photos(archive, photos) if photos else []
            with register.writing() as connection:
                take_in(connection, archive)
        except BaseException:
            take_away(unpacked)
            register.discard()
            raise
    return register
