"""Characters that the XML of a workbook cannot hold, in the way its standard writes them.

Source: ECMA-376 part 1, 22.9.2.19 (ST_Xstring): a character as `_xHHHH_`, its code in hexadecimal.
"""

import re

# openpyxl takes every "x005F_" out of what it reads, so that our own escapes are in small letters.
_UNSAFE = re.compile(r"[\x00-\x08\x0b-\x1f\ufffe\uffff]|_(?=x[0-9A-Fa-f]{4}_)|x(?=005F_)")
_ESCAPE = re.compile(r"_x([0-9A-Fa-f]{4})_")


def escaped(text: str) -> str:
    r"""Text as a workbook may hold it.

    Examples
    --------
    >>> escaped("one\rtwo"), escaped("_x0041_")
    ('one_x000d_two', '_x005f_x0041_')
    """
    return _UNSAFE.sub(lambda m: f"_x{ord(m[0]):04x}_", text)


def unescaped(text: str) -> str:
    r"""Return the text that was meant.

    Examples
    --------
    >>> unescaped("one_x000d_two"), unescaped(escaped("_x005F_"))
    ('one\rtwo', '_x005F_')
    """
    return _ESCAPE.sub(lambda m: chr(int(m[1], 16)), text)
