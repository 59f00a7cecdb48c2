"""Ids for rows that have none: the same row of the same planting always gets the same id."""

import json
from collections.abc import Mapping
from typing import Any
from uuid import UUID, uuid5


class Identities:
    """Ids made from content, each identical row after the first with the next number."""

    def __init__(self, planting: UUID) -> None:
        self._planting = planting
        self._seen: dict[str, int] = {}

    def id_of(self, data: Mapping[str, Any]) -> UUID:
        """Return the id of a note told by a file, from what the file itself says.

        Examples
        --------
        >>> ids = Identities(UUID(int=7))
        >>> first, second = ids.id_of({"shrub": "A1"}), ids.id_of({"shrub": "A1"})
        >>> first == second, first == Identities(UUID(int=7)).id_of({"shrub": "A1"})
        (False, True)
        """
        text = json.dumps(data, sort_keys=True, ensure_ascii=True, separators=(",", ":"))
        number = self._seen.get(text, 0) + 1
        self._seen[text] = number
        return uuid5(self._planting, f"{number} {text}")
