"""Short numbers for plantings and shrubs within one register, given out as they are mentioned."""

from uuid import UUID

from sqlalchemy import Connection, func, select

from nuttery.store import tables as t
from nuttery.store.inserting import insert


class Numbers:
    """Numbers of plantings and shrubs, those that a batch mentions first among them.

    Attributes
    ----------
    shrubs : for each planting's number, the number of each tag
    new_plantings, new_shrubs : those first mentioned in this batch
    unmentioned : of these, (plantings, shrubs) whose first mention was not looked at yet
    """

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        query = select(t.planting.c.id, t.planting.c.no)
        # By the bare number of the id: a UUID itself is slow to look up.
        self._plantings = {int.from_bytes(id_, "big"): no for id_, no in connection.execute(query)}
        self.shrubs: dict[int, dict[str, int]] = {}
        self.new_plantings: set[int] = set()
        self.new_shrubs: set[int] = set()
        self.unmentioned: tuple[set[int], set[int | None]] = (set(), set())
        self._last_shrub = connection.execute(select(func.max(t.shrub.c.no))).scalar() or 0
        self._unwritten: tuple[list[tuple[int, bytes, int]], list[tuple[int, int, str]]] = ([], [])

    def plantings(self) -> set[int]:
        """Numbers of all plantings mentioned."""
        return set(self._plantings.values())

    def planting(self, id_: UUID) -> int:
        """Number of a planting."""
        no = self._plantings.get(id_.int)
        if no is None:
            no = self._plantings[id_.int] = len(self._plantings) + 1
            self.new_plantings.add(no)
            self.unmentioned[0].add(no)
            self._unwritten[0].append((no, id_.bytes, 0))
        return no

    def shrub(self, planting: int, tag: str) -> int:
        """Number of a shrub on a planting."""
        tags = self.tags(planting)
        no = tags.get(tag)
        if no is None:
            no = tags[tag] = self._last_shrub = self._last_shrub + 1
            self.new_shrubs.add(no)
            self.unmentioned[1].add(no)
            self._unwritten[1].append((no, planting, tag))
        return no

    def tags(self, planting: int) -> dict[str, int]:
        """Number of each tag mentioned on a planting."""
        if planting not in self.shrubs:
            query = select(t.shrub.c.tag, t.shrub.c.no).where(t.shrub.c.planting == planting)
            self.shrubs[planting] = dict(map(tuple, self._connection.execute(query)))
        return self.shrubs[planting]

    def forget(self) -> None:
        """Take every planting and shrub for one that was never mentioned before."""
        self.new_plantings = self.plantings()
        for planting in self.new_plantings:
            self.new_shrubs |= set(self.tags(planting).values())
        self.unmentioned = (set(self.new_plantings), set(self.new_shrubs))

    def write(self) -> None:
        """Write down the numbers given out since the last time."""
        plantings, shrubs = self._unwritten
        insert(self._connection, t.planting, ("no", "id", "version"), plantings)
        insert(self._connection, t.shrub, ("no", "planting", "tag"), shrubs)
        self._unwritten = ([], [])
