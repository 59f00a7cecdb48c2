"""A weather file as lines of text, whatever it is written in."""

import gzip
import zlib
from dataclasses import dataclass
from pathlib import Path

from nuttery.exchange.weather.errors import Account

LARGEST = 512 * 2**20
BYTE_ORDER_MARKS = {
    b"\xef\xbb\xbf": "utf-8-sig",
    b"\xff\xfe": "utf-16",
    b"\xfe\xff": "utf-16",
}
NOT_TEXT = {
    b"PK\x03\x04": "a ZIP archive or spreadsheet workbook",
    b"%PDF": "a PDF",
    b"\x89PNG": "a picture",
    b"\x89HDF": "an HDF5 file",
    b"CDF\x01": "a NetCDF file",
    b"CDF\x02": "a NetCDF file",
}
TEXT_WANTED = "a text file (save a sheet as CSV first)"
CONTROL = bytes(set(range(32)) - {9, 10, 12, 13, 26})


@dataclass(frozen=True)
class Source:
    """The lines of a file, the first being line 1, and the encoding they came in."""

    name: str
    lines: tuple[str, ...]
    encoding: str


def read_source(path: Path, account: Account) -> Source:
    """Lines of a file, unpacked if it is gzipped.

    Parameters
    ----------
    path : the file
    account : of the file, for faults and for what is told

    Returns
    -------
    The lines without their ends; UTF-8 with or without a byte order mark, UTF-16 and
    Windows-1252 are told apart by content.

    Raises
    ------
    WeatherFileError
        The file is empty, too large, or no text.
    """
    raw = _unpacked(path, account)
    if not raw.strip(b"\0 \t\r\n"):
        account.refuse(None, None, "an empty file", "weather in one of the known formats")
    for mark, kind in NOT_TEXT.items():
        if raw.startswith(mark):
            account.refuse(None, None, kind, TEXT_WANTED)
    text, encoding = _decoded(raw, account)
    if not text.strip():
        account.refuse(None, None, "an empty file", "weather in one of the known formats")
    lines = text.replace("\r\n", "\n").replace("\r", "\n").rstrip("\n\x1a").split("\n")
    return Source(path.name, tuple(lines), encoding)


def _unpacked(path: Path, account: Account) -> bytes:
    with path.open("rb") as file:
        raw = file.read(LARGEST + 1)
    if raw.startswith(b"\x1f\x8b"):
        try:
            with gzip.open(path) as packed:
                raw = packed.read(LARGEST + 1)
        except (OSError, EOFError, zlib.error) as problem:
            account.refuse(None, None, f"a damaged gzip file ({problem})", "a whole one")
    if len(raw) > LARGEST:
        account.refuse(None, None, f"more than {LARGEST >> 20} MB", "the file of one station")
    return raw


def _decoded(raw: bytes, account: Account) -> tuple[str, str]:
    encoding = _encoding(raw)
    if not encoding.startswith("utf-16"):
        position = next((i for i, byte in enumerate(raw[:4096]) if byte in CONTROL), None)
        if position is None and len(raw) > 4096 and raw.translate(None, CONTROL) != raw:
            position = min(raw.find(byte) for byte in CONTROL if byte in raw)
        if position is not None:
            found = f"byte {raw[position]:#04x} at position {position + 1}"
            account.refuse(raw.count(b"\n", 0, position) + 1, None, found, TEXT_WANTED)
    try:
        return raw.decode(encoding), encoding
    except UnicodeDecodeError as problem:
        line = raw.count(b"\n", 0, problem.start) + 1
        found = f"byte {raw[problem.start]:#04x} at position {problem.start + 1}"
        account.refuse(line, None, found, "text in UTF-8, UTF-16 or Windows-1252")


def _encoding(raw: bytes) -> str:
    for mark, name in BYTE_ORDER_MARKS.items():
        if raw.startswith(mark):
            return name
    start = raw[:4096]
    half = len(start) // 2
    if half and start[1::2].count(0) > 0.9 * half and start[0::2].count(0) < 0.1 * half:
        return "utf-16-le"
    if half and start[0::2].count(0) > 0.9 * half and start[1::2].count(0) < 0.1 * half:
        return "utf-16-be"
    try:
        raw.decode("utf-8")
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8"
