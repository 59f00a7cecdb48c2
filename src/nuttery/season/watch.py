"""Long work that tells how far it has come and can be stopped with the best so far."""

from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Watch:
    """Whom to tell how far it has come, and who may stop it with the best plan so far."""

    progress: Callable[[str], None] = lambda _: None
    cancelled: Callable[[], bool] = lambda: False


QUIET = Watch()
"""Nobody is told, and nobody stops it."""
