"""From a file to grids: workbook, delimited text, or a zip of delimited texts."""

import zipfile
import zlib
from dataclasses import dataclass
from pathlib import Path, PurePath

from nuttery.exchange.sheets.delimited import DELIMITER_NAMES, decoded, delimited_grid
from nuttery.exchange.sheets.faults import ImportFault, ImportRefused
from nuttery.exchange.sheets.grid import MOST_BYTES, Grid
from nuttery.exchange.sheets.headers import is_known_header

WORKBOOKS = {".xlsx", ".xlsm"}
TEXTS = {".csv", ".tsv", ".tab", ".txt"}
LINES = {".jsonl", ".ndjson"}
DAMAGED = (
    zipfile.BadZipFile,
    zlib.error,
    OSError,
    EOFError,
    ValueError,
    RuntimeError,  # NotImplementedError too: encrypted, or packed in a way that is not known
)
"""What reading a damaged zip may raise."""


@dataclass(frozen=True)
class Source:
    """The grids of a file, and what was detected of its form."""

    file: str
    form: str
    grids: tuple[Grid, ...]
    encoding: str | None = None
    delimiter: str | None = None


def source_of(path: Path) -> Source:
    """Grids of a file, by its suffix.

    Raises
    ------
    ImportRefused
        If the file cannot be read, is too large, or is of a form that is not known.
    """
    suffix = path.suffix.lower()
    check_size(path)
    if suffix in WORKBOOKS:
        from nuttery.exchange.sheets.workbook_in import workbook_grids

        return Source(path.name, "workbook", tuple(workbook_grids(path)))
    if suffix in TEXTS:
        return _text_source(path)
    if suffix == ".zip":
        return _zip_source(path)
    raise refused(path, f'a file ending in "{suffix}"', "one ending in .xlsx, .csv, .zip or .jsonl")


def refused(path: Path, found: str, expected: str) -> ImportRefused:
    """Return the refusal of a file as a whole."""
    return ImportRefused([ImportFault(path.name, None, None, None, found, expected)])


def check_size(path: Path) -> None:
    """Refuse a file that is not there or too large.

    Raises
    ------
    ImportRefused
        With what was found.
    """
    if not path.is_file():
        raise refused(path, "no such file", "a file to read")
    size = path.stat().st_size
    if size > MOST_BYTES:
        raise refused(path, f"{size / 1e6:.0f} MB", f"at most {MOST_BYTES / 1e6:.0f} MB")


def _text_source(path: Path) -> Source:
    plain = decoded(path.read_bytes(), path.name)
    grid, delimiter = delimited_grid(plain.text, file=path.name, sheet=None, known=is_known_header)
    return Source(path.name, "delimited text", (grid,), plain.encoding, _name(delimiter))


def _name(delimiter: str) -> str:
    return DELIMITER_NAMES.get(delimiter, delimiter)


def _zip_source(path: Path) -> Source:
    try:
        with zipfile.ZipFile(path) as archive:
            texts = _members(path, archive)
    except ImportRefused:
        raise
    except DAMAGED as problem:
        raise refused(path, f"no zip file ({problem})", "a zip of CSV files") from None
    grids: list[Grid] = []
    encodings: dict[str, None] = {}
    delimiters: dict[str, None] = {}
    for name, raw in texts.items():
        plain = decoded(raw, f"{path.name}/{name}")
        grid, delimiter = delimited_grid(
            plain.text, file=path.name, sheet=PurePath(name).stem, known=is_known_header
        )
        grids.append(grid)
        encodings[plain.encoding] = None
        delimiters[_name(delimiter)] = None
    form = f"zip of {len(grids)} delimited texts"
    return Source(path.name, form, tuple(grids), ", ".join(encodings), ", ".join(delimiters))


def _members(path: Path, archive: zipfile.ZipFile) -> dict[str, bytes]:
    inside = [m for m in archive.infolist() if not m.is_dir()]
    if sum(m.file_size for m in inside) > MOST_BYTES:
        size = sum(m.file_size for m in inside) / 1e6
        raise refused(path, f"{size:.0f} MB when unpacked", f"at most {MOST_BYTES / 1e6:.0f} MB")
    return {m.filename: archive.read(m) for m in inside if _is_text(m.filename)}


def _is_text(name: str) -> bool:
    return PurePath(name).suffix.lower() in TEXTS and not name.startswith("__MACOSX")
