"""Which notes hold: those that no later note stands in for.

A note and all that stand in for it, one for another, are a thread. Of a thread one note holds at
most: the deepest one, and among equally deep ones (two people corrected the same note apart from
each other) the last recorded. If that one is a withdrawal, none holds.
"""

from sqlalchemy import ColumnElement, and_, exists, or_, select, true

from nuttery.store.tables import note, stand_in

_over = stand_in.alias("over")
_mine = stand_in.alias("mine")
_rival = stand_in.alias("rival")
_outdoes = or_(
    _rival.c.depth > _mine.c.depth,
    and_(_rival.c.depth == _mine.c.depth, _rival.c.recorded > _mine.c.recorded),
    and_(
        _rival.c.depth == _mine.c.depth,
        _rival.c.recorded == _mine.c.recorded,
        _rival.c.id > _mine.c.id,
    ),
)
_not_first = (
    select(_mine.c.note)
    .join(_rival, _rival.c.thread == _mine.c.thread)
    .where(_mine.c.note == note.c.n, _outdoes)
)


def holds(recorded_until: int | None) -> ColumnElement[bool]:
    """Condition on the table of notes: the note holds, as far as was known at a moment."""
    if recorded_until is None:
        return _HOLDS_NOW
    return _holds(
        _over.c.recorded <= recorded_until,
        _rival.c.recorded <= recorded_until,
    )


def _holds(
    known_over: ColumnElement[bool], known_rival: ColumnElement[bool]
) -> ColumnElement[bool]:
    replaced = exists().where(_over.c.thread == note.c.n, known_over)
    outdone = exists(_not_first.where(known_rival))
    return and_(note.c.kind != "withdrawn", ~replaced, ~outdone)


_HOLDS_NOW = _holds(true(), true())
