"""Which notes hold: those that no later note stands in for.

A note and all that stand in for it, one for another, are a thread. Of a thread one note holds at
most: the deepest one, and among equally deep ones (two people corrected the same note apart from
each other) the last recorded. If that one is a withdrawal, none holds.
"""

from sqlalchemy import ColumnElement, and_, exists, or_, select, true

from nuttery.store.tables import note, stand_in


def holds(recorded_until: int | None) -> ColumnElement[bool]:
    """Condition on the table of notes: the note holds, as far as was known at a moment."""
    over = stand_in.alias("over")
    mine = stand_in.alias("mine")
    rival = stand_in.alias("rival")
    known_over = true() if recorded_until is None else over.c.recorded <= recorded_until
    known_rival = true() if recorded_until is None else rival.c.recorded <= recorded_until
    deeper = or_(
        rival.c.depth > mine.c.depth,
        and_(rival.c.depth == mine.c.depth, rival.c.recorded > mine.c.recorded),
        and_(
            rival.c.depth == mine.c.depth,
            rival.c.recorded == mine.c.recorded,
            rival.c.id > mine.c.id,
        ),
    )
    replaced = exists().where(over.c.thread == note.c.n, known_over)
    outdone = exists(
        select(mine.c.note)
        .join(rival, rival.c.thread == mine.c.thread)
        .where(mine.c.note == note.c.n, deeper, known_rival)
    )
    return and_(note.c.kind != "withdrawn", ~replaced, ~outdone)
