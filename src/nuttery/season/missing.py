"""Notes that are missing and would change an answer."""

from collections.abc import Iterable, Iterator
from datetime import date, timedelta

from nuttery.records import Picking, StageSeen
from nuttery.season.line import Line
from nuttery.season.planting import Planting
from nuttery.season.stools import stools
from nuttery.season.words import listed, plural


def lines(planting: Planting, until: date) -> Iterable[Line]:
    """Ask for what is missing, one line a kind, the shrubs named."""
    yield from _places(planting, until)
    yield from _counts(planting, until)
    yield from _lineage(planting, until)
    yield from _habits(planting, until)


def _line(planting: Planting, what: str, tags: list[str], until: date, **told: str) -> Line:
    return Line(
        key=f"notes:{what}",
        subject="notes",
        shrubs=tuple(tags),
        first=planting.on,
        last=until,
        sure="sure",
        weight=float(len(tags)),
        act=told["act"],
        why=told["why"],
        waits=told["waits"],
    )


def _places(planting: Planting, until: date) -> Iterator[Line]:
    tags = [s.tag for s in planting.shrubs if s.x is None]
    if tags:
        yield _line(
            planting,
            "places",
            tags,
            until,
            act="Write down where these shrubs stand (metres east and north, row and number)",
            why=f"no place is known of {plural(len(tags), 'shrub')}, so no pollen can be "
            "reckoned to or from there",
            waits="pollen and walking order leave them out",
        )


def _counts(planting: Planting, until: date) -> Iterator[Line]:
    known = stools(planting)
    if planting.on.month not in (11, 12, 1, 2, 3, 4):
        return
    stale = [t for t, w in zip(known.tags, known.counted, strict=True) if w < known.winter]
    tags = [s.tag for s in planting.shrubs if s.tag in {*stale, *known.uncounted}]
    if tags:
        yield _line(
            planting,
            "canes",
            tags,
            min(until, date(known.winter, 4, 15)),
            act=f"Count the canes of {plural(len(tags), 'stool')} by age",
            why=listed(
                [f"{len(stale)} not counted this winter, reckoned forward from an older count"]
                * bool(stale)
                + [f"{len(known.uncounted)} never counted"] * bool(known.uncounted)
            ),
            waits="their cuts are planned from reckoned ages, or not at all",
        )


def _lineage(planting: Planting, until: date) -> Iterator[Line]:
    tags = [s.tag for s in planting.shrubs if s.mother is None and s.copy_of is None]
    if tags:
        yield _line(
            planting,
            "parents",
            tags,
            until,
            act="Write down the mother and the possible fathers of these shrubs or their lot",
            why=f"no mother is known of {plural(len(tags), 'shrub')}; "
            "lineage narrows whose pollen each accepts",
            waits="their pollen answers stay as wide as for strangers",
        )


def _habits(planting: Planting, until: date) -> Iterator[Line]:
    since = planting.on - timedelta(days=5 * 366)
    seen = {note.shrub for note in planting.notes(StageSeen, since=since)}
    picked = {note.shrub for note in planting.notes(Picking)}
    bearing = [s for s in planting.shrubs if s.planted is None or _grown(planting, s.planted) >= 5]
    unseen = [s.tag for s in bearing if s.tag not in seen]
    if unseen and 3 <= planting.on.month <= 6:
        yield _line(
            planting,
            "stages",
            unseen,
            until,
            act="Look at catkins and stigmas once a week and note the stage, or 'not yet'",
            why=f"no bloom note of the last five years of {plural(len(unseen), 'grown shrub')}; "
            "one look already moves a shrub's own dates",
            waits="their windows stay those of the planting",
        )
    unpicked = [s.tag for s in bearing if s.tag not in picked]
    if unpicked and 8 <= planting.on.month <= 11:
        yield _line(
            planting,
            "pickings",
            unpicked,
            until,
            act="Weigh the picking of these shrubs by themselves, even when it is nothing",
            why=f"no picking on record of {plural(len(unpicked), 'grown shrub')}; "
            "whom to keep is judged from pickings over several years",
            waits="another year without a measure of their crop",
        )


def _grown(planting: Planting, planted: date) -> int:
    return planting.on.year - planted.year
