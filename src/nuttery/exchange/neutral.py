"""Text that a spreadsheet program would take for a formula, made harmless.

In delimited text a cell that begins with = + - @, a tab or a carriage return is given an
apostrophe in front; the apostrophe is taken off again on reading.
"""

import re

_FORMULA = re.compile("'*[=+\\-@\t\r\uff1d\uff0b\uff0d\uff20]")


def with_apostrophe(text: str) -> str:
    """Text of a cell, made harmless.

    Examples
    --------
    >>> with_apostrophe("=1+1"), with_apostrophe("A-7")
    ("'=1+1", 'A-7')
    """
    return f"'{text}" if _FORMULA.match(text) else text


def without_apostrophe(cell: str) -> str:
    """Return the text that stood there before it was made harmless.

    Examples
    --------
    >>> without_apostrophe("'=1+1"), without_apostrophe("'tis")
    ('=1+1', "'tis")
    """
    return cell[1:] if cell.startswith("'") and _FORMULA.match(cell) else cell
