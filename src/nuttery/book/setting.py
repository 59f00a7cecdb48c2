"""Set the season book: contents in, PDF out, the same bytes for the same contents."""

import json
from importlib import resources
from pathlib import Path
from typing import Any

TEMPLATE = "season_book.typ"


class BookNotSet(RuntimeError):  # noqa: N818 - it says what happened
    """The book could not be set as it should look; the typesetter's own words follow."""


def set_book(contents: dict[str, Any], into: Path) -> None:
    """Set the book's contents as a PDF file.

    Parameters
    ----------
    contents : what `book.contents.book_contents` gives
    into : the file to write

    Raises
    ------
    BookNotSet
        If the typesetter warns (a missing font would change the look) or fails.
    """
    import typst

    source = (resources.files("nuttery.book") / TEMPLATE).read_bytes()
    try:
        pdf, warnings = typst.compile_with_warnings(
            source,
            format="pdf",
            sys_inputs={"book": json.dumps(contents, ensure_ascii=False)},
            ignore_system_fonts=True,
        )
    except typst.TypstError as problem:
        raise BookNotSet(f"the season book could not be set: {problem}") from problem
    if warnings:
        told = "; ".join(str(warning) for warning in warnings)
        raise BookNotSet(f"the season book would not look as it should: {told}")
    into.write_bytes(pdf)
