"""Long runs of things taken a handful at a time, so that memory stays bounded."""

from collections.abc import Iterable, Iterator
from itertools import islice
from typing import TypeVar

T = TypeVar("T")

NAMED_AT_ONCE = 500
"""Numbers or ids named in one query."""


def chunks(things: Iterable[T], size: int = NAMED_AT_ONCE) -> Iterator[list[T]]:
    """Lists of at most `size` things, in order.

    Examples
    --------
    >>> list(chunks("abcde", 2))
    [['a', 'b'], ['c', 'd'], ['e']]
    """
    rest = iter(things)
    while some := list(islice(rest, size)):
        yield some
