"""Where what stands beside a register is kept: keys of devices, the authority, photos."""

import hashlib
from pathlib import Path


def folder_of(where: str | Path) -> Path:
    """Folder beside the register's file; for a database, in the user's own data folder.

    Examples
    --------
    >>> folder_of("hill/planting.db").as_posix()
    'hill/planting-served'
    """
    told = str(where)
    if not told.startswith(("postgresql://", "postgres://")):
        path = Path(told)
        return path.with_name(f"{path.stem}-served")
    mark = hashlib.sha256(told.encode()).hexdigest()[:16]
    return Path.home() / ".local" / "share" / "nuttery" / mark


def photos_of(where: str | Path) -> Path:
    """Folder of the photos that phones sent, each named by its id.

    Examples
    --------
    >>> photos_of("hill/planting.db").as_posix()
    'hill/planting-served/photos'
    """
    return folder_of(where) / "photos"
