"""Counting catkins, buds and clusters: the crop is set long before it can be picked."""

from collections.abc import Iterable
from datetime import date

import numpy as np

from nuttery.records import CatkinsScored, ClustersCounted, told
from nuttery.season.line import Line
from nuttery.season.next_crop import expected_crop
from nuttery.season.planting import Planting
from nuttery.season.words import plural, rows_told

FIRST, LAST = (10, 1), (3, 15)
"""Between leaf fall and bloom: common practice."""
CLUSTERS_FIRST, CLUSTERS_LAST = (7, 1), (7, 31)
"""When clusters have set and can be told from flowers that dropped: common practice."""
BEARING_FROM = 4
"""Years after planting from which there is something to count: common practice."""


def lines(planting: Planting, until: date) -> Iterable[Line]:
    """Ask for catkins and buds in the dormant season, for clusters in July."""
    year = planting.on.year + 1 if planting.on.month >= FIRST[0] else planting.on.year
    first, last = date(year - 1, *FIRST), date(year, *LAST)
    if planting.on <= last and until >= first:
        yield from _catkins(planting, year, first, last)
    start, end = date(planting.on.year, *CLUSTERS_FIRST), date(planting.on.year, *CLUSTERS_LAST)
    if planting.on <= end and until >= start:
        yield from _clusters(planting, start, end)


def _bearing(planting: Planting, year: int) -> list[int]:
    """Shrubs old enough to count on, in walking order."""
    return [
        k
        for k, s in enumerate(planting.shrubs)
        if s.planted is None or year - s.planted.year >= BEARING_FROM
    ]


def _heaviest(planting: Planting, rows: list[int]) -> tuple[list[int], float, float]:
    """Fewest of the shrubs that bear half of what these bear, their kg and that of all of them."""
    kg = expected_crop(planting).kg[rows]
    order = np.argsort(-kg, kind="stable")
    most = int(np.searchsorted(np.cumsum(kg[order]), kg.sum() / 2)) + 1
    chosen = sorted(rows[k] for k in order[:most])
    return chosen, float(kg[order[:most]].sum()), float(kg.sum())


def _where(planting: Planting, tags: tuple[str, ...]) -> str:
    where = rows_told(planting, tags)
    return f" ({where})" if where else ""


def _catkins(planting: Planting, year: int, first: date, last: date) -> Iterable[Line]:
    """The shrubs that bear half of the crop first, then the others; each one line."""
    scored = {note.shrub for note in planting.notes(CatkinsScored, since=first)}
    bearing = _bearing(planting, year)
    if not bearing:
        return
    heavy, kg, all_kg = _heaviest(planting, bearing)
    harvest = expected_crop(planting).year
    parts = (
        ("first", heavy, kg),
        ("rest", sorted(set(bearing) - set(heavy)), all_kg - kg),
    )
    for name, rows, weight in parts:
        tags = tuple(t for k in rows if (t := planting.shrubs[k].tag) not in scored)
        if not tags:
            continue
        act = "Count catkins, and pistillate buds on 10 twigs each," if name == "first" else "Then"
        shrubs = plural(len(tags), "shrub" if name == "first" else "other shrub")
        mass = told(weight, "mass", planting.about.units)
        whole = f"{told(all_kg, 'mass', planting.about.units)} expected in {harvest}"
        have = "has" if len(tags) == 1 else "have"
        lack = "none of them has a" if len(tags) == len(rows) else f"{len(tags)} of them {have} no"
        yield Line(
            key=f"counting:catkins:{name}",
            subject="counting",
            act=f"{act} {'of ' if name == 'first' else 'score '}{shrubs}" + _where(planting, tags),
            shrubs=tags,
            first=max(first, planting.on),
            last=last,
            why=f"{plural(len(rows), 'shrub')} bring about {mass} of {whole}; "
            f"{lack} score for the bloom of {year}",
            sure="sure",
            sure_why="what is set now bounds the pollen and the crop of the year",
            waits="after bloom the count is lost for the year",
            weight=weight,
        )


def _clusters(planting: Planting, start: date, end: date) -> Iterable[Line]:
    counted = {note.shrub for note in planting.notes(ClustersCounted, since=start)}
    bearing = _bearing(planting, planting.on.year)
    if not bearing:
        return
    heavy, kg, all_kg = _heaviest(planting, bearing)
    tags = tuple(t for k in heavy if (t := planting.shrubs[k].tag) not in counted)
    if not tags:
        return
    units = planting.about.units
    yield Line(
        key="counting:clusters",
        subject="counting",
        act=f"Count nut clusters on 10 twigs each of {plural(len(tags), 'shrub')}"
        + _where(planting, tags),
        shrubs=tags,
        first=max(start, planting.on),
        last=end,
        why=f"they are the shrubs that bear half of the crop, about {told(kg, 'mass', units)} of "
        f"{told(all_kg, 'mass', units)}; clusters tell what pollen and frost left of it",
        sure="sure",
        sure_why="the set is settled by then",
        waits="until the picking a poor set and nuts taken by animals look alike",
        weight=kg,
    )
