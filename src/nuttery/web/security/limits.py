"""How much and how fast: sizes of what is sent, and requests in a while."""

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass

USUAL_BYTES = 64 * 1024
BYTES: dict[str, int] = {"/api/notes": 2 * 1024 * 1024, "/api/photos/": 20 * 1024 * 1024}
"""Largest request, by the start of its path."""
REMEMBERED = 4096


def most_bytes(path: str) -> int:
    """Largest request that a path takes.

    Examples
    --------
    >>> most_bytes("/api/notes"), most_bytes("/pair")
    (2097152, 65536)
    """
    return next((size for start, size in BYTES.items() if path.startswith(start)), USUAL_BYTES)


@dataclass
class _Bucket:
    left: float
    at: float


class Pace:
    """At most `burst` requests at once, then `per_second`, for each asker.

    Parameters
    ----------
    per_second, burst : the pace
    clock : seconds that only run forward
    """

    def __init__(self, per_second: float, burst: float, clock: Callable[[], float]) -> None:
        self._rate, self._burst, self._clock = per_second, burst, clock
        self._buckets: OrderedDict[str, _Bucket] = OrderedDict()

    def wait(self, asker: str) -> float:
        """Seconds to wait before asking again; 0 if this request may go on."""
        now = self._clock()
        bucket = self._buckets.setdefault(asker, _Bucket(self._burst, now))
        self._buckets.move_to_end(asker)
        while len(self._buckets) > REMEMBERED:
            self._buckets.popitem(last=False)
        bucket.left = min(self._burst, bucket.left + (now - bucket.at) * self._rate)
        bucket.at = now
        if bucket.left < 1:
            return (1 - bucket.left) / self._rate
        bucket.left -= 1
        return 0.0
