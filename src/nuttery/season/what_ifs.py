"""Other ways of cutting beside the plan as it is: each change alone, and all of them together."""

from collections.abc import Iterator, Mapping
from typing import Any

AS_IT_IS = "as it is"


def what_ifs(asked_for: Mapping[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    """Each change by itself, then all of them together where there are several.

    Parameters
    ----------
    asked_for : terms of a plan of canes by name

    Examples
    --------
    >>> [name for name, _ in what_ifs({"target": 8.0, "max_age": 9})]
    ['target 8', 'max age 9', 'all of it']
    """
    for name, value in asked_for.items():
        yield f"{name.replace('_', ' ')} {value:g}", {name: value}
    if len(asked_for) > 1:
        yield "all of it", dict(asked_for)
