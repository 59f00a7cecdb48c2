"""Delimited text (CSV and its kin) as grids: encoding and delimiter are detected, and told."""

import csv
import io
from collections.abc import Callable
from dataclasses import dataclass

from nuttery.exchange.sheets.faults import ImportFault, ImportRefused
from nuttery.exchange.sheets.grid import MOST_COLUMNS, MOST_ROWS, Grid

_MARKS = (
    (b"\xef\xbb\xbf", "utf-8-sig"),
    (b"\xff\xfe\x00\x00", "utf-32"),
    (b"\x00\x00\xfe\xff", "utf-32"),
    (b"\xff\xfe", "utf-16"),
    (b"\xfe\xff", "utf-16"),
)
DELIMITERS = (",", ";", "\t", "|")
DELIMITER_NAMES = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}


@dataclass(frozen=True)
class Decoded:
    """Text of a file, and the encoding that it was found to have."""

    text: str
    encoding: str


def decoded(raw: bytes, file: str) -> Decoded:
    """Text of a file in UTF-8, UTF-16, UTF-32 or Windows-1252.

    Raises
    ------
    ImportRefused
        If it is no text.

    Examples
    --------
    >>> decoded("Größe".encode("cp1252"), "a.csv")
    Decoded(text='Größe', encoding='cp1252')
    """
    for encoding in _likely_encodings(raw):
        try:
            text = raw.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\x00" not in text:
            return Decoded(text, encoding)
    found = "bytes that are no text"
    raise ImportRefused([ImportFault(file, None, None, None, found, "UTF-8 text, or a workbook")])


def _likely_encodings(raw: bytes) -> list[str]:
    for mark, encoding in _MARKS:
        if raw.startswith(mark):
            return [encoding]
    head = raw[:2000]
    if head.count(b"\x00") > len(head) // 4:
        even = head[::2].count(b"\x00")
        return ["utf-16-be"] if even > head.count(b"\x00") // 2 else ["utf-16-le"]
    return ["utf-8", "cp1252"]


def delimited_grid(
    text: str, *, file: str, sheet: str | None, known: Callable[[str], bool]
) -> tuple[Grid, str]:
    """Return the rows of delimited text, and the delimiter.

    Parameters
    ----------
    text : content of the file
    file, sheet : names for messages
    known : whether a header is one that a note has; the delimiter that finds most of them wins

    Raises
    ------
    ImportRefused
        If the text is empty, too long, or its quotes do not match.
    """
    if not text.strip():
        fault = ImportFault(file, sheet, None, None, "an empty file", "a row of column names")
        raise ImportRefused([fault])
    said, text = _said_delimiter(text)
    delimiter = said or _best_delimiter(text, known)
    return Grid(file, sheet, _rows(text, delimiter, file, sheet)), delimiter


def _said_delimiter(text: str) -> tuple[str | None, str]:
    """Return the delimiter of a first line such as "sep=;", which some programs write."""
    first, _, rest = text.partition("\n")
    first = first.strip()
    if first.lower().startswith("sep=") and len(first) == 5:
        return first[4], "\n" + rest
    return None, text


def _best_delimiter(text: str, known: Callable[[str], bool]) -> str:
    head = "".join(text.splitlines(keepends=True)[:10])

    def score(delimiter: str) -> tuple[int, int]:
        rows = list(csv.reader(io.StringIO(head, newline=""), delimiter=delimiter))
        matches = max((sum(map(known, row)) for row in rows), default=0)
        return matches, max((len(row) for row in rows), default=0)

    return max(DELIMITERS, key=score)


def _rows(
    text: str, delimiter: str, file: str, sheet: str | None
) -> list[tuple[int, list[object]]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    rows: list[tuple[int, list[object]]] = []
    number = 0
    try:
        for number, row in enumerate(reader, start=1):
            if number > MOST_ROWS or len(row) > MOST_COLUMNS:
                found = f"more than {MOST_ROWS} rows or {MOST_COLUMNS} columns"
                raise ImportRefused(
                    [ImportFault(file, sheet, number, None, found, "a file in smaller parts")]
                )
            if row:
                rows.append((number, [_plain(cell) for cell in row]))
    except csv.Error as problem:
        expected = "quotes that open and close around a whole cell"
        fault = ImportFault(file, sheet, number + 1, None, str(problem), expected)
        raise ImportRefused([fault]) from None
    return rows


def _plain(cell: str) -> str | None:
    from nuttery.exchange.neutral import without_apostrophe

    return without_apostrophe(cell) or None
